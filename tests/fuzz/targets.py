"""What is fuzzed: each target takes bytes that somebody else wrote, and may refuse them by a documented error alone."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from hingeline.device.link.decoder import Decoder, Line, Splitter
from hingeline.errors import HingelineError
from hingeline.live.page.server import Page, _Handler
from hingeline.rig import parse_sheet
from hingeline.rig.show import sheet_text
from hingeline.storage.records import read, read_fast
from hingeline.storage.results import read_results
from hingeline.storage.sealed import unseal
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError
from hingeline_protocol.line import seal
from hingeline_virtual.scenario_file import load_scenario

DATA = Path(__file__).parents[1] / "data"
GOLDEN = DATA / "formats" / "2"
_TEMPORARY = tempfile.TemporaryDirectory(prefix="hingeline-fuzz-")
_FOLDER = Path(_TEMPORARY.name)
_PAGE = Page("127.0.0.1")


def decode(data: bytes) -> None:
    """Lines as they come, and each once more under a checksum that is right."""
    decoder, splitter = Decoder("port"), Splitter()
    raws = splitter.cut(data + b"\n")
    for at, raw in enumerate(raw for one in raws for raw in (one, seal(one.partition(b"*")[0]).rstrip())):
        decoder.decode(Line("port", at * 10_000_000, raw))


def sheet(data: bytes) -> None:
    with suppress(HingelineError):
        sheet_text(parse_sheet(data.decode(errors="replace"), "sheet"))


def calibration(data: bytes) -> None:
    """The file as it is, and what it holds as if its checksum were right."""
    with suppress(HingelineError, CalibrationError):
        unseal(data, Path("file"), "calibration", "e66166d8e325-104")
    with suppress(ValueError, RecursionError, CalibrationError):
        record = json.loads(data)
        if isinstance(record, dict):
            Calibration.from_dict(record.get("payload", record))


def session(data: bytes) -> None:
    path = _FOLDER / "1-throws.log"
    path.write_bytes(data)
    for whole in (lambda: list(read(path)), lambda: list(read_fast(path)), lambda: read_results(path).measured):
        with suppress(HingelineError):
            whole()


def scenario(data: bytes) -> None:
    path = _FOLDER / "scenario.toml"
    path.write_bytes(data)
    with suppress(HingelineError):
        load_scenario(path)


class _Socket:
    """A connection on which a whole request has come."""

    def __init__(self, data: bytes) -> None:
        self._data = data

    def makefile(self, mode: str, *_: object) -> io.BytesIO:
        return io.BytesIO(self._data if "r" in mode else b"")

    def sendall(self, data: bytes) -> None: ...
    def settimeout(self, timeout_s: float) -> None: ...
    def shutdown(self, how: int) -> None: ...


class _Asked(_Handler):
    """Streams no events: there are none to come."""

    def _events(self) -> None: ...


def request(data: bytes) -> None:
    with suppress(OSError):
        _Asked(_Socket(data.replace(b"KEY", _PAGE.key.encode())), ("127.0.0.1", 1), _PAGE)  # type: ignore[arg-type]


def _files(*patterns: str) -> list[bytes]:
    return [path.read_bytes() for pattern in patterns for path in sorted(GOLDEN.glob(pattern))]


TARGETS: dict[str, tuple[Callable[[bytes], None], Callable[[], list[bytes]]]] = {
    "decoder": (
        decode,
        lambda: [(DATA / "protocol_edges.json").read_bytes(), b"s 104 3 39504833 4 6234 -5989 72063 2200"],
    ),
    "sheet": (sheet, lambda: _files("*.rig.toml")),
    "calibration": (calibration, lambda: _files("home/calibration/*/*.json")),
    "session": (session, lambda: _files("home/sessions/*/*/*.log")),
    "scenario": (scenario, lambda: _files("lantern.toml")),
    "request": (
        request,
        lambda: [
            b"GET /KEY/ HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
            b"POST /KEY/press HTTP/1.1\r\nContent-Length: 4\r\n\r\ntake",
        ],
    ),
}
"""By name: what is done with the bytes, and what is mutated at first."""
