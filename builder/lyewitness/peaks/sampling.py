"""Means of neighbouring samples, and the noise from one sample to the next.

In: signals, one or many of equal length. Out: the same thinned; standard deviations.
"""

import numpy as np

from lyewitness.words.arrays import FloatArray

ENOUGH_DIFFERENCES = 2500


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
    """Return the standard deviation of the noise in one signal."""
    return float(noise_sds(signal))
