"""The page in a browser is tested where there is one: Debian's package `chromium`."""

import shutil

CHROMIUM = shutil.which("chromium")
collect_ignore = [] if CHROMIUM else ["test_browser.py"]
