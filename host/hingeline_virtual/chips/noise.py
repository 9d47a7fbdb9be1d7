"""The noise of a chip: white noise of a density through its one-pole low-pass, sampled at its output rate."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

_BLOCK = 512
_NEGLIGIBLE = 1e-4
_BEFORE = 1 << 20
"""Added to the number of a block: those before the first are seeded too."""


class Noise:
    """A stationary first-order autoregressive sequence that can be entered at any sample.

    A one-sided density n through a one-pole low-pass of -3 dB frequency f has the variance n² f π/2, and its
    values 1/rate apart have the correlation exp(-2 π f / rate).

    Parameters
    ----------
    density_g
        Density of x, y and z in g/√Hz, shape (3,).
    filter_hz, rate_hz
        The filter's -3 dB frequency and the rate of samples.
    seed
        Of the generator; same seed, same noise at the same sample.
    """

    def __init__(self, density_g: NDArray[np.float64], filter_hz: float, rate_hz: float, seed: tuple[int, ...]) -> None:
        correlation = math.exp(-2 * math.pi * filter_hz / rate_hz)
        length = 1 + math.ceil(math.log(_NEGLIGIBLE) / math.log(max(correlation, 1e-9)))
        kernel = correlation ** np.arange(length)
        self._kernel = kernel / np.linalg.norm(kernel)
        self._sd_g = density_g * math.sqrt(filter_hz * math.pi / 2)
        self._seed = seed
        self._number = -1
        self._values = np.empty((_BLOCK, 3))

    def at(self, index: int) -> NDArray[np.float64]:
        """The noise (3,) in g of sample `index`, 0 or more."""
        number, place = divmod(index, _BLOCK)
        if number != self._number:
            self._values = self._block(number)
            self._number = number
        row: NDArray[np.float64] = self._values[place]
        return row

    def _block(self, number: int) -> NDArray[np.float64]:
        reach = -(-(len(self._kernel) - 1) // _BLOCK)
        white = np.concatenate([self._white(number - back) for back in range(reach, -1, -1)])
        white = white[len(white) - _BLOCK - len(self._kernel) + 1 :]
        filtered = np.column_stack([np.convolve(w, self._kernel, "valid") for w in white.T])
        return np.asarray(self._sd_g * filtered)

    def _white(self, number: int) -> NDArray[np.float64]:
        return np.random.default_rng([*self._seed, _BEFORE + number]).standard_normal((_BLOCK, 3))
