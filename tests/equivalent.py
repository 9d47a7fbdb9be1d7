"""Breaks of `random_mutants.py` that change nothing anybody could see: file, what stands there, broken, and why."""

_TWO_DOUBLES = "differs only where two doubles that were computed are the same to the last bit"
_PATIENCE = "how long is waited for what never comes"

EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "tracks.py",
        "np.abs(smoothed(slope_deg_s, self.time_s, _NEAR_S)) > FAST_DEG_S",
        "(np.abs(smoothed(slope_deg_s, self.time_s, _NEAR_S)) >= FAST_DEG_S)",
    ): _TWO_DOUBLES,
    ("cautions.py", "abs(off_mg) <= limit_mg", "(abs(off_mg) < limit_mg)"): _TWO_DOUBLES,
    (
        "course.py",
        "shifts[0] * shifts[1] <= 0",
        "(shifts[0] * shifts[1] < 0)",
    ): "where the product is 0, the smaller shift is 0, which the other half of the condition refuses",
    (
        "latest.py",
        "abs(len(samples) - last.lines) > last.lines // 5",
        "(abs(len(samples) - last.lines) >= last.lines // 5)",
    ): "the noise is estimated a line sooner, of lines that are as good",
    ("plots.py", "0.5", "(0.6)"): "lines of a plot are a tenth of a point thicker",
    ("paper.py", "120.0", "(144.0)"): f"{_PATIENCE}: a browser that hangs",
}
"""By the file's name, what stands there, and broken."""
