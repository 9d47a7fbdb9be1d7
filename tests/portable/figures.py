"""The beat, and how much of a processor reading a board takes: run it as it is, and with `HINGELINE_PORTABLE=1`.

python -m tests.portable.figures
HINGELINE_PORTABLE=1 PYTHONPATH=tests/portable python -m tests.portable.figures
"""

import sys
from time import perf_counter, process_time

import numpy as np

from hingeline.demo.job import SCENARIO
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import Sample
from hingeline_virtual.client import VirtualBench

LASTS_S = 15.0


def main() -> None:
    """Take the stream of the demonstration's board for a while."""
    with VirtualBench(SCENARIO) as bench, Fleet(tuple(bench.ports.values())) as fleet:
        fleet.start()
        began_s, cpu_s = perf_counter(), process_time()
        times, samples = [], 0
        for event in fleet:
            samples += isinstance(event, Sample)
            times.append(perf_counter())
            if times[-1] - began_s > LASTS_S:
                break
        lasted_s, cpu_s = perf_counter() - began_s, process_time() - cpu_s
    gaps_ms = 1e3 * np.diff(times)
    beats_ms = gaps_ms[gaps_ms > 20]
    quantiles = np.percentile(beats_ms, [5, 50, 95])
    print(
        f"{sys.platform}: {samples / lasted_s:.0f} samples/s, beat {quantiles[1]:.1f} ms "
        f"(5 to 95 %: {quantiles[0]:.1f} to {quantiles[2]:.1f}), {100 * cpu_s / lasted_s:.1f} % of a processor"
    )


if __name__ == "__main__":
    main()
