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
LOG_PRIOR = np.array([node.log_prior for node in NODES])


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
    white: FloatArray
    """(N, n, columns) whitened columns of the family."""
    gram: FloatArray
    """(N, columns, 2) their products with the first two."""
    own: FloatArray
    """(N, shapes) squares of what a shape's last column has that no other of its columns has."""
    size: FloatArray
    """(N, shapes) log of the root of the determinants; of a shape that shows nothing, ∞."""
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
    whole_square = np.einsum("kic,kic->kc", white, white)
    first, lined = gram[:, 0, 0, None], shapes.with_line
    inner = whole_square - gram[:, :, 0] ** 2 / first
    slope = inner[:, 1, None]
    beside_line = inner[:, lined] - _beside_level(gram)[:, lined] ** 2 / slope
    square = np.concatenate([inner[:, shapes.single], beside_line], axis=1)
    bears = square > BEARS * np.concatenate([whole_square[:, shapes.single], whole_square[:, lined]], axis=1)
    safe = np.where(bears, square, 1.0)
    levels = np.repeat(np.log(first), square.shape[1], axis=1)
    levels[:, shapes.single.stop - 1 :] += np.log(slope)
    spread = np.concatenate([np.log(first), np.where(bears, levels + np.log(safe), np.inf)], axis=1)
    size = np.log(diagonal).sum(axis=1)[:, None] + 0.5 * spread
    own = np.concatenate([np.ones_like(first), safe], axis=1)
    return Ground(shapes, inverse, white, gram, own, size, independent)


BEARS = 1e-7
"""Share of its square that a column must have for itself to be told from the others of its shape."""


def _beside_level(gram: FloatArray) -> FloatArray:
    """Return (N, columns) the products of columns with the line without what either has of the level."""
    return np.asarray(gram[:, :, 1] - gram[:, :, 0] * (gram[:, 1, 0] / gram[:, 0, 0])[:, None])


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
    white = base.whitener @ right
    squares, seen = np.einsum("kir,kir->kr", white, white), _looks(base, white)
    noises, per = len(NOISES), len(NODES) // len(NOISES)
    found = []
    for number in range(many):
        scales = []
        for place in (number, many + number):
            rest = _rest(base, seen[place], seen[place], squares[:, place])
            scales.append(_log_likelihood(base, rest, n))
        scales[1] += jacobian[number]
        own = np.stack(scales, axis=-1)
        flat = own.reshape(noises, -1)
        most = flat.max(axis=1)
        shares = [np.exp(one.reshape(noises, -1) - most[:, None]).sum(axis=1) for one in scales]
        total = most + np.log(shares[0] + shares[1])
        best = np.argpartition(-flat, MOST_OF_A_NOISE, axis=1)[:, :MOST_OF_A_NOISE]
        of, node, shape, scale = np.unravel_index(
            (best + flat.shape[1] * np.arange(noises)[:, None]).ravel(), (noises, per, *own.shape[1:])
        )
        parts = np.stack([scale, of * per + node, shape], axis=1)
        found.append(Weighed(np.take_along_axis(flat, best, axis=1).ravel(), parts, total))
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
    scales = [y, logarithm(y)] if positive else [y]
    units = np.eye(n)[:, list(left_out)]
    white = base.whitener @ np.column_stack([*scales, units])
    products, seen = np.swapaxes(white, 1, 2) @ white, _looks(base, white)

    def rest(one: int, other: int) -> FloatArray:
        return _rest(base, seen[one], seen[other], products[:, one, other])

    squares, believed = [rest(one, one) for one in range(len(scales))], belief[OF_NODE][:, None]
    found = []
    for unit, place in enumerate(left_out, len(scales)):
        precision = np.maximum(rest(unit, unit), LEAST_PRECISION)
        size = believed - 0.5 * np.log(precision)
        rows = []
        for number, square in enumerate(squares):
            taken = rest(number, unit)
            taken *= taken
            taken /= precision
            row = _log_likelihood(base, np.subtract(square, taken, out=taken), n, left_out=1)
            row += size
            if number:
                jacobian = np.log(100.0 / y)
                row += jacobian.sum() - jacobian[place]
            rows.append(row)
        most = max(row.max() for row in rows)
        found.append(most + np.log(sum(np.exp(row - most).sum() for row in rows)))
    return np.array(found)


LEAST_PRECISION = 1e-12
"""Of an injection that a shape fits whatever it may be."""


@dataclass(frozen=True, eq=False, slots=True)
class _Look:
    """One series, or one injection by itself, as the shapes see it at every node."""

    level: FloatArray
    """(N,) product with the level."""
    slope: FloatArray
    """(N,) with what the line has that the level has not."""
    last: FloatArray
    """(N, shapes) with what each shape's last column has for itself; 0 of the level alone."""


def _looks(base: Ground, white: FloatArray) -> list[_Look]:
    """Return each of the whitened values `white` (N, n, R) as the shapes see it."""
    shapes, gram = base.family, base.gram
    products = np.swapaxes(base.white, 1, 2) @ white
    line = _beside_level(gram)[:, shapes.with_line]
    found = []
    for number in range(white.shape[2]):
        cross = np.ascontiguousarray(products[:, :, number])
        level = cross[:, 0]
        meet = cross - gram[:, :, 0] * (level / gram[:, 0, 0])[:, None]
        meet[:, 0] = 0.0
        slope = meet[:, 1]
        beside = meet[:, shapes.with_line] - line * (slope / base.own[:, 1])[:, None]
        found.append(_Look(level, slope, np.concatenate([meet, beside], axis=1)))
    return found


def _rest(base: Ground, one: _Look, other: _Look, product: FloatArray) -> FloatArray:
    """Return (N, shapes) what is left of a `product` (N,) of two after each shape was taken out of both."""
    # The shapes with one column beside the level come first, each by the number of its column.
    lined = base.family.single.stop
    level = product - one.level * other.level / base.gram[:, 0, 0]
    line = level - one.slope * other.slope / base.own[:, 1]
    rest = one.last * other.last
    rest /= base.own
    np.subtract(level[:, None], rest[:, :lined], out=rest[:, :lined])
    np.subtract(line[:, None], rest[:, lined:], out=rest[:, lined:])
    return rest


def _log_likelihood(base: Ground, squares: FloatArray, n: int, left_out: int = 0) -> FloatArray:
    """Return the restricted log-likelihood × prior with the noise's variance integrated out.

    `squares` (N, shapes) are what the shapes leave of the values; they are written over.
    """
    half = (n - left_out - np.array([len(one) for one in base.family.members])) / 2
    np.maximum(squares, 0.0, out=squares)
    squares += n * LEAST_NOISE**2
    squares *= np.pi
    np.log(squares, out=squares)
    squares *= half
    np.subtract(scipy.special.gammaln(half) - base.size, squares, out=squares)
    squares += LOG_PRIOR[:, None]
    squares += base.family.log_prior
    return squares


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
