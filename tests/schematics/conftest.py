"""The modules of schematics/, which is a folder of scripts and no package."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "schematics"))
