"""The firmware on an emulated Pico: rp2040py runs MicroPython's own image for it, behind a pty that pyserial opens.

The image is the one that `PICO_IMAGE` names, a file or a version that rp2040py fetches.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path, PurePosixPath

import pytest

PICO = f"{Path(__file__).with_name('pico.py')}:PICO"
IMAGE = "1.28.0"
BLOCK_BYTES, BLOCKS = 4096, 352
"""MicroPython's file system on a Pico: MICROPY_HW_FLASH_STORAGE_BYTES of its board file is 1408 kB."""

Start = Callable[[Mapping[str, bytes]], AbstractContextManager[str]]


def file_system(contents: Mapping[str, bytes]) -> bytes:
    """The image of a file system that holds these files by path."""
    from littlefs import LittleFS

    files = LittleFS(block_size=BLOCK_BYTES, block_count=BLOCKS, disk_version=0x00020000)
    for path, content in contents.items():
        files.makedirs(str(PurePosixPath(path).parent), exist_ok=True)
        with files.open(path, "wb") as file:
            file.write(content)
    return bytes(files.context.buffer)


@pytest.fixture(scope="module")
def started(tmp_path_factory: pytest.TempPathFactory) -> Start:
    """A context manager: a Pico that starts with these files; it gives the port."""

    @contextmanager
    def run(contents: Mapping[str, bytes]) -> Iterator[str]:
        image = tmp_path_factory.mktemp("pico") / "files.img"
        image.write_bytes(file_system(contents))
        emulator = Path(sys.executable).with_name("rp2040py")
        command = [emulator, "micropython", "--board-spec", PICO, "--littlefs", image, "--pty"]
        with subprocess.Popen(
            [*command, "--image", os.environ.get("PICO_IMAGE", IMAGE)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        ) as process:
            try:
                yield port_of(process)
            finally:
                process.terminate()

    return run


def port_of(process: subprocess.Popen[str]) -> str:
    """The pty that the emulator tells of."""
    assert process.stderr is not None
    said = []
    for line in process.stderr:
        said.append(line)
        if told := re.search(r"listening on (/dev/\S+)", line):
            return told[1]
    raise AssertionError(f"the emulator ended: {said}")
