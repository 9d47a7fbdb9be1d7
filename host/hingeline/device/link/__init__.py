"""From ports, or recorded lines, to samples.

`ports` finds and opens, `channels` carry bytes, `decoder` turns a board's lines into events within the `limits` of the
protocol, `times` gives them their time and puts those of several boards in order, `conversation` asks and listens,
`board` says what can be asked; `fleet` (live) and `replay` (recorded, or any lines) are the sources.
"""

TCP_PORT = 8771
"""Where a board on the network serves, unless another port is named."""
KEY_VARIABLE = "HINGELINE_KEY"
"""Environment variable with a board's key in hexadecimal: it goes before the one that is kept."""
KEY_BYTES = 16
