"""Means of neighbouring samples, and the noise from one sample to the next.

In: signals, one or many of equal length. Out: the same thinned; standard deviations.
"""

import numpy as np

from lyewitness.words.arrays import FloatArray

ENOUGH_DIFFERENCES = 2500
SOME = 1500
"""Samples of a trace that are looked at for the step to which it is rounded."""


def binned(values: FloatArray, size: int) -> FloatArray:
    """Return (…, n // size) means of `size` consecutive values; an incomplete last bin is left out."""
    if size == 1:
        return values
    bins = values.shape[-1] // size
    whole = values[..., : bins * size].reshape(*values.shape[:-1], bins, size)
    # A matrix product: many times faster than a mean over a short axis.
    return np.asarray(whole @ np.full(size, 1.0 / size))


def mean_of_few(values: FloatArray) -> float:
    """Return the mean of a handful of values, for which calling the library takes longer than adding up."""
    return float(sum(values.tolist()) / len(values))


def noise_sds(signal: FloatArray, lag: int = 1) -> FloatArray:
    """Return (…,) the standard deviation of the noise in signals (…, n), from differences at `lag`.

    The 40 % quantile of |difference| over √2 × 0.524 (the same quantile of a normal distribution): peaks
    may take half of the trace before they count.
    """
    # Some thousand differences are plenty: of a long trace every second, third, … is taken.
    every = max(1, signal.shape[-1] // ENOUGH_DIFFERENCES)
    difference = np.abs(signal[..., lag::every] - signal[..., :-lag:every])
    place = int(0.4 * difference.shape[-1])
    difference.partition(place, axis=-1)
    return np.asarray(difference[..., place] / (0.5244005 * np.sqrt(2.0)))


def noise_sd(signal: FloatArray) -> float:
    """Return the standard deviation of the noise in one signal, not less than rounding makes it (q/√12).

    The step q is the smallest difference between some hundred neighbours: hardly two of them differ by less.
    """
    apart = np.abs(np.diff(signal[: SOME * max(1, len(signal) // SOME) : max(1, len(signal) // SOME)]))
    apart = apart[apart > 1e-9 * float(np.abs(signal).max(initial=0.0))]
    rounding = float(apart.min()) / float(np.sqrt(12.0)) if len(apart) else 0.0
    return max(float(noise_sds(signal)), rounding)
