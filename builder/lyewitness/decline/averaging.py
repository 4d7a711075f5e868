"""The curve of a decline, averaged over what its shape and its noise may be.

In: exposures that the series share, values in % of the reference. Out: `Mixture`s, one a series: what every
pair of a shape and a description of the noise makes of the curve, and how far each is to be believed.

Nobody knows the law by which a column dies. So each shape of a wide family (`families.py`), of the value or
of its logarithm, is taken with a random departure from it, smooth or rough and of unknown size (a line with
an integrated random walk is a smoothing spline: Wahba, J. R. Stat. Soc. B 1978, 40, 364), with noise that
may be serial and may grow (`shared_noise.py`). All are weighed by their restricted likelihood, the noise's
variance integrated out. None is chosen: where two fit alike, the interval holds what either says.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.decline.families import Family, family
from lyewitness.decline.shared_noise import LASTING, LEAST_FREEDOM, NOISES, Placed
from lyewitness.words.arrays import BoolArray, FloatArray

LEAST_NOISE = 0.02
"""Noise counts as this much at least, % of the reference: rounding is no noise."""
SMOOTH = (4.0, 20.0, 100.0, 500.0, 2500.0)
"""Sizes of a smooth departure over the whole test, standard deviations of the noise."""
ROUGH = (3.0, 12.0, 50.0, 200.0)
"""Sizes of a rough departure."""
DEPARTURES = {"none": 0.15, "smooth": 0.55, "rough": 0.3}
"""Prior weight of the kinds of departure."""
KINDS = tuple(DEPARTURES)
KEPT = 0.015
"""Components of less weight than this share of the greatest add nothing to the mixture."""
MOST = 24
"""Components that a mixture holds at most."""
MOST_OF_A_NOISE = 14
"""Components that are kept of each noise before it is known how far that is believed."""


@dataclass(frozen=True, slots=True)
class Node:
    """One description of departure and noise."""

    departure: str
    size: float
    noise: int
    """Index into `NOISES`."""
    log_prior: float
    """Of the departure; that of the noise depends on what is believed of it."""


def _nodes() -> tuple[Node, ...]:
    sizes = {"none": (0.0,), "smooth": SMOOTH, "rough": ROUGH}
    return tuple(
        Node(kind, size, noise, float(np.log(p / len(sizes[kind]))))
        for noise in range(len(NOISES))
        for kind, p in DEPARTURES.items()
        for size in sizes[kind]
    )


NODES = _nodes()
"""Noise by noise, so that what belongs to one stands together."""
OF_NODE = np.array([node.noise for node in NODES])


def covariance(kind: str, s: FloatArray, t: FloatArray) -> FloatArray:
    """Return (n, m) covariance of a departure of unit size between exposures `s` (n,) and `t` (m,)."""
    least = np.minimum(s[:, None], t[None, :])
    if kind == "rough":
        return least
    if kind == "smooth":
        return np.asarray(least**3 / 3 + np.abs(s[:, None] - t[None, :]) * least**2 / 2)
    return np.zeros((len(s), len(t)))


@dataclass(frozen=True, eq=False, slots=True)
class Ground:
    """What belongs to the exposures alone: whitened shapes at every node."""

    family: Family
    whitener: FloatArray
    """(N, n, n) inverse of the Cholesky factor."""
    half_log_determinant: FloatArray
    """(N,)"""
    white: FloatArray
    """(N, n, columns) whitened columns of the family."""
    gram: FloatArray
    """(N, columns, 2) their products with the first two."""
    own: FloatArray
    """(N, columns) their products with themselves."""
    independent: FloatArray
    """(noises,) number of independent injections."""


@lru_cache(maxsize=4)
def _ground(*key: bytes) -> Ground:
    points = Points(*(np.frombuffer(one) for one in key))
    u = points.u
    departures = {kind: covariance(kind, u, u) for kind in DEPARTURES}
    placed = Placed(points.place, points.hours, u)
    noise = [one.covariance(u, placed, points.count) for one in NOISES]
    whole = np.stack([noise[x.noise] + x.size**2 * departures[x.departure] for x in NODES])
    whole = whole + 1e-9 * np.eye(len(u))
    factor = np.linalg.cholesky(whole)
    inverse = np.linalg.inv(factor)
    shapes = family(u)
    diagonal = np.diagonal(factor, axis1=1, axis2=2)
    independent = np.array([one.independent(placed) for one in NOISES])
    white = inverse @ shapes.columns
    gram = np.swapaxes(white, 1, 2) @ white[:, :, :2]
    own = np.einsum("kic,kic->kc", white, white)
    return Ground(shapes, inverse, np.log(diagonal).sum(axis=1), white, gram, own, independent)


def ground(points: "Points") -> Ground:
    """Return the ground of injections."""
    return _ground(*points.key)


@dataclass(frozen=True, eq=False, slots=True)
class Points:
    """Injections that the series share, each the mean of `count` neighbours."""

    u: FloatArray
    place: FloatArray
    count: FloatArray
    hours: FloatArray
    """By the clock, where it is known."""

    @property
    def key(self) -> tuple[bytes, ...]:
        """Return what tells them from others."""
        return tuple(one.tobytes() for one in (self.u, self.place, self.count, self.hours))


@dataclass(frozen=True, eq=False, slots=True)
class Weighed:
    """The components of one series that are worth a look."""

    log_weight: FloatArray
    """(K,) of likelihood × prior, the noise's prior left out."""
    parts: NDArray[np.intp]
    """(K, 3) scale, node and shape."""
    log_evidence: FloatArray
    """(noises,) of the values under each noise, all shapes together, the noise's prior left out."""

    def log_density(self, belief: FloatArray) -> float:
        """Return that of the values under all noises, believed as `belief` (noises,) says."""
        return float(scipy.special.logsumexp(self.log_evidence + belief))

    def lasting(self, belief: FloatArray) -> float:
        """Return the chance that errors last from one injection to the next."""
        return float(scipy.special.softmax(self.log_evidence + belief)[LASTING].sum())

    def best(self, belief: FloatArray) -> tuple[FloatArray, NDArray[np.intp]]:
        """Return weight (K',) and parts (K', 3) of what is most to be believed."""
        weight = self.log_weight + belief[OF_NODE[self.parts[:, 1]]]
        weight = np.exp(weight - weight.max())
        best = np.argsort(-weight, kind="stable")[:MOST]
        best = best[weight[best] > KEPT]
        return weight[best] / weight[best].sum(), self.parts[best]


def weigh(points: Points, y: FloatArray) -> list[Weighed]:
    """Return for each of `y` (S, n) the components that are the best of each noise."""
    base, n, many = ground(points), len(points.u), len(y)
    positive = np.asarray((y > LOWEST).all(axis=1))
    safe = np.where(positive[:, None], y, 100.0)
    right = np.concatenate([y, logarithm(safe)]).T
    jacobian = np.where(positive, np.log(100.0 / safe).sum(axis=1), -np.inf)
    evidence = _evidence(base, base.whitener @ right, n)
    evidence[:, :, many:] += jacobian
    noises, per = len(NOISES), len(NODES) // len(NOISES)
    own = evidence.reshape(noises, per, evidence.shape[1], 2, many)
    most = own.max(axis=(1, 2, 3))
    total = most + np.log(np.exp(own - most[:, None, None, None]).sum(axis=(1, 2, 3)))
    found = []
    for number in range(many):
        flat = own[..., number].reshape(noises, -1)
        best = np.argpartition(-flat, MOST_OF_A_NOISE, axis=1)[:, :MOST_OF_A_NOISE]
        of, node, shape, scale = np.unravel_index(
            (best + flat.shape[1] * np.arange(noises)[:, None]).ravel(), own.shape[:4]
        )
        parts = np.stack([scale, of * per + node, shape], axis=1)
        found.append(Weighed(np.take_along_axis(flat, best, axis=1).ravel(), parts, total[:, number]))
    return found


LOWEST = 2.0
"""Values below this, % of the reference, have no logarithm that could be a line."""


def logarithm(percent: FloatArray) -> FloatArray:
    """Return 100 ln(percent ÷ 100)."""
    return np.asarray(100.0 * np.log(percent / 100.0))


def densities_without(
    points: Points, y: FloatArray, left_out: Sequence[int], belief: FloatArray
) -> FloatArray:
    """Return the log density of `y` (n,) without each of the injections `left_out`, all shapes together.

    Leaving out one value takes its foretold error out of the sum of squares, and its precision out of the
    determinant: nothing is fitted again.
    """
    base, n = ground(points), len(points.u)
    positive = bool((y > LOWEST).all())
    logs = logarithm(y) if positive else y
    units = np.eye(n)[:, list(left_out)]
    found = []
    for values, is_log in ((y, False), *(((logs, True),) if positive else ())):
        rows = _evidence(base, base.whitener @ np.column_stack([values, units]), n, alone=False)
        if is_log:
            jacobian = np.log(100.0 / y)
            rows = rows + (jacobian.sum() - jacobian[list(left_out)])
        rows = rows + belief[OF_NODE][:, None, None]
        found.append(rows.reshape(-1, len(left_out)))
    return np.asarray(scipy.special.logsumexp(np.concatenate(found), axis=0))


def _evidence(base: Ground, white: FloatArray, n: int, alone: bool = True) -> FloatArray:
    """Return (N, shapes, R) log of likelihood × prior for the whitened values `white` (N, n, R).

    Not `alone`, the first of `white` are values and the others are the injections to be left out of them.
    """
    shapes, gram, own = base.family, base.gram, base.own
    # One value after the other: there are few of them, and each step goes along the many shapes.
    cross = _last_axis_apart(np.swapaxes(base.white, 1, 2) @ white)
    square = np.einsum("kir,kir->kr", white, white)
    with_first = square if alone else np.einsum("kir,ki->kr", white, white[:, :, 0])
    first = gram[:, 0, 0]
    sums = _Sums(square - cross[:, 0] ** 2 / first[:, None], with_first, alone)
    sums = _Sums(sums.square, with_first - cross[:, 0] * cross[:, :1, 0] / first[:, None], alone)
    rows = [_log_likelihood(base, np.log(first), sums, n - 1)[:, None]]
    inner = own - gram[:, :, 0] ** 2 / first[:, None]
    meet = cross - gram[:, :, 0, None] * (cross[:, :1] / first[:, None, None])
    for picked, line in ((shapes.single, False), (shapes.with_line, True)):
        own_p, meet_p, sums_p, spread = inner[:, picked], meet[:, picked], sums, np.log(first)
        if line:
            shared = gram[:, picked, 1] - gram[:, picked, 0] * (gram[:, 1, 0] / first)[:, None]
            slope, along = inner[:, 1], meet[:, 1]
            own_p = own_p - shared**2 / slope[:, None]
            meet_p = meet_p - shared[:, :, None] * (along / slope[:, None])[:, None]
            sums_p = sums.less(along, slope[:, None])
            spread = spread + np.log(slope)
        bears = own_p > 1e-7 * own[:, picked]
        safe = np.where(bears, own_p, 1.0)
        rest = sums_p.one_more().less(np.where(bears[:, :, None], meet_p, 0.0), safe[:, :, None])
        likelihood = _log_likelihood(base, spread[:, None] + np.log(safe), rest, n - 2 - line)
        rows.append(np.where(bears[:, :, None], likelihood, -np.inf))
    prior = np.array([node.log_prior for node in NODES])
    return np.asarray(np.concatenate(rows, axis=1) + prior[:, None, None] + shapes.log_prior[None, :, None])


def _last_axis_apart(array: FloatArray) -> FloatArray:
    """Return the same, laid out so that the last axis is the slowest to go along."""
    return np.moveaxis(np.ascontiguousarray(np.moveaxis(array, -1, 0)), 0, -1)


@dataclass(frozen=True, eq=False, slots=True)
class _Sums:
    """What is left of products of whitened values after some columns were taken out; (N, …, R)."""

    square: FloatArray
    """Of every value with itself."""
    with_first: FloatArray
    """Of every value with the first."""
    alone: bool
    """Whether each is a series by itself, or the others are injections to be left out of the first."""

    def less(self, meet: FloatArray, own: FloatArray) -> "_Sums":
        """Return what is left without a column of the square `own` that meets the values by `meet`."""
        square = meet**2
        square /= own
        np.subtract(self.square, square, out=square)
        if self.alone:
            return _Sums(square, square, True)
        first = meet * meet[..., :1]
        first /= own
        return _Sums(square, np.subtract(self.with_first, first, out=first), False)

    def one_more(self) -> "_Sums":
        """Return the same with an axis for shapes."""
        return _Sums(self.square[:, None], self.with_first[:, None], self.alone)


def _log_likelihood(base: Ground, log_det: FloatArray, left: _Sums, freedom: int) -> FloatArray:
    """Return the restricted log-likelihood with the noise's variance integrated out."""
    size = (base.half_log_determinant.reshape((-1,) + (1,) * (log_det.ndim - 1)) + 0.5 * log_det)[..., None]
    floor = (len(base.whitener[0])) * LEAST_NOISE**2
    squares = np.maximum(left.square, 0.0)
    if not left.alone:
        precision = np.maximum(left.square[..., 1:], 1e-12)
        taken = left.with_first[..., 1:] ** 2
        taken /= precision
        np.subtract(squares[..., :1], taken, out=taken)
        squares = np.maximum(taken, 0.0, out=taken)
        size, freedom = size + 0.5 * np.log(precision), freedom - 1
    half = freedom / 2
    squares += floor
    squares *= np.pi
    np.log(squares, out=squares)
    squares *= half
    return np.asarray(scipy.special.gammaln(half) - size - squares)


@dataclass(frozen=True, eq=False, slots=True)
class Mixture:
    """What one series' components say of its curve at m exposures."""

    weight: FloatArray
    """(K, m) how far each is to be believed; of a step, it depends on where in its gap the exposure lies."""
    logarithmic: BoolArray
    """(K,) whether a component speaks of the logarithm."""
    freedom: FloatArray
    """(K,) degrees of freedom of Student's t: of independent injections, so many as the noise leaves."""
    middle: FloatArray
    """(K, m) of the curve, % of the reference; logarithmic: 100 ln."""
    error: FloatArray
    """(K, m) standard error of `middle`."""
    relative_middle: FloatArray
    """(K, m) of the curve ÷ the true reference."""
    relative_error: FloatArray
    """(K, m)"""
    fitted: FloatArray
    """(n,) mean curve at the injections, % of the reference."""
    noise_sd: float
    """Standard deviation of the noise at the start, % of the reference."""
    jumps: Mapping[tuple[float, float], float]
    """Chance of a jump between two exposures."""


def look(
    points: Points,
    y: FloatArray,
    found: Sequence[Weighed],
    beliefs: Sequence[FloatArray],
    u: FloatArray,
    reference_u: FloatArray,
    fitted_u: FloatArray,
) -> list[Mixture]:
    """Return the mixtures of `y` (S, n) at `u` (m,) that `weigh` `found`; `beliefs` (S, noises) are logs."""
    at = _looked_at(points.key, *(one.tobytes() for one in (u, reference_u, fitted_u)))
    return [_mixture(at, own, *one.best(belief)) for own, one, belief in zip(y, found, beliefs, strict=True)]


@lru_cache(maxsize=2)
def _looked_at(key: tuple[bytes, ...], *elsewhere: bytes) -> "_At":
    points = Points(*(np.frombuffer(one) for one in key))
    return _At(points, ground(points), *(np.frombuffer(one) for one in elsewhere))


class _At:
    """Shapes and departures at the exposures that are looked at, by node, made when first asked for."""

    def __init__(
        self, points: Points, base: Ground, u: FloatArray, reference_u: FloatArray, fitted_u: FloatArray
    ) -> None:
        self.base, self.points, self.u = base, points, u
        self.all = np.concatenate([u, reference_u, fitted_u])
        self.m, self.r = len(u), len(reference_u)
        self.columns = {after: family(points.u, self.all, after).columns for after in (False, True)}
        self.cross = {kind: covariance(kind, points.u, self.all) for kind in DEPARTURES}
        self.to_reference = np.stack([covariance(kind, self.all, reference_u) for kind in KINDS])
        self.own = np.stack([0 * self.all, self.all**3 / 3, self.all])
        self._pulls: dict[int, FloatArray] = {}

    def pull(self, index: int) -> FloatArray:
        """Return (n, all) whitened covariance of the departure at the injections with that elsewhere."""
        if index not in self._pulls:
            node = NODES[index]
            self._pulls[index] = node.size**2 * (self.base.whitener[index] @ self.cross[node.departure])
        return self._pulls[index]


def _mixture(at: _At, y: FloatArray, weight: FloatArray, parts: NDArray[np.intp]) -> Mixture:
    """Return what the components `parts` (K, 3) say of one series."""
    shapes, logarithmic = at.base.family, parts[:, 0] == 1
    part = _Parts(at, parts[:, 1], [shapes.members[shape] for shape in parts[:, 2]], y, logarithmic)
    gaps = [shapes.gaps[shape] for shape in parts[:, 2]]
    jumps = np.array([gap is not None for gap in gaps])
    before = np.repeat(weight[:, None], at.m, axis=1)
    low, high = (np.array([gap[end] if gap is not None else end for gap in gaps]) for end in (0, 1))
    passed = np.clip((at.u - low[:, None]) / (high - low)[:, None], 0.0, 1.0)
    before = np.where(jumps[:, None], before * (1.0 - passed), before)
    columns: list[FloatArray] = [before, logarithmic.astype(float), part.freedom, *part.seen(False)]
    if jumps.any():
        after = [weight[:, None] * passed, columns[1], part.freedom, *part.seen(True)]
        columns = [np.concatenate([x, z[jumps]]) for x, z in zip(columns, after, strict=True)]
    chances: dict[tuple[float, float], float] = {}
    for gap, share in zip(gaps, weight, strict=True):
        if gap is not None:
            chances[gap] = chances.get(gap, 0.0) + float(share)
    noise_sd = float(weight @ np.sqrt(part.variance))
    share, logs, *seen = columns
    freedom, middle, error, relative_middle, relative_error = seen
    return Mixture(
        share,
        logs > 0,
        freedom,
        middle,
        error,
        relative_middle,
        relative_error,
        weight @ part.fitted(),
        noise_sd,
        chances,
    )


class _Parts:
    """The K components of one series; designs are padded to three columns."""

    def __init__(
        self,
        at: _At,
        nodes: NDArray[np.intp],
        members: Sequence[tuple[int, ...]],
        y: FloatArray,
        logarithmic: BoolArray,
    ) -> None:
        self.at, self.logarithmic = at, logarithmic
        counts = np.array([len(one) for one in members])
        self.members = np.array([[*one, *[0] * (3 - len(one))] for one in members])
        self.used = np.arange(3) < counts[:, None]
        self.size2 = np.array([NODES[node].size for node in nodes]) ** 2
        self.kind = np.array([KINDS.index(NODES[node].departure) for node in nodes])
        self.whitener = at.base.whitener[nodes]
        self.pull = np.stack([at.pull(node) for node in nodes])
        white = at.base.white[nodes[:, None], :, self.members]
        self.design = np.swapaxes(white * self.used[:, :, None], 1, 2)
        values = np.where(logarithmic[:, None], logarithm(np.maximum(y, LOWEST)), y)
        seen = np.einsum("kij,kj->ki", self.whitener, values)
        gram = np.swapaxes(self.design, 1, 2) @ self.design
        gram[:, range(3), range(3)] += np.where(self.used, 0.0, 1.0)
        self.inverse = np.linalg.inv(gram)
        self.beta = np.einsum("kpq,kiq,ki->kp", self.inverse, self.design, seen)
        self.left = seen - np.einsum("kip,kp->ki", self.design, self.beta)
        freedom = len(y) - counts.astype(float)
        self.variance = ((self.left**2).sum(axis=1) + len(y) * LEAST_NOISE**2) / freedom
        independent = at.base.independent[OF_NODE[nodes]] - counts
        self.freedom = np.maximum(independent, np.minimum(freedom, LEAST_FREEDOM))

    def _terms(self, after: bool) -> tuple[FloatArray, FloatArray]:
        """Return the mean (K, all) and its free directions (K, all, 3)."""
        columns = self.at.columns[after][:, self.members] * self.used
        columns = np.swapaxes(columns, 0, 1)
        turned = np.swapaxes(self.pull, 1, 2)
        mean = np.einsum("kap,kp->ka", columns, self.beta) + np.einsum("kai,ki->ka", turned, self.left)
        return mean, columns - turned @ self.design

    def seen(self, after: bool) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Return middle and error of the curve, and of the curve ÷ reference, each (K, m)."""
        at, m, reference = self.at, self.at.m, slice(self.at.m, self.at.m + self.at.r)
        near = slice(0, m + at.r)
        mean, free = self._terms(after)
        pull, free = self.pull[:, :, near], free[:, near]
        directed = free @ self.inverse
        variance = self.size2[:, None] * at.own[self.kind][:, near]
        variance = variance - (pull**2).sum(axis=1) + (directed * free).sum(axis=2)
        joint = self.size2[:, None, None] * at.to_reference[self.kind][:, near]
        joint = joint - np.swapaxes(pull, 1, 2) @ pull[:, :, reference]
        joint = joint + directed @ np.swapaxes(free[:, reference], 1, 2)
        middle, level, logs = mean[:, :m], mean[:, reference], self.logarithmic[:, None]
        top = level.max(axis=1, keepdims=True)
        share = np.where(logs, np.exp(np.where(logs, level - top, 0.0) / 100.0), 1.0)
        stands = np.where(
            logs, top + 100.0 * np.log(share.mean(axis=1, keepdims=True)), level.mean(axis=1, keepdims=True)
        )
        share = share / share.sum(axis=1, keepdims=True)
        whole = np.where(logs | (np.abs(stands) < 1.0), 100.0, stands)
        slope = np.where(logs, 1.0, middle / whole)
        relative = np.where(logs, middle - stands, 100.0 * slope)
        carried = (joint @ share[:, :, None])[:, :, 0]
        of_reference = (share * carried[:, reference]).sum(axis=1)[:, None]
        spread = (variance[:, :m] - 2 * slope * carried[:, :m] + slope**2 * of_reference) * (
            100.0 / whole
        ) ** 2
        own = self.variance[:, None]
        return (
            middle,
            np.sqrt(np.maximum(own * variance[:, :m], LEAST_VARIANCE)),
            relative,
            np.sqrt(np.maximum(own * spread, LEAST_VARIANCE)),
        )

    def fitted(self) -> FloatArray:
        """Return (K, n) the curves at the injections, % of the reference."""
        mean = self._terms(False)[0][:, self.at.m + self.at.r :]
        return np.where(self.logarithmic[:, None], back(mean), mean)


LEAST_VARIANCE = 1e-6
"""Of a curve, (% of the reference)²."""


STEPS = 8
"""Steps towards a quantile: to a thousandth of the standard error."""


def quantiles(mixture: Mixture, relative: bool, wanted: Sequence[float], steps: int = STEPS) -> FloatArray:
    """Return (wanted, m) quantiles of the curve, % of the (true, where `relative`) reference.

    Regula falsi on the normal deviate of the chance, which is nearly a line, every third step a bisection;
    where a component of little weight lies so far off that the steps end too soon, bisections to the end.
    """
    middle = mixture.relative_middle if relative else mixture.middle
    error = mixture.relative_error if relative else mixture.error
    logs = mixture.logarithmic[:, None]
    reach = scipy.special.stdtrit(mixture.freedom, FAR_TAIL)[:, None] * error
    ends = []
    for side, most in ((-1, np.min), (1, np.max)):
        at = middle + side * reach
        end = most(np.where(logs, back(at), at), axis=0)
        ends.append(np.repeat(end[None], len(wanted), axis=0))
    low, high = ends
    asked = scipy.special.ndtri(np.asarray(wanted))[:, None]
    deviate_low, deviate_high = np.full_like(low, -DEVIATE), np.full_like(high, DEVIATE)
    for step in range(steps):
        share = (asked - deviate_low) / (deviate_high - deviate_low)
        between = low + (0.5 if step % 3 == 2 else np.clip(share, 0.02, 0.98)) * (high - low)
        deviate = scipy.special.ndtri(np.clip(below_chance(mixture, middle, error, between), 1e-9, 1 - 1e-9))
        below = deviate < asked
        low, deviate_low = np.where(below, between, low), np.where(below, deviate, deviate_low)
        high, deviate_high = np.where(below, high, between), np.where(below, deviate_high, deviate)
    share = (asked - deviate_low) / np.maximum(deviate_high - deviate_low, 1e-12)
    found = np.asarray(low + np.clip(share, 0.0, 1.0) * (high - low))
    wide = np.flatnonzero((high - low > WIDE_BRACKET).any(axis=0))
    chance = below_chance(_at_some(mixture, wide), middle[:, wide], error[:, wide], found[:, wide])
    off = wide[(np.abs(scipy.special.ndtri(np.clip(chance, 1e-9, 1 - 1e-9)) - asked) > MISSED).any(axis=0)]
    if len(off):
        found[:, off] = _bisected(
            _at_some(mixture, off), middle[:, off], error[:, off], (low[:, off], high[:, off]), wanted
        )
    return found


WIDE_BRACKET = 0.5
"""% of the reference: a quantile known to less than this is drawn and told where it belongs."""
MISSED = 0.05
"""Normal deviates by which a quantile may miss its chance: less than a fiftieth at the median."""
MOST_BISECTIONS = 60
"""Halve any bracket to the precision of the numbers."""


def _at_some(mixture: Mixture, places: NDArray[np.intp]) -> Mixture:
    """Return the mixture with the weights of some of its exposures."""
    return replace(mixture, weight=mixture.weight[:, places])


def _bisected(
    mixture: Mixture,
    middle: FloatArray,
    error: FloatArray,
    bracket: tuple[FloatArray, FloatArray],
    wanted: Sequence[float],
) -> FloatArray:
    """Return the quantiles (wanted, m) within a bracket by halving it, to the thousandth of a per cent."""
    low, high = bracket
    asked = np.asarray(wanted)[:, None]
    for _ in range(MOST_BISECTIONS):
        between = 0.5 * (low + high)
        below = below_chance(mixture, middle, error, between) < asked
        low, high = np.where(below, between, low), np.where(below, high, between)
        if float((high - low).max()) < 1e-3:
            break
    return np.asarray(0.5 * (low + high))


FAR_TAIL = 0.9999
"""No quantile that is asked for lies beyond this one of every component."""
DEVIATE = 3.7190
"""The normal deviate of that tail."""


def back(middle: FloatArray) -> FloatArray:
    """Return what `logarithm` was taken of, held within what a curve can be."""
    return np.asarray(100.0 * np.exp(np.clip(middle, -700.0, 300.0) / 100.0))


def below_chance(mixture: Mixture, middle: FloatArray, error: FloatArray, level: FloatArray) -> FloatArray:
    """Return the chance that the curve lies below `level` (q, m).

    Student's distribution by a normal one of a transformed argument (Wallace 1959), good to 0.002 from three
    degrees of freedom on.
    """
    freedom, bent = mixture.freedom[:, None, None], logarithm(np.maximum(level, 1e-6))
    x = np.where(mixture.logarithmic[:, None, None], bent, level)
    x -= middle[:, None]
    x /= error[:, None]
    # In place: a seventh of the time in which a study is judged goes by here, a third of it for new arrays.
    far = x * x
    far /= freedom
    np.log1p(far, out=far)
    far *= freedom
    np.sqrt(far, out=far)
    far *= (8 * freedom + 1) / (8 * freedom + 3)
    np.copysign(far, x, out=far)
    return np.asarray(np.einsum("km,kqm->qm", mixture.weight, scipy.special.ndtr(far, out=far)))
