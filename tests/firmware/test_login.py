"""What proves a key to a board on the network: the standard's HMAC, on CPython and on MicroPython."""

import hmac
import subprocess
from pathlib import Path

import pytest
from tests.firmware.installed import environment
from tests.unix_port import micropython

from hingeline_firmware.login import hmac_sha256  # on CPython: it needs nothing of a board
from hingeline_protocol.line import unseal
from hingeline_protocol.messages import Login, Nonce, Proof, Prove, Wifi, parse

ROOT = Path(__file__).parents[2]


# RFC 4231, test cases 1 to 4: those whose keys are no longer than a block.
@pytest.mark.parametrize(
    ("key", "message", "digest"),
    [
        (b"\x0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
        (
            b"Jefe",
            b"what do ya want for nothing?",
            "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
        ),
        (b"\xaa" * 20, b"\xdd" * 50, "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"),
        (
            bytes(range(1, 26)),
            b"\xcd" * 50,
            "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b",
        ),
    ],
)
def test_the_proof_is_that_of_the_standard(key, message, digest):
    assert hmac_sha256(key, message).hex() == digest
    run = subprocess.run(
        [
            micropython(),
            "-c",
            "from hingeline_firmware.login import hmac_sha256; from binascii import unhexlify as u; "
            f"print(hmac_sha256(u('{key.hex()}'), u('{message.hex()}')).hex())",
        ],
        env=environment(),
        capture_output=True,
        check=True,
    )
    assert run.stdout.decode().strip() == digest


def test_the_examples_of_the_protocol_prove_their_key():
    page = (ROOT / "shared_protocol" / "PROTOCOL.md").read_text(encoding="utf-8")
    lines = [row[2:].encode() for row in page.splitlines() if row.startswith(("> ", "< "))]
    messages = [parse(unseal(line)) for line in lines]
    (key,) = (message.key for message in messages if isinstance(message, Wifi) and message.key)
    host_nonce = next(message.nonce for message in messages if isinstance(message, Prove))
    (board,) = (message for message in messages if isinstance(message, Proof))
    nonces = host_nonce + board.nonce + board.uid.encode()
    assert board.proof == hmac.digest(key, b"hingeline login board " + nonces, "sha256")
    assert [message.proof for message in messages if isinstance(message, Login)] == [
        hmac.digest(key, b"hingeline login host " + nonces, "sha256"),
        *(hmac.digest(key, message.nonce, "sha256") for message in messages if isinstance(message, Nonce)),
    ]
    assert f"the key is `{key.hex()}`" in page
