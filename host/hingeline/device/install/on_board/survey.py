# mypy: ignore-errors
"""Runs on the board, sent there by mpremote: prints a line of JSON with the board and its files of hingeline."""

import json
import os
import sys
from binascii import crc32

FOLDER = 0x4000


def checksum(path):
    """Compute it block by block: a board has little memory."""
    crc = 0
    with open(path, "rb") as file:
        block = file.read(512)
        while block:
            crc = crc32(block, crc)
            block = file.read(512)
    return crc


def names(path):
    """List a folder; nothing if there is none."""
    try:
        return os.listdir(path)
    except OSError:
        return []


def walk(path, checksums):
    """Put the checksum of each file in and below `path` into `checksums`."""
    if os.stat(path)[0] & FOLDER:
        for name in names(path):
            walk(path + "/" + name, checksums)
    else:
        checksums[path] = checksum(path)


def survey():
    """Gather the answer."""
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
        "name": sys.implementation.name,
        "version": list(sys.implementation.version[:3]),
        "machine": getattr(sys.implementation, "_machine", "") or os.uname().machine,
        "free_bytes": room[0] * room[3] if room else None,
        "checksums": files,
        "foreign_main": foreign,
        "mpy": getattr(sys.implementation, "_mpy", 0) & 0xFF,
    }


print("\nhingeline " + json.dumps(survey()))
