"""Where the page is: on this computer alone, or on its address in the local network."""

from __future__ import annotations

import io
import ipaddress

from hingeline.errors import UsageProblem

LOOPBACK = "127.0.0.1"


def checked(address: str) -> str:
    """Check an address to offer the page on; raises `UsageProblem` if it is none, or not of a local network."""
    cure = "Give the address that this computer has in the local network, such as 192.168.1.20"
    try:
        known = ipaddress.ip_address(address)
    except ValueError as error:
        raise UsageProblem(f"{address!r} is no IP address", cure) from error
    if known.version == 6 and known.is_link_local:
        raise UsageProblem(f"{address} needs a zone to be reached, which browsers refuse in an address", cure)
    if known.is_unspecified or known.is_multicast or not (known.is_private or known.is_link_local):
        raise UsageProblem(f"{address} is not the address of one computer in a local network", cure)
    return str(known)


def code(url: str) -> str:
    """Draw a URL as a QR code of half blocks: a block is light, to be drawn in white on black."""
    import segno

    text = io.StringIO()
    segno.make(url, error="l", micro=False).terminal(text, border=2, compact=True)
    *rows, last = text.getvalue().splitlines()
    return "\n".join([*rows, last.replace("▀", "█")])  # the rows are odd in number, and below the last it is light
