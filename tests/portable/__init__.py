"""A computer as poor as Windows: `sitecustomize.py` makes it of this one."""

import os
from pathlib import Path


def poor_environment() -> dict[str, str]:
    """The variables by which every Python that is started finds itself on it."""
    folders = [str(Path(__file__).parent), os.environ.get("PYTHONPATH", "")]
    return {"HINGELINE_PORTABLE": "1", "PYTHONPATH": os.pathsep.join(folders)}
