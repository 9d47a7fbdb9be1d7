"""A page on the disk, and on paper: PDF by a browser or another renderer that is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from hingeline.errors import UsageProblem, in_words
from hingeline.files.whole import safe_name, unwritable, write_whole

A4 = b"<style>@page { size: A4 }</style>"
_BROWSER = (
    *("--headless", "--disable-gpu", "--no-pdf-header-footer"),
    *("--user-data-dir={folder}", "--print-to-pdf={pdf}", "{page}"),
)
RENDERERS: dict[str, tuple[str, ...]] = {
    **dict.fromkeys(("chromium", "chromium-browser", "google-chrome", "chrome", "msedge"), _BROWSER),
    "weasyprint": ("{html}", "{pdf}"),
}
"""Programs that make a PDF of a page, in the order in which they are tried, with their arguments."""
PATIENCE_S = 120.0
PRINT_IT = "Open the page in your browser and print it to a file"


def default_name(aircraft: str, *words: str) -> Path:
    """The name of a page, whatever the aircraft is called."""
    return Path(f"{safe_name('_'.join((aircraft, *words)))}.html")


def write_page(path: Path, page: bytes) -> None:
    """Write a page. Raises `StoreError` where it can't be written."""
    write_whole(path, page, elsewhere="name another file")


def write_pdf(path: Path, page: bytes) -> None:
    """Write a page as PDF, A4. Raises `UsageProblem` (no renderer is installed, or it failed); `StoreError`."""
    name, program = find_renderer()
    try:
        content = _rendered(name, program, page)
    except OSError as error:
        raise unwritable(path, error, "name a folder for what passes with TMPDIR") from error
    write_page(path, content)


def _rendered(name: str, program: str, page: bytes) -> bytes:
    """The PDF that a program makes of a page."""
    with tempfile.TemporaryDirectory() as folder:
        html, pdf = Path(folder) / "page.html", Path(folder) / "page.pdf"
        html.write_bytes(page.replace(b"</head>", A4 + b"</head>", 1))
        places = {"folder": folder, "html": html, "page": html.as_uri(), "pdf": pdf}
        arguments = [word.format(**places) for word in RENDERERS[name]]
        if RENDERERS[name] is _BROWSER and hasattr(os, "geteuid") and os.geteuid() == 0:
            arguments.insert(0, "--no-sandbox")  # else it does not start for root; the page has no script
        try:
            subprocess.run([program, *arguments], capture_output=True, check=True, timeout=PATIENCE_S)
        except OSError as error:
            raise UsageProblem(f"{name} made no PDF: {in_words(error)}", PRINT_IT) from error
        except subprocess.SubprocessError as error:
            output = getattr(error, "stderr", None) or str(error).encode()
            last = "".join(output.decode(errors="replace").strip().splitlines()[-1:])
            raise UsageProblem(f"{name} made no PDF: {last}", PRINT_IT) from error
        if not pdf.is_file():
            raise UsageProblem(f"{name} made no PDF of the page", PRINT_IT)
        return pdf.read_bytes()


def find_renderer() -> tuple[str, str]:
    """The first renderer on the path, or beside this Python, and where it is. Raises `UsageProblem` as `write_pdf`."""
    beside = str(Path(sys.executable).parent)
    for name in RENDERERS:
        if program := shutil.which(name) or shutil.which(name, path=beside):
            return name, program
    raise UsageProblem(
        f"No program that makes PDF is on the path: none of {', '.join(RENDERERS)}",
        f"Install Chromium or WeasyPrint; or {PRINT_IT[0].lower()}{PRINT_IT[1:]}",
    )
