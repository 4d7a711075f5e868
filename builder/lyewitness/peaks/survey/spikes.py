"""Spikes: single samples, up to three in a row, that no column can have made.

In: a signal and its noise. Out: the signal with a smooth curve through their neighbours in their place, and
where they stood.
"""

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray

BESIDE = np.array([-5.0, -4.0, -3.0, -2.0, 2.0, 3.0, 4.0, 5.0])
"""Neighbours, in samples, through which a cubic tells what a sample should be."""
HEIGHT_IN_NOISE = 9.0
"""A spike leaves the cubic by so many standard deviations: one in 10¹⁸ samples by chance."""
SHARE_OF_RANGE = 0.25
"""… and by this share of what its neighbours span: at σ of three samples or more a Gaussian leaves the cubic
through them by less than a tenth of that."""
SHARE_OF_RISE = 4.0
"""Where the neighbours rise towards it from both sides, as to a sharp top, it must leave the cubic by this
many times of that: a Gaussian of σ = 1.5 samples stays below."""
WIDEST = 3
"""Samples; what is wider may be a peak."""
ABOUT_HIGHEST = 0.8
"""Of a spike of several samples the middle one need not be the highest."""
LEAST_SAMPLES = 30


def without_spikes(signal: FloatArray, noise_sd: float) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the signal without spikes, and the index of the middle of each that was taken out."""
    if len(signal) < LEAST_SAMPLES:
        return signal, np.zeros(0, dtype=np.intp)
    suspects = _suspects(signal, noise_sd)
    if not len(suspects):
        return signal, suspects
    return _replaced(signal, noise_sd, suspects)


def _suspects(signal: FloatArray, noise_sd: float) -> NDArray[np.intp]:
    """Return the samples that stand far from the mean of those two before and two behind them."""
    limit = HEIGHT_IN_NOISE * noise_sd
    # The second difference over two samples: cheap, and small wherever the signal is smooth.
    bend = signal[2:-2] - 0.5 * (signal[:-4] + signal[4:])
    bend = np.abs(bend, out=bend)
    places = np.flatnonzero(bend > max(limit, 1e-12))
    places = places[(places >= 5) & (places < len(bend) - 5)]
    # Where it is as large a few samples away it is that of a peak.
    alone = bend[places] > 2.0 * np.minimum(bend[places - 5], bend[places + 5])
    places = places[alone] + 2
    return places[(places >= 5) & (places < len(signal) - 5)]


def _replaced(
    signal: FloatArray, noise_sd: float, suspects: NDArray[np.intp]
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the signal with every suspect that no cubic explains replaced by the cubic."""
    cubic = np.vander(BESIDE, 4, increasing=True)
    inside = np.vander(np.arange(-1.0, 2.0), 4, increasing=True) @ np.linalg.pinv(cubic)
    beside = signal[suspects[:, None] + BESIDE.astype(np.intp)]
    told = beside @ inside.T
    off = signal[suspects[:, None] + np.arange(-1, 2)] - told
    # What the cubic leaves of its own neighbours tells how well it knows the sample between them.
    rest = np.abs(beside - beside @ (cubic @ np.linalg.pinv(cubic)).T).max(axis=1)
    spans = beside.max(axis=1) - beside.min(axis=1)
    odd = np.abs(off[:, 1])
    up, down = beside[:, 3] - beside[:, 0], beside[:, 4] - beside[:, 7]
    # Beside a sharp top the cubic overshoots: there what lies below it is as little of a spike.
    rise = np.where(off[:, 1] > 0, np.minimum(up, down), np.maximum(np.abs(up), np.abs(down)))
    share = np.where(rise > 0.2 * odd, SHARE_OF_RISE, SHARE_OF_RANGE)
    limit = np.maximum(np.maximum(HEIGHT_IN_NOISE * noise_sd, share * spans), 4.0 * rest)
    middle = (odd > limit) & (odd >= ABOUT_HIGHEST * np.abs(off).max(axis=1))
    clean = signal.copy()
    found: list[int] = []
    for place in np.flatnonzero(middle).tolist():
        at = int(suspects[place])
        if found and at - found[-1] < WIDEST:
            continue
        beyond = np.abs(off[place]) > max(4.0 * noise_sd, 0.05 * odd[place])
        clean[at - 1 : at + 2] = np.where(beyond, told[place], clean[at - 1 : at + 2])
        found.append(at)
    return clean, np.array(found, dtype=np.intp)
