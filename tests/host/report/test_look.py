"""Pages as Chromium shows and prints them. `make look` runs these; Chromium must be on the path."""

import json
import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest
from tests.host.look import LOOK, chromium
from tests.host.report.conftest import DATA, judged, run

from hingeline.checks.results import ThrowResult
from hingeline.demo.job import SHEET
from hingeline.report.compare import compare
from hingeline.report.page import compare_page, report_page
from hingeline.report.paper import A4, write_pdf
from hingeline.report.results import Results

pytestmark = pytest.mark.browser
PAPERS = {"a4": (210, 297), "letter": (216, 279)}
A4_WIDTH_PX = 688
"""Between the margins, 210 - 2 × 14 mm, at 96 pixels an inch (CSS); Letter is broader."""
MEASURE = """
<script>
const cut = [...document.querySelectorAll("main *")].filter(
  (one) => !one.closest("svg") && (one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0
    || one.getBoundingClientRect().right > document.documentElement.clientWidth + 1));
const box = (one) => one.getBoundingClientRect();
const drawn = [...document.querySelectorAll("svg text")].filter((one) => {
  const frame = box(one.closest("svg")), own = box(one);
  return own.left < frame.left - 1 || own.right > frame.right + 1
    || own.top < frame.top - 1 || own.bottom > frame.bottom + 1;
});
document.title = JSON.stringify([...cut, ...drawn].map((one) => one.tagName + " " + one.textContent.slice(0, 60)));
</script>
"""


@pytest.fixture(scope="module")
def pages(then, now):
    """Every page of the two visits; the sheet of the former asks for more than was measured."""
    part = Results(then.name, then.runs, SHEET.read_text("utf-8"))
    return {"report": report_page(now), "to do": report_page(part), "moved": compare_page(compare(then, now))}


def cut_off(page: bytes, width_px: int, folder: Path) -> list[str]:
    """Return the elements whose text is cut off or sticks out, in a window of a width."""
    path = folder / "page.html"
    open_page = re.sub(rb"<meta http-equiv[^>]*>", b"", page)  # the measuring script is not the page's own
    path.write_bytes(open_page.replace(b"</body>", MEASURE.encode() + b"</body>"))
    shown = chromium(f"--window-size={width_px},2000", "--dump-dom", path.as_uri())
    return json.loads(unescape(re.search(r"<title>(.*?)</title>", shown, re.DOTALL)[1]))


def printed(page: bytes) -> bytes:
    """Return a page that shows on a screen as it does on paper."""
    return page.replace(b"@media print", b"@media all").replace(b"@media screen", b"@media print")


@pytest.mark.parametrize("width_px", [1280, 800])
@pytest.mark.parametrize("name", ["report", "to do", "moved"])
def test_no_text_is_cut_off_on_a_screen(pages, name, width_px, tmp_path):
    assert cut_off(pages[name], width_px, tmp_path) == []


@pytest.mark.parametrize("name", ["report", "to do", "moved"])
def test_no_text_is_cut_off_on_paper(pages, name, tmp_path):
    assert cut_off(printed(pages[name]), A4_WIDTH_PX, tmp_path) == []


def test_the_longest_names_are_not_cut_off(made, tmp_path):
    name = "W" * 40  # the longest that a rigging sheet takes, in the broadest letter
    throw = {
        "surface": name,
        "mode": name,
        "command": "up",
        "judgements": [judged(advice=name, inside=False)],
    }
    text = f"""
schema_version = 1
aircraft = "{name}"
modes = ["{name}", "i{name[1:]}"]
[surface.{name}]
kind = "flap"
throws.{name} = {{ down = "9 deg" }}
throws.i{name[1:]} = {{ down = "9 deg" }}
"""
    sheet = {"name": "sheet", "key": name, "payload": {"text": text}}
    events = (("loaded", sheet), ("throw", throw), ("caution", {"text": name * 3}))
    page = report_page(made(*events, aircraft=name))
    assert b"<h2>Not measured</h2>" in page
    assert cut_off(printed(page), A4_WIDTH_PX, tmp_path) == []


@pytest.mark.parametrize("width_px", [1280, 1000, 801, 800])
def test_the_broadest_table_is_not_cut_off(made, width_px, tmp_path):
    broad = {
        "deg": -26.43,
        "unit": "mm",
        "target": -20.4,
        "gap": -11.54,
        "verdict": "LESS",
        "inside": False,
        "travel": {"mm": -21.95, "convention": "chord", "interval_95_mm": [-22.2, -21.7]},
    }
    apart = judged("left - right down", deg=-12.33, gap=-11.2, verdict="LESS", inside=False)
    judgements = [judged("left", **broad), judged("right", **broad), apart]
    throw = {"surface": "aileron", "mode": "normal", "command": "up", "judgements": judgements}
    page = report_page(made(("throw", throw), ("throw", throw)))
    assert cut_off(page, width_px, tmp_path) == []
    assert cut_off(printed(page), A4_WIDTH_PX, tmp_path) == []


def test_text_that_is_cut_off_is_noticed(pages, tmp_path):
    narrow = pages["report"].replace(b"</head>", b"<style>td, th { max-width: 9px }</style></head>")
    assert cut_off(narrow, 794, tmp_path)


def on_surfaces(recorded, names):
    """The run as it would be on other surfaces, in two modes."""
    entries = [
        entry._replace(result=replace(entry.result, surface=names[entry.result.surface]))
        for entry in recorded.entries
        if getattr(entry.result, "surface", None) in names
    ]
    high = [
        entry._replace(result=replace(entry.result, mode="high"))
        for entry in entries
        if isinstance(entry.result, ThrowResult)
    ]
    return replace(recorded, entries=[*entries, *high])


def test_four_surfaces_in_two_modes_print_on_four_pages(then, now, tmp_path):
    """Those of one visit with every throw off, those of the other with checks of one surface."""
    text = """
schema_version = 1
aircraft = "Moss Lantern"
modes = ["normal", "high"]
"""
    names = ("flap", "aileron", "elevator", "ruddervator")
    for name in names:
        throws = "".join(f'throws.{mode} = {{ up = "5 deg", down = "20 mm" }}\n' for mode in ("normal", "high"))
        text += f'[surface.{name}]\nkind = "flap"\nchord = "48 mm"\n{throws}'
    for visit in (then, now):
        checks = [on_surfaces(each, {"elevator": "elevator"}) for each in visit.runs if not each.readings]
        runs = [on_surfaces(each, {"flap": name}) for name in names for each in visit.runs if each.readings]
        pdf = tmp_path / f"{visit.day}.pdf"
        write_pdf(pdf, report_page(Results("four", (*runs, *checks), text)))
        assert 3 <= len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes())) <= 4


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["report", "to do", "moved"])
def test_pictures_to_look_at(pages, name, paper, tmp_path):
    width_mm, height_mm = PAPERS[paper]
    path, picture = tmp_path / "page.html", LOOK / f"{name.replace(' ', '-')}-{paper}.png"
    path.write_bytes(pages[name])
    size = f"{round(width_mm / 25.4 * 96)},{round(height_mm / 25.4 * 96)}"
    chromium(f"--window-size={size}", f"--screenshot={picture}", path.as_uri())
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_pdf_is_a4_and_holds_the_text(tmp_path):
    html, pdf = tmp_path / "lantern.html", tmp_path / "lantern.pdf"
    outcome = run("report", "Moss Lantern", "-o", str(html), "--pdf", str(pdf), home=DATA)
    content = pdf.read_bytes()
    assert outcome.status == 0
    assert outcome.stdout.splitlines() == [str(html), str(pdf)]
    assert content.startswith(b"%PDF-")
    boxes = {tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox \[([^\]]+)\]", content)}
    (box,) = boxes
    assert box == pytest.approx((0, 0, 595.28, 841.89), abs=1)  # ISO 216, 210 mm by 297 mm in points
    assert A4 not in html.read_bytes()  # a browser's own paper holds for the page itself
