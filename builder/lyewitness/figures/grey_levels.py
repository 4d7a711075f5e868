"""Where the ground ends and the particles begin, by their greys.

In: grey images (h, w). Out: thresholds, and the image without the strip of words at its foot.
"""

import numpy as np

from lyewitness.words.arrays import FloatArray

TWO_LEVELS_ABOVE = 0.7
"""Share of the variance between the classes from which on there are two of them."""


def otsu_threshold(values: FloatArray, bins: int = 256) -> float:
    """Return the threshold that parts `values` into the two classes of greatest between-class variance.

    σ_B² = (μ_T ω − μ)² / (ω (1 − ω)); Otsu, IEEE Trans. Syst. Man Cybern. 1979, 9, 62.
    """
    counts, edges = np.histogram(values, bins=bins)
    middles = (edges[:-1] + edges[1:]) / 2
    share = np.cumsum(counts) / counts.sum()
    mean = np.cumsum(counts * middles) / counts.sum()
    with np.errstate(divide="ignore", invalid="ignore"):
        between = (mean[-1] * share - mean) ** 2 / (share * (1 - share))
    best = np.flatnonzero(between >= np.nanmax(between) * (1 - 1e-12))
    return float(edges[1:][best].mean())


def two_levels(values: FloatArray) -> bool:
    """Return whether the greys fall into two classes: Otsu's between-class share of the variance.

    The share is 2/π = 0.64 for one Gaussian, and near 1 for two clear levels.
    """
    if np.ptp(values) == 0:
        return False
    above = values > otsu_threshold(values)
    share = float(np.mean(above))
    between = share * (1 - share) * float(values[above].mean() - values[~above].mean()) ** 2
    return between / float(values.var()) > TWO_LEVELS_ABOVE


def edge_level(values: FloatArray) -> float:
    """Return the level half-way between the ground and the darker parts of the particles.

    Otsu's threshold alone lies half-way to their middle and cuts off the side that lies in shadow.
    """
    first = otsu_threshold(values)
    ground = float(np.median(values[values <= first]))
    return ground + 0.5 * (float(np.percentile(values[values > first], 10)) - ground)


def without_strip(grey: FloatArray) -> FloatArray:
    """Return the image (h, w) without the strip of one colour at its foot that carries words and a scale.

    The strip is what is as bright as the last row in more than half of each row, at most a quarter of all.
    """
    level = float(np.median(grey[-1]))
    even = np.mean(np.abs(grey - level) < 0.004, axis=1) > 0.5
    rows = int(np.argmin(even[::-1])) if not even.all() else 0
    return grey[: grey.shape[0] - rows] if 8 <= rows <= grey.shape[0] // 4 else grey
