"""Particles in a micrograph: outlined, counted and measured, with what could not be measured.

In: a grey image and its nanometres per pixel. Out: `ParticleCount`. The method, in order: Otsu's threshold;
pits filled; the distance of each pixel to the ground; a watershed on that distance map parts what touches.
It is an indication: what lies in one picture is a small sample, and a cut shows particles smaller than
they are.

The watershed is not scipy.ndimage.watershed_ift: that weighs the steps between neighbours, which on a
distance map are all alike.
"""

from dataclasses import dataclass, field

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

IntArray = NDArray[np.int32]

NECK_ABOVE = 0.8
"""Share of the lower summit's height from which on the pass between two summits parts nothing."""


def parted(distance: FloatArray, inside: NDArray[np.bool_]) -> IntArray:
    """Return one number a particle (h, w): a watershed on the distance map, shallow parts joined again.

    Every pixel belongs to the summit that the steepest way up leads to. Two summits are one particle where
    the pass between them is nearly as high as the lower of them: the neck is no neck.
    """
    smooth = np.where(inside, scipy.ndimage.gaussian_filter(distance, 1.0), 0.0)
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
    """Return the image (h, w) without the strip of one colour at its foot that carries words and a scale."""
    height = grey.shape[0]
    return grey[: height - strip_rows(grey[height - looked_at(height) :], height)]


def looked_at(height: int) -> int:
    """Return how many rows at its foot tell of an image's strip: one more than it may have."""
    return height // STRIP_OF + 1


def strip_rows(foot: FloatArray, height: int) -> int:
    """Return how many rows the strip has by the foot (rows, w) of an image of that height; 0 for none.

    The strip is what is as bright as the last row in more than half of each row, at most a quarter of all.
    """
    even = np.mean(np.abs(foot - float(np.median(foot[-1]))) < 0.004, axis=1) > 0.5
    rows = int(np.argmin(even[::-1])) if not even.all() else 0
    return rows if 8 <= rows <= height // STRIP_OF else 0


STRIP_OF = 4
"""A strip takes at most one part of so many of an image's height."""
SMALLEST_RADIUS_PX = 3.0
"""Below this a circle and a square look alike."""
SMALLEST_PX = 20
"""Regions of fewer pixels are noise."""
BROKEN_BELOW = 0.9
"""Convexity (area ÷ area of the convex hull) below which a particle counts as broken."""
FRAGMENT_BELOW = 0.6
"""Diameter, as share of the typical one, below which a region counts as a fragment."""
PIT_BELOW = 0.03
"""Holes smaller than this share of a particle's area are pits; the gap between three circles that touch is
0.051 of one's area (√3 − π/2 over π) and must stay."""
CLUMP_ABOVE = 1.5
"""Area, as multiple of the typical one, above which a region that is not convex counts as not parted."""


@dataclass(frozen=True, slots=True)
class Particle:
    """One outlined region. Lengths in nanometres, places in pixels of the image."""

    label: int
    x_px: float
    y_px: float
    diameter_nm: float
    """Of the circle of the same area."""
    roundness: float
    """4 × area ÷ (π × longest diameter²): 1 for a circle."""
    convexity: float
    """Area ÷ area of the convex hull: 1 without a dent."""
    broken: bool
    """Of a particle's size, but dented."""
    fragment: bool
    """Much smaller than the others."""


@dataclass(frozen=True, eq=False, slots=True)
class ParticleCount:
    """All particles of an image that could be measured, and how many could not."""

    particles: tuple[Particle, ...]
    outlines: IntArray
    """(h, w) number of the region each pixel belongs to, 0 for the ground."""
    cut_by_edge: int
    """Regions that touch the image's edge: seen, not measured."""
    not_parted: int
    """Regions that look like several particles which could not be parted."""
    specks: int
    """Regions too small to be told from noise."""
    median_nm: Estimate = field(default_factory=Estimate)
    """Median diameter of the unbroken particles, with its distribution-free 95 % interval."""
    reason: str = ""
    """Why nothing could be measured; empty where something was."""

    @property
    def unbroken(self) -> tuple[Particle, ...]:
        """Return the particles that are whole."""
        return tuple(one for one in self.particles if not (one.broken or one.fragment))

    @property
    def fragments(self) -> int:
        """Return how many regions are fragments."""
        return sum(one.fragment for one in self.particles)

    @property
    def broken_share(self) -> float | None:
        """Return the share of broken ones among the particles that are no fragments; None without any."""
        sized = len(self.particles) - self.fragments
        return 1 - len(self.unbroken) / sized if sized else None


def count_particles(grey: FloatArray, nm_per_pixel: float, bright: bool = True) -> ParticleCount:
    """Return the particles in an image (h, w) in which they are brighter (or darker) than the ground."""
    smooth = np.asarray(scipy.ndimage.gaussian_filter(grey if bright else -grey, 1.0))
    nothing = np.zeros(grey.shape, dtype=np.int32)
    inside = smooth > (edge_level(smooth) if two_levels(smooth) else np.inf)
    distance = np.asarray(scipy.ndimage.distance_transform_edt(inside))
    typical = typical_radius(distance)
    if typical < SMALLEST_RADIUS_PX:
        return ParticleCount((), nothing, 0, 0, 0, Estimate(reason="no particles seen"), "no particles seen")
    inside = _without_pits(inside, typical)
    distance = np.asarray(scipy.ndimage.distance_transform_edt(inside))
    regions = parted(distance, inside)
    return _measured(regions, nm_per_pixel)


def typical_radius(distance: FloatArray) -> float:
    """Return the median of the great maxima of a distance map, pixels; 0 for an empty one."""
    greatest = float(distance.max())
    if greatest < 2:
        return 0.0
    around = scipy.ndimage.maximum_filter(distance, size=2 * int(0.5 * greatest) + 1)
    peaks = (distance == around) & (distance > 0.4 * greatest)
    return float(np.median(distance[peaks]))


def _without_pits(inside: NDArray[np.bool_], typical: float) -> NDArray[np.bool_]:
    """Fill pits, with the radius taken anew until it grows no more.

    The distance map of a particle full of pits is that of the walls between them: its radius came out a third
    of the true one, so that larger pits stayed and the watershed parted whole particles along them.
    """
    while True:
        inside = _without_small_holes(inside, PIT_BELOW * np.pi * typical**2)
        grown = typical_radius(np.asarray(scipy.ndimage.distance_transform_edt(inside)))
        if grown <= typical:
            return inside
        typical = grown


def _without_small_holes(inside: NDArray[np.bool_], most_px: float) -> NDArray[np.bool_]:
    """Fill pits inside particles; gaps between particles that touch all round stay ground."""
    holes, count = scipy.ndimage.label(~inside)
    sizes = scipy.ndimage.sum_labels(~inside, holes, np.arange(count + 1))
    outer = np.unique(np.concatenate([holes[0], holes[-1], holes[:, 0], holes[:, -1]]))
    small = sizes < most_px
    small[outer] = False
    small[0] = False
    return np.asarray(inside | small[holes])


def _measured(regions: IntArray, nm_per_pixel: float) -> ParticleCount:
    """Measure each region, and sort out those that can't be."""
    edge = set(np.unique(np.concatenate([regions[0], regions[-1], regions[:, 0], regions[:, -1]])).tolist())
    found, cut, specks = [], 0, 0
    for number, box in enumerate(scipy.ndimage.find_objects(regions), start=1):
        if box is None:
            continue
        mask = regions[box] == number
        if mask.sum() < SMALLEST_PX:
            specks += 1
        elif number in edge:
            cut += 1
        else:
            found.append((number, box, mask, *_shape(mask)))
    if not found:
        reason = "every particle is cut by the edge" if cut else "no particles seen"
        return ParticleCount((), regions, cut, 0, specks, Estimate(reason=reason), reason)
    areas = np.array([mask.sum() for _, _, mask, _, _ in found], dtype=np.float64)
    typical = float(np.median(areas[areas > 0.25 * areas.max()]))
    particles, not_parted = [], 0
    for (number, box, mask, roundness, convexity), area in zip(found, areas, strict=True):
        if area > CLUMP_ABOVE * typical and convexity < BROKEN_BELOW:
            not_parted += 1
            continue
        y, x = scipy.ndimage.center_of_mass(mask)
        fragment = bool(area < FRAGMENT_BELOW**2 * typical)
        place = float(x + box[1].start), float(y + box[0].start)
        diameter = float(2 * np.sqrt(area / np.pi) * nm_per_pixel)
        particles.append(
            Particle(
                number,
                *place,
                diameter,
                roundness,
                convexity,
                convexity < BROKEN_BELOW and not fragment,
                fragment,
            )
        )
    whole = np.array([one.diameter_nm for one in particles if not (one.broken or one.fragment)])
    return ParticleCount(tuple(particles), regions, cut, not_parted, specks, median_with_interval(whole))


def _shape(mask: NDArray[np.bool_]) -> tuple[float, float]:
    """Return roundness and convexity of a region from the corners of its pixels."""
    y, x = np.nonzero(mask & ~scipy.ndimage.binary_erosion(mask))
    corners = np.concatenate([np.column_stack([x + dx, y + dy]) for dx in (0, 1) for dy in (0, 1)])
    area = float(mask.sum())
    try:
        hull = scipy.spatial.ConvexHull(corners)
    except scipy.spatial.QhullError:
        return 0.0, 1.0
    rim = corners[hull.vertices].astype(np.float64)
    longest = float(np.max(np.linalg.norm(rim[:, None] - rim[None, :], axis=2)))
    # `volume` is the hull's area in two dimensions.
    return min(1.0, 4 * area / (np.pi * longest**2)), min(1.0, area / float(hull.volume))


def median_with_interval(values: FloatArray) -> Estimate:
    """Return the median of (n,) with the distribution-free interval of at least 95 % from order statistics.

    Coverage of (k-th smallest, k-th greatest) is 1 − 2 P(Binomial(n, ½) < k): common practice.
    """
    if values.size == 0:
        return Estimate(reason="no unbroken particle")
    ranked = np.sort(values)
    tails = np.cumsum(_binomial_half(values.size))
    k = int(np.searchsorted(tails, 0.025, side="right"))
    if k < 1:
        return Estimate(value=float(np.median(ranked)), reason="too few particles for an interval")
    return Estimate(float(np.median(ranked)), float(ranked[k - 1]), float(ranked[-k]))


def _binomial_half(n: int) -> FloatArray:
    """Return P(Binomial(n, ½) = 0 … n)."""
    steps = np.arange(1, n + 1)
    logs = np.concatenate([[0.0], np.cumsum(np.log((n - steps + 1) / steps))])
    return np.asarray(np.exp(logs - n * np.log(2.0)))
