"""The carrier's template as Chromium prints it. `make look` runs this; Chromium must be on the path."""

import re
import sys
import zlib
from pathlib import Path

import pytest
from tests.host.look import LOOK, chromium

CARRIER = Path(__file__).parents[2] / "schematics" / "carrier"
sys.path.insert(0, str(CARRIER))

import template  # noqa: E402

pytestmark = pytest.mark.browser
POINTS_A_PIXEL = 72 / 96
"""A pixel of CSS is 1/96 inch, a point of PDF 1/72 inch."""
MATRIX = re.compile(rb"^(\S+) 0 0 (\S+) \S+ \S+ cm$", re.MULTILINE)


def test_it_comes_out_of_the_printer_as_large_as_it_is():
    paper = LOOK / "template.pdf"
    chromium("--no-pdf-header-footer", f"--print-to-pdf={paper}", (CARRIER / template.TEMPLATE).as_uri())
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", paper.read_bytes(), re.DOTALL)
    drawing = next(content for content in map(zlib.decompress, streams) if MATRIX.search(content))
    across, down = 1.0, 1.0
    for x, y in MATRIX.findall(drawing.partition(b"BT")[0]):
        across, down = across * float(x), down * float(y)
    # 0.5 mm over the 100 mm of the check line, which a ruler shows
    assert (across, -down) == pytest.approx((POINTS_A_PIXEL, POINTS_A_PIXEL), rel=0.005)
