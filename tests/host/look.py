"""Pictures that tests make, to be looked at."""

import shutil
import subprocess
from pathlib import Path

CHROMIUM = shutil.which("chromium") or "chromium"
LOOK = Path(__file__).parents[2] / "build" / "look"
"""Where they are put."""
LOOK.mkdir(parents=True, exist_ok=True)


def chromium(*arguments: str) -> str:
    """Run Chromium without a window, and return what it prints."""
    common = ("--headless", "--disable-gpu", "--no-sandbox", "--hide-scrollbars")
    return subprocess.run([CHROMIUM, *common, *arguments], capture_output=True, text=True, check=True).stdout
