"""Breaks of `random_mutants.py` that change nothing anybody could see.

Each by the file's name, the line as it stands, the line as it is broken, and why nobody can see it. The tool prints the
first three where a break goes unnoticed, as they are to be entered here.
"""

_TWO_DOUBLES = "differs only where two doubles that were computed are the same to the last bit"
_SOONER = "the noise is estimated a line sooner or later, of lines that are as good"
_PATIENCE = "how long is waited for what never comes"

EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "tracks.py",
        "fast = np.abs(smoothed(slope_deg_s, self.time_s, _NEAR_S)) > FAST_DEG_S",
        "fast = (np.abs(smoothed(slope_deg_s, self.time_s, _NEAR_S)) >= FAST_DEG_S)",
    ): _TWO_DOUBLES,
    ("cautions.py", "if abs(off_mg) <= limit_mg:", "if (abs(off_mg) < limit_mg):"): _TWO_DOUBLES,
    (
        "course.py",
        "if shifts[0] * shifts[1] <= 0 or smaller < max(LEAST_SHIFT_DEG, _NOISES * noise_deg):",
        "if (shifts[0] * shifts[1] < 0) or smaller < max(LEAST_SHIFT_DEG, _NOISES * noise_deg):",
    ): "where the product is 0, the smaller shift is 0, which the other half of the condition refuses",
    (
        "latest.py",
        "if last is None or not is_recent or abs(len(samples) - last.lines) > last.lines // 5:",
        "if last is None or not is_recent or (abs(len(samples) - last.lines) >= last.lines // 5):",
    ): _SOONER,
    (
        "latest.py",
        "is_recent = last is not None and samples[0].time_s - last.start_s < NOISE_S",
        "is_recent = last is not None and samples[(1)].time_s - last.start_s < NOISE_S",
    ): _SOONER,
    ("cautions.py", "if abs(off_mg) > 1e3 * BROKEN_G:", "if (abs(off_mg) >= 1000.0 * BROKEN_G):"): _TWO_DOUBLES,
    ("sweep.py", "if left_out > FAST_PERCENT:", "if (left_out >= FAST_PERCENT):"): _TWO_DOUBLES,
    (
        "settings.py",
        "return abs(now.deflection_deg - was.deflection_deg) > COVERAGE_FACTOR * noise_deg and not former.stale",
        "return (abs(now.deflection_deg - was.deflection_deg) >= COVERAGE_FACTOR * noise_deg) and not former.stale",
    ): _TWO_DOUBLES,
    (
        "summary.py",
        "return abs(self.wanted_percent) < _EVEN_PERCENT",
        "return (abs(self.wanted_percent) <= _EVEN_PERCENT)",
    ): _TWO_DOUBLES,
    (
        "direction.py",
        "return any(abs(angle.deflection_deg) > MOVED_DEG for angle in deflections.values())",
        "return any((abs(angle.deflection_deg) >= MOVED_DEG) for angle in deflections.values())",
    ): _TWO_DOUBLES,
    ("linkage.py", "if abs(r) > reach:", "if (abs(r) >= reach):"): _TWO_DOUBLES,
    (
        "sweep_strokes.py",
        "start = max(first, self.reached_deg[0] + AT_END_DEG)",
        "start = max(first, self.reached_deg[(1)] + AT_END_DEG)",
    ): "a fiftieth of a second later on a course that is smoothed over 0.3 s",
    (
        "plots.py",
        'axes.axvline(rest.time_s, color=QUIET, linewidth=0.5, linestyle=":", zorder=0)',
        'axes.axvline(rest.time_s, color=QUIET, linewidth=(0.6), linestyle=":", zorder=0)',
    ): "a line of a plot is a tenth of a point thicker",
    ("paper.py", "PATIENCE_S = 120.0", "PATIENCE_S = (144.0)"): f"{_PATIENCE}: a browser that hangs",
}
