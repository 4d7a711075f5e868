"""What is left of traces where no peak stands, in bins.

In: traces of equal length and the curves fitted to them. Out: `FreeBins`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from lyewitness.peaks.sampling import binned
from lyewitness.words.arrays import FloatArray


class Curve(Protocol):
    """What has to be known of a fitted curve: its parameters, and between which times it matters."""

    @property
    def area(self) -> float:
        """Signal unit × minute."""

    @property
    def center_min(self) -> float:
        """Of the Gaussian, minutes."""

    @property
    def sigma_min(self) -> float:
        """Of the Gaussian, minutes."""

    @property
    def tau_min(self) -> float:
        """Of the tail, minutes."""

    @property
    def free_until_min(self) -> float:
        """Before this the curve does not matter …"""

    @property
    def free_from_min(self) -> float:
        """… nor behind this."""


@dataclass(frozen=True, eq=False, slots=True)
class FreeBins:
    """Means over bins of r traces, each (r, b)."""

    time: FloatArray
    """Mean time of a bin, minutes."""
    middle: FloatArray
    """Mean time of its free samples; that of the bin where it has none."""
    mean: FloatArray
    """Mean signal of its free samples; of all where it has none."""
    weight: FloatArray
    """Share of its samples that are free."""


def free_bins(
    times: Sequence[FloatArray],
    signals: Sequence[FloatArray],
    peaks: Sequence[Sequence[Curve]],
    size: int,
) -> FreeBins:
    """Return the bins of `size` samples of traces of one length, free of what their `peaks` reach."""
    time = np.stack([binned(own, size) for own in times])
    mean = np.stack([binned(own, size) for own in signals])
    covered = [_covered(own, curves) for own, curves in zip(times, peaks, strict=True)]
    most = max(len(own) for own in covered)
    edges = np.array([own + [(0, 0)] * (most - len(own)) for own in covered]).reshape(len(times), most, 2)
    first, last = edges[..., 0, None], edges[..., 1, None]
    start = size * np.arange(time.shape[1])
    inside = np.minimum(last, start + size) - np.maximum(first, start)
    weight = 1.0 - np.maximum(inside, 0).sum(axis=1) / size
    # Of bins that a peak covers in part only the free samples count.
    rows, bins = np.nonzero((weight > 0) & (weight < 1))
    middle = time.copy()
    if len(rows):
        places = (start[bins, None] + np.arange(size))[:, None, :]
        free = ~((places >= first[rows]) & (places < last[rows])).any(axis=1)
        share = free / free.sum(axis=1, keepdims=True)
        for means, samples in ((middle, times), (mean, signals)):
            parts = [
                samples[row][a : a + size] for row, a in zip(rows.tolist(), start[bins].tolist(), strict=True)
            ]
            means[rows, bins] = (np.stack(parts) * share).sum(axis=1)
    return FreeBins(time, middle, mean, weight)


def _covered(time: FloatArray, peaks: Sequence[Curve]) -> list[tuple[int, int]]:
    """Return the stretches of samples that the peaks reach, by index; those that meet are joined."""
    edges = time.searchsorted([(peak.free_until_min, peak.free_from_min) for peak in peaks])
    joined: list[tuple[int, int]] = []
    for first, last in sorted(edges.tolist()):
        if joined and first <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(last, joined[-1][1])
        else:
            joined.append((first, last))
    return joined
