"""Where the page is: on this computer alone, or on its address in the local network."""

from __future__ import annotations

import io
import ipaddress

from hingeline.errors import UsageProblem

LOOPBACK = "127.0.0.1"


def checked(address: str) -> str:
    """Check an address that the page is to be offered on.

    Raises
    ------
    UsageProblem
        It is none, or not of a local network.
    """
    cure = "Give the address that this computer has in the local network, such as 192.168.1.20"
    try:
        known = ipaddress.ip_address(address)
    except ValueError as error:
        raise UsageProblem(f"{address!r} is no IP address", cure) from error
    if known.is_unspecified or known.is_multicast or not (known.is_private or known.is_link_local):
        raise UsageProblem(f"{address} is not the address of one computer in a local network", cure)
    return str(known)


def netloc(address: str, port: int) -> str:
    """Write address and port for a URL: an IPv6 address in brackets."""
    return f"[{address}]:{port}" if ":" in address else f"{address}:{port}"


def code(url: str) -> str:
    """Draw a URL as a QR code of half blocks: a block is light, to be drawn in white on black."""
    import segno

    rows = [[not dark for dark in row] for row in segno.make(url, error="l", micro=False).matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([True] * len(rows[0]))
    blocks = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}
    text = io.StringIO()
    for upper, lower in zip(rows[::2], rows[1::2], strict=True):
        text.write("".join(blocks[pair] for pair in zip(upper, lower, strict=True)) + "\n")
    return text.getvalue().rstrip("\n")
