"""The wiring diagrams are those of the data, byte for byte, and can be read."""

import json
import re
import subprocess
import sys
from html import unescape
from pathlib import Path

import draw
import pytest
from tests.host.look import chromium
from wiring import drawn_builds, modules

SCHEMATICS = Path(__file__).parents[2] / "schematics"
DIAGRAMS = SCHEMATICS / "diagrams"
CLEARANCE_PX = 3
MEASURE = """
<script>
const box = (one) => one.getBoundingClientRect();
const texts = [...document.querySelectorAll("text")], lines = [...document.querySelectorAll("path, circle, ellipse")];
const upright = lines.map(box).filter((one) => one.width < 15);
document.title = JSON.stringify(texts.filter((text) => upright.some((one) =>
  one.left < box(text).right + CLEARANCE && one.right > box(text).left - CLEARANCE
    && one.top < box(text).bottom && one.bottom > box(text).top)).map((text) => text.textContent));
</script>
""".replace("CLEARANCE", str(CLEARANCE_PX))


def test_drawings_are_current(tmp_path: Path) -> None:
    subprocess.run([sys.executable, SCHEMATICS / "draw.py", tmp_path], check=True)
    kept = {path.name: path.read_bytes() for path in DIAGRAMS.glob("*.svg")}
    drawn = {path.name: path.read_bytes() for path in tmp_path.glob("*.svg")}
    assert kept.keys() == drawn.keys()
    stale = [name for name in kept if kept[name] != drawn[name]]
    assert not stale, f"{stale}: run `make schematics`"


def test_every_drawing_is_told_of() -> None:
    page = (SCHEMATICS / "README.md").read_text(encoding="utf-8")
    assert all(f"(diagrams/{path.name})" in page for path in DIAGRAMS.glob("*.svg"))


@pytest.mark.parametrize("build", drawn_builds(), ids=lambda build: build.name)
def test_a_board_shows_all_its_pins_and_four_wires_lead_to_each_module(build) -> None:
    drawn = draw.svg(build).decode()
    texts = re.findall(r">([^<>]+)</t(?:ext|span)>", drawn)
    assert {pin.label for pin in build.board.pins} <= set(texts)
    for module in build.modules:
        assert {pin.net for pin in module.pins} == {"3V3", "GND", f"SCL{module.bus}", f"SDA{module.bus}"}
    assert {pin.net for pin in build.pins} == {pin.net for module in build.modules for pin in module.pins}


@pytest.mark.parametrize("part", modules(), ids=lambda part: part["chip"])
def test_every_pad_of_a_module_is_drawn_for_each_address(part) -> None:
    drawn = draw.module_svg(part).decode()
    texts = re.findall(r">([^<>]+)</t(?:ext|span)>", drawn)
    for address in part["addresses"]:
        assert f"address 0x{int(address):02X}" in texts
    for label in part["pins"]:
        assert texts.count(label) >= len(part["addresses"])
    nets = [net if net != "address" else None for net in part["pins"].values()]
    assert [nets.count(line) for line in ("SCL", "SDA")] == [1, 1]


@pytest.mark.browser
def test_no_text_touches_an_upright_line(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    drawings = "".join(path.read_text(encoding="utf-8") for path in sorted(DIAGRAMS.glob("*.svg")))
    page.write_text(f"<!doctype html><meta charset=utf-8><title></title>{drawings}{MEASURE}", encoding="utf-8")
    shown = chromium("--window-size=1000,2000", "--dump-dom", page.as_uri())
    assert json.loads(unescape(re.search(r"<title>(.*?)</title>", shown, re.DOTALL)[1])) == []
