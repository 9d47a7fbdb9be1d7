"""Which of the fuzzer's inputs are kept: small ones that together take the steps from line to line that all take."""

import sys
from collections import Counter
from collections.abc import Callable, Iterable
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

PACKAGES = ("/hingeline", "/tomlkit/")
MOST_FILES, MOST_FILE_BYTES = 40, 3_000
MOST_BYTES = 30_000

Step = tuple[CodeType, int, int, int]


def keep(target: Callable[[bytes], None], inputs: Iterable[Path], folder: Path) -> None:
    """Keep in a folder, beside its crashes, few of the inputs of a target."""
    taken = {data: steps(target, data) for data in sorted({path.read_bytes() for path in inputs}, key=len)}
    kept: list[bytes] = []
    reached: set[Step] = set()
    while small := {data: len(of - reached) for data, of in taken.items() if len(data) <= MOST_FILE_BYTES}:
        best = max(small, key=lambda data: small[data] / (len(data) + 100))
        if not small[best] or len(kept) == MOST_FILES or sum(map(len, kept)) + len(best) > MOST_BYTES:
            break
        kept.append(best)
        reached |= taken[best]
    for path in folder.glob("kept-*"):
        path.unlink()
    for number, data in enumerate(sorted(kept, key=len), 1):
        (folder / f"kept-{number:02}").write_bytes(data)


def steps(target: Callable[[bytes], None], data: bytes) -> set[Step]:
    """From which line of our code to which other one a target steps, and how many times, to a power of two."""
    taken: Counter[tuple[CodeType, int, int]] = Counter()
    before: dict[FrameType, int] = {}

    def trace(frame: FrameType, event: str, argument: object) -> Any:
        if event == "call" and not any(package in frame.f_code.co_filename for package in PACKAGES):
            return None
        taken[frame.f_code, before.get(frame, 0), frame.f_lineno] += 1
        before[frame] = frame.f_lineno
        return trace

    sys.settrace(trace)
    try:
        target(data)
    finally:
        sys.settrace(None)
    return {(*step, times.bit_length()) for step, times in taken.items()}
