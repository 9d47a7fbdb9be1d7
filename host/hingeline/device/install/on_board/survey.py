# mypy: ignore-errors
"""Runs on the board, sent there by mpremote: prints a line of JSON with the board and its files of hingeline."""

import json
import os
import sys
from binascii import hexlify

FOLDER = 0x4000

try:
    from hashlib import sha256

    HASH = "sha256"
except ImportError:
    from binascii import crc32

    HASH = "crc32"


def digest(path):
    """Hash a file, block by block: a board has little memory."""
    state = sha256() if HASH == "sha256" else 0
    with open(path, "rb") as file:
        block = file.read(512)
        while block:
            if HASH == "sha256":
                state.update(block)
            else:
                state = crc32(block, state)
            block = file.read(512)
    return state.digest() if HASH == "sha256" else state.to_bytes(4, "big")


def names(path):
    """List a folder; nothing if there is none."""
    try:
        return os.listdir(path)
    except OSError:
        return []


def walk(path, digests):
    """Put the hash of each file in and below `path` into `digests`."""
    if os.stat(path)[0] & FOLDER:
        for name in names(path):
            walk(path + "/" + name, digests)
    else:
        digests[path] = hexlify(digest(path)).decode()


def survey():
    """Gather the answer."""
    running = sys.implementation
    files = {}
    for name in names("lib"):
        if name.startswith("hingeline_"):
            walk("lib/" + name, files)
    foreign = False
    if "main.py" in names("."):
        walk("main.py", files)
        with open("main.py") as file:
            foreign = "hingeline_firmware" not in file.read()
    room = os.statvfs(".") if hasattr(os, "statvfs") else None
    return {
        "name": running.name,
        "version": list(running.version[:3]),
        "machine": getattr(running, "_machine", "") or os.uname().machine,
        "free_bytes": room[0] * room[3] if room else None,
        "hash": HASH,
        "files": files,
        "foreign_main": foreign,
    }


print("\nhingeline-survey " + json.dumps(survey()))
