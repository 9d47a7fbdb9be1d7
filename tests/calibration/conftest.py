"""What can't be collected where a reference library has no release."""

import sys

# imucal 2.6 installs on Python 3.10 to 3.13; its results are in test_six_poses.py as numbers for every version.
collect_ignore = ["test_imucal.py"] if sys.version_info >= (3, 14) else []
