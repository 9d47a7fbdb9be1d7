"""A page on the disk, and on paper: PDF by a browser or another renderer that is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import webbrowser
from pathlib import Path

from hingeline.errors import UsageProblem, in_words
from hingeline.files.names import safe_name
from hingeline.files.whole import unwritable, write_whole

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
_INSTALLED = {
    "win32": (
        ("{ProgramFiles}", "{ProgramFiles(x86)}", "{LocalAppData}"),
        {"chrome": "Google/Chrome/Application/chrome.exe", "msedge": "Microsoft/Edge/Application/msedge.exe"},
    ),
    "darwin": (
        ("/Applications", "{HOME}/Applications"),
        {
            "chromium": "Chromium.app/Contents/MacOS/Chromium",
            "google-chrome": "Google Chrome.app/Contents/MacOS/Google Chrome",
            "msedge": "Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
        },
    ),
}
"""By system, where browsers are that are not on the path: folders, and the file of each renderer there."""
PATIENCE_S = 120.0
PRINT_IT = "Open the page in your browser and print it to a file"


def default_name(aircraft: str, *words: str) -> Path:
    """The name of a page, whatever the aircraft is called."""
    return Path(f"{safe_name('_'.join((aircraft, *words)))}.html")


def write_page(path: Path, page: bytes) -> None:
    """Write a page. Raises `StoreError` where it can't be written."""
    write_whole(path, page, elsewhere="name another file")


def open_page(path: Path) -> None:
    """Open a page in the browser. Raises `UsageProblem` where there is none that starts."""
    if not webbrowser.open(path.absolute().as_uri()):
        raise UsageProblem(f"No browser could be started for {path}", "Open the file yourself")


def write_pdf(path: Path, page: bytes) -> None:
    """Write a page as PDF, A4. Raises `UsageProblem` (no renderer is installed, or it failed); `StoreError`."""
    name, program = find_renderer()
    try:
        content = _rendered(name, program, page)
    except OSError as error:
        raise unwritable(path, error, "name a folder for temporary files with TMPDIR") from error
    write_page(path, content)


def _rendered(name: str, program: str, page: bytes) -> bytes:
    """The PDF that a program makes of a page."""
    # a browser may still hold its profile for a moment after it has ended, on Windows
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
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
            if _is_finished(pdf):
                return pdf.read_bytes()
            output = getattr(error, "stderr", None) or str(error).encode()
            last = "".join(output.decode(errors="replace").strip().splitlines()[-1:])
            raise UsageProblem(f"{name} made no PDF: {last}", PRINT_IT) from error
        if not pdf.is_file():
            raise UsageProblem(f"{name} made no PDF of the page", PRINT_IT)
        return pdf.read_bytes()


def _is_finished(pdf: Path) -> bool:
    """Whether a PDF has its last line: of a browser that made it and then came to no good end."""
    return pdf.is_file() and pdf.read_bytes().rstrip().endswith(b"%%EOF")


def _installed(name: str) -> str | None:
    """Where the system keeps a renderer that is installed, whatever the path says."""
    folders, files = _INSTALLED.get(sys.platform, ((), {}))
    places = (folder.format_map(_Environment()) for folder in folders if name in files)
    return next((str(file) for place in places if (file := Path(place, files[name])).is_file()), None)


class _Environment(dict[str, str]):
    """The variables of the environment; one that is missing names a folder that is not there."""

    def __missing__(self, name: str) -> str:
        return os.environ.get(name, "/nonexistent")


def find_renderer() -> tuple[str, str]:
    """The first renderer on the path, or beside this Python, and where it is. Raises `UsageProblem` as `write_pdf`."""
    beside = str(Path(sys.executable).parent)
    for name in RENDERERS:
        if program := shutil.which(name) or shutil.which(name, path=beside) or _installed(name):
            return name, program
    raise UsageProblem(
        f"No program that makes PDF is on the path: none of {', '.join(RENDERERS)}",
        f"Install Chromium or WeasyPrint; or {PRINT_IT[0].lower()}{PRINT_IT[1:]}",
    )
