"""Runs on MicroPython: a save on a real filesystem in memory, cut at each of its block writes in turn.

Prints one JSON line a filesystem: how many cuts there were, and how many left the former content, the new, another.
"""

import json
import os

from hingeline_firmware import store

BLOCK = 512
BLOCKS = 128
FORMER = b"former" * 100
NEW = b"new" * 700
NAME = "calibration-104"
ENOUGH = 1000000


class Memory:
    """A block device whose power fails after `left` writes: later ones leave nothing behind."""

    def __init__(self, data, left):
        self.data = bytearray(data)
        self.left = left

    def readblocks(self, block, buffer, offset=0):
        at = block * BLOCK + offset
        buffer[:] = self.data[at : at + len(buffer)]

    def writeblocks(self, block, buffer, offset=0):
        if self.left:
            at = block * BLOCK + offset
            self.data[at : at + len(buffer)] = buffer
            self.left -= 1

    def ioctl(self, operation, _):
        return {4: BLOCKS, 5: BLOCK, 6: 0}.get(operation)


def on(filesystem, device, action):
    """Mount, do something in the root folder, unmount."""
    os.mount(filesystem(device), "/cut")
    os.chdir("/cut")
    try:
        return action()
    finally:
        os.chdir("/")
        os.umount("/cut")


def save(content):
    """Save; without power it may find that nothing reads back."""
    try:
        store.save(NAME, content)
    except (OSError, store.StoreError):
        return False
    return True


def tell(filesystem):
    """The outcome of every cut."""
    whole = Memory(bytes(BLOCK * BLOCKS), ENOUGH)
    filesystem.mkfs(whole)
    assert on(filesystem, whole, lambda: save(b"oldest") and save(FORMER))
    counts = {"filesystem": filesystem.__name__, "cuts": 0, "former": 0, "new": 0, "other": 0}
    while True:
        device = Memory(whole.data, counts["cuts"])
        on(filesystem, device, lambda: save(NEW))
        content = on(filesystem, Memory(device.data, ENOUGH), lambda: store.load(NAME))
        counts["former" if content == FORMER else "new" if content == NEW else "other"] += 1
        if device.left:
            return counts
        counts["cuts"] += 1


for filesystem in (os.VfsLfs2, os.VfsFat):
    print(json.dumps(tell(filesystem)))
