"""Least squares against published results: GUM H.3 and NIST StRD Longley."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.lsq import fit_linear

LONGLEY = """
60323 83.0 234289 2356 1590 107608 1947
61122 88.5 259426 2325 1456 108632 1948
60171 88.2 258054 3682 1616 109773 1949
61187 89.5 284599 3351 1650 110929 1950
63221 96.2 328975 2099 3099 112075 1951
63639 98.1 346999 1932 3594 113270 1952
64989 99.0 365385 1870 3547 115094 1953
63761 100.0 363112 3578 3350 116219 1954
66019 101.2 397469 2904 3048 117388 1955
67857 104.6 419180 2822 2857 118734 1956
68169 108.4 442769 2936 2798 120445 1957
66513 110.8 444546 4681 2637 121950 1958
68655 112.6 482704 3813 2552 123366 1959
69564 114.2 502601 3931 2514 125368 1960
69331 115.7 518173 4806 2572 127852 1961
70551 116.9 554894 4007 2827 130081 1962
"""


def test_gum_h3_thermometer() -> None:
    """JCGM 100:2008, H.3, every printed digit."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    fit = fit_linear(np.stack([np.ones(11), np.array(t) - 20], axis=1), b)
    assert fit.values[0] == pytest.approx(-0.17120379, abs=5e-9)
    assert fit.values[1] == pytest.approx(0.0021827, abs=5e-8)
    assert fit.deviations[0] == pytest.approx(0.0028776, abs=5e-8)
    assert fit.deviations[1] == pytest.approx(0.00066794, abs=5e-9)
    assert fit.covariance[0, 1] / np.prod(fit.deviations) == pytest.approx(-0.93043, abs=5e-6)
    assert fit.residual_sd == pytest.approx(0.00349756, abs=5e-9)
    value, uncertainty = fit.predict([1, 10])
    assert value == pytest.approx(-0.14937681, abs=5e-9)
    assert uncertainty == pytest.approx(0.00413860, abs=5e-9)


def test_nist_longley() -> None:
    """NIST Statistical Reference Datasets, Longley, to a unit of the last printed digit."""
    rows = np.array([line.split() for line in LONGLEY.strip().splitlines()], float)
    fit = fit_linear(np.column_stack([np.ones(len(rows)), rows[:, 1:]]), rows[:, 0])
    certified = {
        -3482258.6346: (890420.383607, 1e-4, 1e-6),
        15.06187227: (84.91492577, 1e-8, 1e-8),
        -0.0358191793: (0.03349100777, 1e-10, 1e-11),
        -2.02022980: (0.488399682, 1e-8, 1e-9),
        -1.03322687: (0.214274163, 1e-8, 1e-9),
        -0.05110410565: (0.22607320, 1e-11, 1e-8),
        1829.15146: (455.478499, 1e-5, 1e-6),
    }
    for found, deviation, (value, (sd, value_digit, sd_digit)) in zip(
        fit.values, fit.deviations, certified.items(), strict=True
    ):
        assert found == pytest.approx(value, abs=value_digit, rel=0)
        assert deviation == pytest.approx(sd, abs=sd_digit, rel=0)
    assert fit.residual_sd == pytest.approx(304.854073562, abs=1e-9, rel=0)


def test_known_deviations_weigh_and_set_the_covariance() -> None:
    """Two readings of one quantity: the weighted mean and 1/Σw (GUM, memory: textbook result)."""
    fit = fit_linear([[1.0], [1.0]], [10.0, 13.0], [1.0, 2.0])
    assert fit.values[0] == pytest.approx((10 / 1 + 13 / 4) / 1.25)
    assert fit.covariance[0, 0] == pytest.approx(1 / 1.25)


@pytest.mark.parametrize(
    "design", [[[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]], [[1.0, 0.0], [1.0, 0.0], [1.0, 0.0]]]
)
def test_dependent_columns_are_refused(design: list[list[float]]) -> None:
    with pytest.raises(CalibrationError, match="columns that depend"):
        fit_linear(design, [1.0, 2.0, 3.0])
