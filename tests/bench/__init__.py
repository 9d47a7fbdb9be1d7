"""Speed, memory and accuracy beside other ways, measured in one run: `python -m tests.bench`."""
