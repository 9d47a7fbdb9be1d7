"""Fuzzes each target for its share of the time: `python -m tests.fuzz [SECONDS] [TARGET]`; an hour in all without.

Guided by coverage where atheris is installed (Linux, CPython up to 3.13): each target is a process of its own. What
breaks one is left as `tests/data/fuzz/TARGET/crash-...`; beside it are a few inputs that reach much, `kept-...`.
`tests/fuzz/test_crashes.py` runs both from then on.
"""

import subprocess
import sys
from pathlib import Path

SECONDS = 3600
KEPT = Path(__file__).parents[1] / "data" / "fuzz"
BEGUN = Path(".hypothesis") / "fuzz"
MOST_BYTES = 20_000


def fuzz(name: str, seconds: int) -> None:
    """Fuzz one target in this process, which ends with it."""
    import atheris

    with atheris.instrument_imports(include=["hingeline", "hingeline_calibration", "hingeline_protocol", "tomlkit"]):
        from tests.fuzz.targets import TARGETS
    target, seeds = TARGETS[name]
    folder = KEPT / name
    begun = BEGUN / name
    for place in (folder, begun):
        place.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(seeds()):
        (begun / f"seed-{number}").write_bytes(seed)
    options = [f"-max_total_time={seconds}", f"-max_len={MOST_BYTES}", "-timeout=10", f"-artifact_prefix={folder}/"]
    atheris.Setup(
        [sys.argv[0], *options, "-rss_limit_mb=2048", "-verbosity=0", "-print_final_stats=1", str(begun), str(folder)],
        target,
    )
    atheris.Fuzz()


def main() -> None:
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    if len(sys.argv) > 2:
        fuzz(sys.argv[2], seconds)
    from tests.fuzz.keep import keep
    from tests.fuzz.targets import TARGETS

    broken = []
    for name in TARGETS:
        command = [sys.executable, "-m", "tests.fuzz", str(max(seconds // len(TARGETS), 1)), name]
        broken += [name] * bool(subprocess.run(command, check=False).returncode)
        folder = KEPT / name
        keep(TARGETS[name][0], [*(BEGUN / name).iterdir(), *folder.glob("kept-*")], folder)
    sys.exit(f"broken: {', '.join(broken)}; see {KEPT}" if broken else 0)


if __name__ == "__main__":
    main()
