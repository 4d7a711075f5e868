"""Touching particles parted: a watershed on a distance map.

In: the distance of each pixel to the ground, (h, w). Out: a number for each region, (h, w). Not by
scipy.ndimage.watershed_ift: that weighs the steps between neighbours, which on a distance map are all alike.
"""

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from lyewitness.words.arrays import FloatArray

IntArray = NDArray[np.int32]

NECK_ABOVE = 0.8
"""Share of the lower summit's height from which on the pass between two summits parts nothing."""


def parted(distance: FloatArray, inside: NDArray[np.bool_]) -> IntArray:
    """Return one number a particle (h, w): a watershed on the distance map, shallow parts joined again.

    Every pixel belongs to the summit that the steepest way up leads to. Two summits are one particle where
    the pass between them is nearly as high as the lower of them: the neck is no neck.
    """
    smooth = np.where(inside, ndimage.gaussian_filter(distance, 1.0), 0.0)
    summits, basins = np.unique(_way_up(smooth)[inside.ravel()], return_inverse=True)
    regions = np.zeros(inside.size, dtype=np.int32)
    regions[inside.ravel()] = basins + 1
    heights = np.concatenate([[0.0], smooth.ravel()[summits]])
    regions = _joined(regions.reshape(inside.shape), smooth, heights)
    return np.asarray(regions)


def _way_up(height: FloatArray) -> NDArray[np.intp]:
    """Return for each pixel of a relief (h, w) the flat index of the summit above it, (h × w,)."""
    padded = np.pad(height, 1, constant_values=-1.0)
    rows, columns = height.shape
    steps = [(0, 0), *((i, j) for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j)]
    around = np.stack([padded[1 + i : 1 + i + rows, 1 + j : 1 + j + columns] for i, j in steps])
    jump = np.array([i * columns + j for i, j in steps])[np.argmax(around, axis=0)].ravel()
    above = np.arange(height.size) + jump
    while not np.array_equal(above, above[above]):
        above = above[above]
    return np.asarray(above)


def _joined(regions: IntArray, height: FloatArray, summits: FloatArray) -> IntArray:
    """Join regions across passes that are nearly as high as the lower summit, the highest pass first."""
    master = np.arange(summits.size)
    peak = summits.copy()
    for one, other, saddle in _passes(regions, height):
        first, second = _master(master, one), _master(master, other)
        if first != second and saddle >= NECK_ABOVE * min(peak[first], peak[second]):
            master[second] = first
            peak[first] = max(peak[first], peak[second])
    final = np.array([_master(master, one) for one in range(summits.size)])
    _, numbers = np.unique(final, return_inverse=True)
    return np.asarray(numbers[regions], dtype=np.int32)


def _master(master: NDArray[np.intp], one: int) -> int:
    """Return the region that `one` has become part of."""
    while master[one] != one:
        one = int(master[one])
    return one


def _passes(regions: IntArray, height: FloatArray) -> list[tuple[int, int, float]]:
    """Return (region, region, height of the pass) of all neighbours, the highest pass first."""
    found: dict[tuple[int, int], float] = {}
    for here, there in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        differ = (regions[here] != regions[there]) & (regions[here] > 0) & (regions[there] > 0)
        low = np.minimum(height[here], height[there])[differ]
        for one, other, saddle in zip(
            regions[here][differ].tolist(), regions[there][differ].tolist(), low.tolist(), strict=True
        ):
            pair = (min(one, other), max(one, other))
            found[pair] = max(found.get(pair, 0.0), saddle)
    return sorted(((*pair, saddle) for pair, saddle in found.items()), key=lambda entry: (-entry[2], entry))
