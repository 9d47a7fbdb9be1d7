"""Breaks lines drawn at random, room by room, in a copy of the tree, and counts how many a test notices.

`make mutants SEED=7` draws twelve in each room. `python -m tests.random_mutants checks` takes one room. The rates go to
docs/mutants.md, each beside those of other seeds. A break that changes nothing anybody could see is listed in
`EQUIVALENT`, with the reason, and does not count.
"""

from __future__ import annotations

import argparse
import ast
import random
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.copies import FAILED, PASSED, ROOT, Copies, replaced, run_tests
from tests.equivalent import EQUIVALENT
from tests.mutation import DRAWN, TABLE

LIMIT_S = 300
"""A break after which the tests of a room take so long is noticed: they hang."""
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

| file | what stands there | broken | why nobody can see it |
|---|---|---|---|
"""
NAMES = {"min": "max", "max": "min", "all": "any", "any": "all"}


class Mutant(NamedTuple):
    """A line and how it is broken: `text` stands from `start` to `end` of the file."""

    file: Path
    line: int
    start: int
    end: int
    text: str
    broken: str

    @property
    def key(self) -> tuple[str, str, str]:
        """By what it is listed as equivalent: wherever it moves to in its file."""
        return self.file.name, self.text, self.broken


def mutants(file: Path) -> Iterator[Mutant]:
    """Every way to break a file. Annotations, docstrings and the insides of f-strings are left alone."""
    source = file.read_text(encoding="utf-8")
    starts = [0]
    for line in source.encode().splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for node in _expressions(ast.parse(source)):
        for broken in _broken(node):
            start, end = starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset
            text = source.encode()[start:end].decode()
            yield Mutant(file, node.lineno, start, end, text, f"({broken})")


def _expressions(tree: ast.AST) -> Iterator[ast.AST]:
    for name, value in ast.iter_fields(tree):
        if name in ("annotation", "returns", "decorator_list"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.JoinedStr) or not isinstance(child, ast.AST):
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


def draw(folder: Path, count: int, seed: str) -> list[Mutant]:
    """Draw mutants of all files of a folder, each equally likely; those that are known to change nothing count nothing.

    They are left out after the draw: a list that grows changes no other draw.
    """
    every = [mutant for file in sorted(folder.rglob("*.py")) for mutant in mutants(file)]
    drawn = random.Random(seed).sample(every, min(count, len(every)))
    return [mutant for mutant in drawn if mutant.key not in EQUIVALENT]


def first_to_notice(mutant: Mutant, tests: str, copy: Path) -> str:
    """Break the line in a copy. Give the test that fails with it and passes without, or nothing: nobody notices."""
    file = copy / mutant.file.relative_to(ROOT)
    whole = file.read_bytes()
    content = whole[: mutant.start] + mutant.broken.encode() + whole[mutant.end :]
    folders = [f"tests/{folder}" for folder in tests.split()]
    near = [str(path.relative_to(copy)) for path in (copy / folders[0]).rglob(f"test_{file.stem}.py")]
    for chosen in filter(None, (near, folders)):
        with replaced(file, content):
            status, output = run_tests(copy, *chosen, limit_s=LIMIT_S)
        if status == PASSED:
            continue
        failed = re.search(r"^(?:FAILED|ERROR) ([^\s\[]+)", output, re.MULTILINE)
        if status != FAILED or failed is None:
            return "does not start or hangs"
        if run_tests(copy, failed[1], limit_s=LIMIT_S)[0] == PASSED:
            return failed[1]
    return ""


def write_rate(room: str, seed: str, drawn: list[Mutant], unnoticed: list[Mutant]) -> None:
    """Put the rate of a room and seed into the table, in place of the former one, and the equivalent breaks below."""
    keys, _, part = TABLE.read_text(encoding="utf-8").partition(DRAWN)
    rates = re.findall(r"^(\| (\w+) \| (\w+) \| \d+ \|.*\n)", part, re.MULTILINE)
    rows = {(where, which): row for row, where, which in rates}
    kept = len(drawn) - len(unnoticed)
    first = f"{unnoticed[0].file.name}: {_code(unnoticed[0].text)} → {_code(unnoticed[0].broken)}" if unnoticed else ""
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
    """Draw, break, and print each that nobody notices and the rate of every room."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", default="1")
    options.add_argument("--count", type=int, default=12)
    options.add_argument("rooms", nargs="*", default=list(ROOMS))
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        copies = Copies(Path(folder))
        for room in chosen.rooms:
            where, tests = ROOMS[room]
            drawn = draw(ROOT / where, chosen.count, f"{chosen.seed} {room}")
            outcomes = copies.try_out(lambda mutant, copy, tests=tests: first_to_notice(mutant, tests, copy), drawn)
            unnoticed = [mutant for mutant, test in zip(drawn, outcomes, strict=True) if not test]
            for mutant in unnoticed:
                print(f"  {mutant.file.relative_to(ROOT)}:{mutant.line}  {mutant.text!r} -> {mutant.broken!r}")
            write_rate(room, chosen.seed, drawn, unnoticed)
            print(f"{room}: {sum(map(bool, outcomes))} of {len(drawn)} noticed", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
