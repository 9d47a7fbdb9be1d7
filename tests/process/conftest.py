"""What stops a process at its system calls is Linux's ptrace; what saves is the same code everywhere."""

import sys

collect_ignore = [] if sys.platform == "linux" else ["test_kills.py"]
