"""The line protocol between a board and a host, imported by both ends. PROTOCOL.md is its specification.

>>> from hingeline_protocol.line import unseal
>>> from hingeline_protocol.messages import Hello, pack, parse
>>> pack(Hello(request=1, lowest=1, highest=1))
b'hello 1 1 1*2C9F62EC\\n'
>>> sample = parse(unseal(b"s 104 1 9176 2 1019 -260 32740 2510*15A3CCC7"))
>>> sample.sensor, sample.readings, sample.z
(104, 2, 32740)
>>> unseal(b"s 104 1 9176 2 1019 -260 32741 2510*15A3CCC7")
Traceback (most recent call last):
hingeline_protocol.line.LineError: checksum
"""

PROTOCOL = 1
