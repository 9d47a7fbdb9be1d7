"""Breaks lines drawn at random, room by room, in a copy of the tree, and counts how many a test notices.

`make mutants SEED=7` draws twenty-five in each room. `python -m tests.random_mutants --seed 7 8 -- checks` takes one
room, and two seeds. The rates go to docs/mutants.md, each beside those of other seeds. A break that changes nothing
anybody could see is listed in `EQUIVALENT`, with the reason, and does not count.

The tests of a room run once to note which functions each calls. Where a line is broken, the files whose tests call its
function run first, the room's others after them, up to the first test that fails.
"""

from __future__ import annotations

import argparse
import ast
import random
import re
import signal
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.calls import read_calls
from tests.copies import CORES, FAILED, HUNG, PASSED, Copies, replaced, run_tests, run_tests_soon
from tests.equivalent import EQUIVALENT
from tests.mutation import DRAWN, TABLE

COUNT = 25
HANGS_S = 60
"""A break after which one test takes so long is noticed."""
QUICK_S = 0.5
INTERRUPTED = 2
"""Exit status of pytest where a test can't be imported."""
HOST = "host/hingeline/"
ROOMS = {
    "calibration": ("calibration/hingeline_calibration", "calibration"),
    "protocol": ("shared_protocol/hingeline_protocol", "shared_protocol"),
    "firmware": ("firmware/hingeline_firmware", "firmware"),
    "virtual": ("host/hingeline_virtual", "virtual"),
    "measure": (f"{HOST}measure", "host/measure host/checks host/procedures"),
    "checks": (f"{HOST}checks", "host/checks host/procedures"),
    "advice": (f"{HOST}advice", "host/advice host/checks host/procedures"),
    "procedures": (f"{HOST}procedures", "host/procedures host/cli"),
    "device": (f"{HOST}device", "host/device"),
    "files": (f"{HOST}files", "host/files host/storage process"),
    "storage": (f"{HOST}storage", "host/storage process"),
    "rig": (f"{HOST}rig", "host/rig"),
    "live": (f"{HOST}live", "host/live"),
    "web": (f"{HOST}web", "host/web host/live/page host/form"),
    "form": (f"{HOST}form", "host/form"),
    "demo": (f"{HOST}demo", "host/demo host/cli/test_main_job.py"),
    "report": (f"{HOST}report", "host/report"),
    "cli": (f"{HOST}cli", "host/cli"),
}
"""Where each room stands, and the tests that are to notice."""
SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Mult,
}  # fmt: skip
HEAD = f"""{DRAWN}
Made by `make mutants SEED=...`: in each room so many lines are drawn and broken, each break alone. What counts is the
rate of those that are not equivalent.

| room | seed | drawn | noticed | rate | first unnoticed |
|---|---|---|---|---|---|
"""
EQUIVALENT_HEAD = """
Breaks that change nothing anybody could see. They count nothing.

| file | the line | broken | why nobody can see it |
|---|---|---|---|
"""
NAMES = {"min": "max", "max": "min", "all": "any", "any": "all"}
UNREAD = ("__repr__", "__str__")
"""Functions that are left alone: what they return is for whoever mends the program."""
GUARDS = ("strict",)
"""Arguments that are left alone: they only stop a slip of whoever changes the program."""


class Mutant(NamedTuple):
    """A line and how it is broken: `text` stands from `start` to `end` of the file, which is named from the root."""

    file: str
    line: int
    start: int
    end: int
    text: str
    broken: str
    whole_line: str
    broken_line: str

    @property
    def key(self) -> tuple[str, str, str]:
        """By what it is listed as equivalent: wherever its line moves to in its file."""
        return Path(self.file).name, self.whole_line, self.broken_line


def mutants(root: Path, file: Path) -> Iterator[Mutant]:
    """Every way to break a file. Left alone: annotations, decorators, docstrings, f-strings, `UNREAD` and `GUARDS`."""
    source = file.read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in _expressions(ast.parse(source)):
        first, last = starts[node.lineno - 1], starts[node.end_lineno]
        start, end = first + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset
        for broken in _broken(node):
            yield Mutant(
                str(file.relative_to(root)),
                node.lineno,
                start,
                end,
                source[start:end].decode(),
                f"({broken})",
                _in_one_line(source[first:last]),
                _in_one_line(source[first:start] + f"({broken})".encode() + source[end:last]),
            )


def _in_one_line(lines: bytes) -> str:
    return " ".join(lines.decode().split())


def _expressions(tree: ast.AST) -> Iterator[ast.AST]:
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.JoinedStr) or not isinstance(child, ast.AST):
                continue
            if isinstance(child, ast.FunctionDef) and child.name in UNREAD:
                continue
            if isinstance(child, ast.keyword) and child.arg in GUARDS:
                continue
            if isinstance(child, ast.expr):
                yield child
            yield from _expressions(child)


def _broken(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Compare(left=left, ops=[op], comparators=[right]) if type(op) in SWAPS:
            yield ast.unparse(ast.Compare(left, [SWAPS[type(op)]()], [right]))
        case ast.BoolOp(op=op, values=values):
            yield ast.unparse(ast.BoolOp(SWAPS[type(op)](), values))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in SWAPS:
            yield ast.unparse(ast.BinOp(left, SWAPS[type(op)](), right))
        case ast.UnaryOp(op=ast.USub() | ast.Not(), operand=operand):
            yield ast.unparse(operand)
        case ast.Call(func=ast.Name(id=name), args=args, keywords=keywords) if name in NAMES:
            yield ast.unparse(ast.Call(ast.Name(NAMES[name]), args, keywords))
        case ast.IfExp(test=test, body=body, orelse=orelse):
            yield ast.unparse(ast.IfExp(test, orelse, body))
        case ast.Constant(value=bool(value)):
            yield str(not value)
        case ast.Constant(value=int(value)):
            yield str(value + max(1, abs(value) // 4))
        case ast.Constant(value=float(value)):
            yield str(value * 1.2 if value else 0.2)


def draw(root: Path, folder: str, count: int, seed: str) -> list[Mutant]:
    """Draw mutants of all files of a folder, each equally likely; those that are known to change nothing count nothing.

    They are left out after the draw: a list that grows changes no other draw.
    """
    every = [mutant for file in sorted((root / folder).rglob("*.py")) for mutant in mutants(root, file)]
    drawn = random.Random(seed).sample(every, min(count, len(every)))
    return [mutant for mutant in drawn if mutant.key not in EQUIVALENT]


class Room:
    """The tests of a room, and what each of them calls. One that fails while nothing is broken tells nothing."""

    def __init__(self, tests: str, copy: Path) -> None:
        with tempfile.TemporaryDirectory() as folder:
            noting = ("-p", "tests.calls", "--calls", folder, "-n", str(CORES), "--maxfail", "0")
            _, output = run_tests(copy, *noting, *(f"tests/{folder}" for folder in tests.split()))
            self._calls = read_calls(Path(folder))
        if not self._calls:
            raise RuntimeError(f"no test passes while nothing is broken:\n{output}")

    def first_to_notice(self, mutant: Mutant, copy: Path) -> str:
        """Break the line in a copy. Give the test that fails with it and passes without, or nothing: nobody notices."""
        calling = self._calling(mutant)
        near = {_file(test) for test in calling}
        others = {_file(test) for test in self._calls} - near
        tests = sorted(self._calls, key=lambda test: (test not in calling, round(self._calls[test].seconds)))
        file = copy / mutant.file
        whole = file.read_bytes()
        for chosen in filter(None, (near, others)):
            with replaced(file, whole[: mutant.start] + mutant.broken.encode() + whole[mutant.end :]):
                status, output = self._run(copy, chosen, tests)
            if status == PASSED:
                continue
            failed = re.search(r"^(?:FAILED|ERROR) (\S+?::.+?)(?: - .*)?$", output, re.MULTILINE)
            if status == FAILED and failed is not None:
                return failed[1].partition("[")[0] if self._passes_without(failed[1], copy) else ""
            if status in (HUNG, INTERRUPTED) or "\nERROR tests/" in output:
                return "does not start or hangs"
            raise RuntimeError(output)
        return ""

    def _passes_without(self, test: str, copy: Path) -> bool:
        """Whether a test passes in a copy that is whole; a quick one has, others may wait for a board too long."""
        is_quick = test in self._calls and self._calls[test].seconds < QUICK_S
        return is_quick or run_tests_soon(copy, test.partition("[")[0])[0] == PASSED

    def _calling(self, mutant: Mutant) -> set[str]:
        """Those that call the broken function, or anything of the file where the line is in none.

        A file of the firmware is called in another process: there, those that bear its name.
        """
        name = f"test_{Path(mutant.file).stem}.py"
        of_file = {test: {at for at in call.functions if at.file == mutant.file} for test, call in self._calls.items()}
        around = {at for places in of_file.values() for at in places if at.first <= mutant.line <= at.last}
        broken = {max(around, key=lambda at: at.first)} if around else set().union(*of_file.values())
        return {test for test, places in of_file.items() if places & broken or Path(_file(test)).name == name}

    def _run(self, copy: Path, files: set[str], tests: list[str]) -> tuple[int, str]:
        """Run the tests of these files, in the order of `tests`."""
        limit_s = HANGS_S + 4 * sum(call.seconds for call in self._calls.values())
        with tempfile.TemporaryDirectory() as folder:
            order = Path(folder) / "order.txt"
            order.write_text("\n".join(tests), encoding="utf-8")
            options = ("-p", "tests.calls", "--order", str(order), "-o", f"timeout={HANGS_S}")
            return run_tests_soon(copy, *options, *sorted(files), limit_s=limit_s)


def _file(test: str) -> str:
    return test.partition("::")[0]


def write_rate(room: str, seed: str, drawn: list[Mutant], unnoticed: list[Mutant]) -> None:
    """Put the rate of a room and seed into the table, in place of the former one, and the equivalent breaks below."""
    keys, _, part = TABLE.read_text(encoding="utf-8").partition(DRAWN)
    rates = re.findall(r"^(\| (\w+) \| (\w+) \| \d+ \|.*\n)", part, re.MULTILINE)
    rows = {(where, which): row for row, where, which in rates}
    kept = len(drawn) - len(unnoticed)
    first = f"{unnoticed[0].key[0]}: {_code(unnoticed[0].text)} → {_code(unnoticed[0].broken)}" if unnoticed else ""
    rows[room, seed] = f"| {room} | {seed} | {len(drawn)} | {kept} | {kept / len(drawn):.0%} | {first} |\n"
    in_order = sorted(rows, key=lambda row: (list(ROOMS).index(row[0]), row[1]))
    listed = [
        f"| {file} | {_code(text)} | {_code(broken)} | {why} |\n"
        for (file, text, broken), why in sorted(EQUIVALENT.items())
    ]
    TABLE.write_text(
        "".join([keys, HEAD, *(rows[row] for row in in_order), EQUIVALENT_HEAD, *listed]), encoding="utf-8"
    )


def _code(text: str) -> str:
    return f"`{' '.join(text.split())}`".replace("|", "\\|")


def main() -> int:
    """Draw, break, and print each outcome and the rate of every room and seed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", nargs="+", default=["1"])
    options.add_argument("--count", type=int, default=COUNT)
    options.add_argument("rooms", nargs="*", default=list(ROOMS))
    chosen = options.parse_args()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores what tests send
    with tempfile.TemporaryDirectory() as folder:
        copies = Copies(Path(folder))
        for name in chosen.rooms:
            where, tests = ROOMS[name]
            room = Room(tests, copies.folders[0])

            def outcome(mutant: Mutant, copy: Path, room: Room = room) -> str:
                noticed_by = room.first_to_notice(mutant, copy)
                print(f"{mutant.file}:{mutant.line}  {noticed_by or f'UNNOTICED {mutant.key}'}", flush=True)
                return noticed_by

            for seed in chosen.seed:
                drawn = draw(copies.folders[0], where, chosen.count, f"{seed} {name}")
                outcomes = copies.try_out(outcome, drawn)
                unnoticed = [mutant for mutant, test in zip(drawn, outcomes, strict=True) if not test]
                write_rate(name, seed, drawn, unnoticed)
                print(f"{name}, seed {seed}: {sum(map(bool, outcomes))} of {len(drawn)} noticed", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
