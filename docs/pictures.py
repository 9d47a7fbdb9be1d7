"""Draw the pictures of README.md: the live screen, a taped sensor, a page of the report. `make pictures`.

The screen and the report come from the virtual bench: it goes through docs/how-to/virtual-bench.md as `screens.py`
types it. The report needs Chromium on the path.
"""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
from pathlib import Path

from PIL import Image
from rich.console import Console
from rich.text import Text
from screens import Evening, Screen, Terminal, open_evening, write_page

PICTURES = Path(__file__).parent / "pictures"
THROWS = "hingeline throws lantern.rig.toml flap --hold 4 --quiet --port $PORT"
BEFORE = (
    '{"do": "tape", "sensor": "left", "surface": "flap left"}',
    '{"do": "tape", "sensor": "right", "surface": "flap right"}',
    '{"do": "adjust", "surface": "flap left", "positions": {"flap down": -26.4}}',
)
"""The sensors lay on the flat at the end of the evening; the left end point goes back to where it was."""
REPORT_PIXELS = (900, 1150)
REPORT_SHARE = 0.75
COLOURS = 64

# rich's own format fetches its letters from the network, and has a title; 24 rows are 604 high without it
SVG = """<svg class="rich-terminal" viewBox="0 32 {width} 604" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font-family: monospace; font-size: {char_height}px; line-height: {line_height}px; }}
{styles}
</style>
<defs><clipPath id="{unique_id}-clip-terminal">
<rect x="0" y="0" width="{terminal_width}" height="{terminal_height}"/></clipPath>{lines}</defs>
<rect x="0.5" y="32.5" width="{width}" height="603" rx="8" fill="#292929"/>
<g transform="translate({terminal_x}, {terminal_y})" clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}
<g class="{unique_id}-matrix">{matrix}</g>
</g>
</svg>
"""

# mm, seen from above: the wing's trailing part, the hinge line and the flap, nose up, tip to the left
TAPED = """<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 720 400" font-family="sans-serif" font-size="15">
<defs><marker id="head" viewBox="0 0 10 10" refX="9" refY="5" markerWidth="7" markerHeight="7" orient="auto">
<path d="M0 0 10 5 0 10z"/></marker></defs>
<rect width="720" height="400" fill="#fff"/>
<path d="M20 20H700V150H20z" fill="#e8e8e8" stroke="#444"/>
<path d="M60 156H660V300H60z" fill="#f6f6f6" stroke="#444"/>
<path d="M20 153H700" stroke="#0072B2" stroke-width="3" stroke-dasharray="12 5"/>
<text x="30" y="45">fixed part of the wing, seen from above</text>
<text x="520" y="142" fill="#0072B2">hinge line</text>
<text x="75" y="288">surface</text>
<text x="585" y="288" text-anchor="end">trailing edge</text>
<path d="M60 300H660" stroke="#444" stroke-width="3"/>
<rect x="262" y="164" width="150" height="92" rx="3" fill="#ffd9b8" stroke="#000" stroke-width="2"/>
<path d="M262 166H412" stroke="#0072B2" stroke-width="4"/>
<path d="M337 178V240" stroke="#000" stroke-width="4" marker-end="url(#head)"/>
<text x="348" y="205" font-size="13">carrier</text>
<g fill="#b9b9b9" fill-opacity=".7" stroke="#888"><path d="M232 190H280V228H232z"/><path d="M394 190H442V228H394z"/></g>
<text x="216" y="214" text-anchor="end">tape</text>
<path d="M400 178C450 160 440 118 480 112S560 100 540 78 470 84 500 60 600 62 700 62" fill="none"
 stroke="#D55E00" stroke-width="3"/>
<path d="M612 55h18v14h-18z" fill="#b9b9b9" stroke="#888"/>
<text x="690" y="48" text-anchor="end" fill="#a54800">cable: a slack loop, then tape</text>
<g stroke="#000"><path d="M180 178H258" marker-end="url(#head)"/></g>
<text x="176" y="174" text-anchor="end" font-size="13">long edge</text>
<text x="176" y="190" text-anchor="end" font-size="13">along the hinge line</text>
<path d="M490 240 348 246" stroke="#000" marker-end="url(#head)"/>
<text x="496" y="243" font-size="13">arrow to the trailing edge</text>
<g transform="translate(0 318)">
<path d="M20 30H250Q262 40 250 50H20z" fill="#e8e8e8" stroke="#444"/>
<path d="M262 32 560 42 262 50Q254 40 262 32z" fill="#f6f6f6" stroke="#444"/>
<circle cx="258" cy="41" r="4" fill="#0072B2"/>
<path d="M272 32V14H350V35z" fill="#ffd9b8" stroke="#000" stroke-width="2"/>
<path d="M276 14C262-4 246 4 238 14S216 30 190 29" fill="none" stroke="#D55E00" stroke-width="3"/>
<text x="362" y="22" font-size="13">base flat on the skin, lid up, close to the hinge</text>
<text x="30" y="72" font-size="13">from the side</text>
</g>
</svg>
"""


def draw_taped(folder: Path) -> None:
    """Write the drawing of a taped sensor into a folder."""
    (folder / "taped.svg").write_text(TAPED, encoding="utf-8")


def draw_screen(evening: Evening, folder: Path) -> None:
    """Capture the live screen while a throw is beyond its target on the left."""
    for deed in BEFORE:
        evening.begin(deed)
    evening.bench.do("truth")
    terminal = Terminal(THROWS, evening.folder, evening.environment)
    for prompt, position in (("up (normal), all", "flap up"), ("down (normal), all", "flap down")):
        terminal.wait_for(prompt)
        evening.begin(json.dumps({"do": "stick", "position": position}))
    terminal.wait_for("now -21.9")
    terminal.frame()  # no row is left of the way there
    rows = terminal.coloured_rows()
    terminal.press("q")
    terminal.end()
    console = Console(record=True, width=80, file=io.StringIO(), color_system="truecolor", force_terminal=True)
    for row in rows:
        console.print(Text.from_ansi(row), no_wrap=True, crop=True)
    svg = console.export_svg(code_format=SVG, unique_id="screen")
    (folder / "screen.svg").write_text(svg, encoding="utf-8")


def draw_report(evening: Evening, folder: Path) -> None:
    """Picture the first page of the evening's report."""
    evening.block(Screen.read('hingeline report "Moss Lantern" -o lantern.html'))
    chromium = shutil.which("chromium") or "chromium"
    picture, (width, height) = folder / "report.png", REPORT_PIXELS
    subprocess.run(
        [
            *(chromium, "--headless", "--no-sandbox", "--hide-scrollbars", f"--window-size={width},{height}"),
            *(f"--screenshot={picture}", str(evening.folder / "lantern.html")),
        ],
        check=True,
        capture_output=True,
    )
    size = round(width * REPORT_SHARE), round(height * REPORT_SHARE)
    with Image.open(picture) as page:
        small = page.convert("RGB").resize(size, Image.Resampling.LANCZOS)
    small.quantize(COLOURS).save(picture, optimize=True)


def main() -> None:
    """Draw all."""
    PICTURES.mkdir(exist_ok=True)
    draw_taped(PICTURES)
    if sys.argv[1:] == ["taped"]:
        return
    with open_evening() as evening:
        write_page(evening, "how-to/virtual-bench.md")
        draw_screen(evening, PICTURES)
        draw_report(evening, PICTURES)


if __name__ == "__main__":
    main()
