"""Addresses that a page may be offered on: of a local network, and of one computer."""

import pytest

from hingeline.errors import UsageProblem
from hingeline.web.address import checked


@pytest.mark.parametrize(
    "address",
    [
        "127.0.0.1",
        "10.0.0.7",  # RFC 1918
        "172.16.0.7",
        "192.168.1.20",
        "169.254.3.4",  # RFC 3927: without a router
        "::1",
        "fd12:3456::7",  # RFC 4193
    ],
)
def test_an_address_of_a_local_network_is_taken(address):
    assert checked(address) == address


@pytest.mark.parametrize(
    "address",
    [
        "0.0.0.0",
        "::",
        "224.0.0.1",
        "ff02::1",
        "1.1.1.1",
        "172.32.0.7",
        "2606:4700::1111",
        "192.168.1",
        "kestrel",
        "",
        "fe80::7",  # RFC 4291, link-local: needs a zone, which a URL in a browser can't have
    ],
)
def test_an_address_of_no_computer_of_many_or_of_the_internet_is_refused(address):
    with pytest.raises(UsageProblem, match=r"such as 192\.168\.1\.20"):
        checked(address)
