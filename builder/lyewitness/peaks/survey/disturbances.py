"""What no column makes: spikes of one to three samples, and edges at which the level jumps.

In: the signal of a trace and its noise. Out: the signal without them, and what was taken out. An edge is the
step of a lamp, which stays, or a bubble's, after which the level comes back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.survey.tops import MOST_PLATES
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
FLANK, DEPTH = 0.65, 0.5
"""A drop-out on a flank, whose sides differ by this share of their span (a straight one's by 0.7), lies below
both of its neighbours by this share of what it leaves the cubic by: valleys have like sides, or a low one."""
WIDEST = 3
"""Samples; what is wider may be a peak."""
ABOUT_HIGHEST = 0.8
"""Of a spike of several samples the middle one need not be the highest."""
# Times that are rounded, or stamped by a busy computer, scatter by half a step.
MISSING = 1.7
"""A step so many times the usual one has points missing."""
# A shorter signal has too little noise to hold a spike against.
LEAST_SAMPLES = 30


def without_spikes(
    signal: FloatArray, noise_sd: float, time: FloatArray | None = None
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the signal without spikes, and the index of the middle of each that was taken out.

    `time` tells where points are missing; without it they are as far apart everywhere.
    """
    if len(signal) < LEAST_SAMPLES:
        return signal, np.zeros(0, dtype=np.intp)
    suspects = _suspects(signal, noise_sd)
    if not len(suspects):
        return signal, suspects
    even = np.arange(float(len(signal)))
    return _replaced(even if time is None else time, signal, noise_sd, suspects)


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
    time: FloatArray, signal: FloatArray, noise_sd: float, suspects: NDArray[np.intp]
) -> tuple[FloatArray, NDArray[np.intp]]:
    """Return the signal with every suspect that no cubic explains replaced by the cubic."""
    beside = signal[suspects[:, None] + BESIDE.astype(np.intp)]
    inside, own = _cubic(np.arange(-5.0, 6.0))
    told, rest = beside @ inside.T, beside - beside @ own.T
    for place in _beside_missing(time, suspects):
        window = time[suspects[place] - 5 : suspects[place] + 6]
        inside, own = _cubic(10.0 * (window - window[5]) / (window[-1] - window[0]))
        told[place], rest[place] = inside @ beside[place], beside[place] - own @ beside[place]
    off = signal[suspects[:, None] + np.arange(-1, 2)] - told
    # What the cubic leaves of its own neighbours tells how well it knows the sample between them.
    rest = np.abs(rest).max(axis=1)
    spans = beside.max(axis=1) - beside.min(axis=1)
    odd = np.abs(off[:, 1])
    up, down = beside[:, 3] - beside[:, 0], beside[:, 4] - beside[:, 7]
    # Beside a sharp top the cubic overshoots: there what lies below it is as little of a spike.
    rise = np.where(off[:, 1] > 0, np.minimum(up, down), np.maximum(np.abs(up), np.abs(down)))
    rise = np.where(_drops_out(signal[suspects[:, None] + np.arange(-1, 2)], off[:, 1], beside), 0.0, rise)
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


def _drops_out(own: FloatArray, off: FloatArray, beside: FloatArray) -> NDArray[np.bool_]:
    """Tell whether a sample of a flank lies below both of its neighbours, as none does."""
    left, right = np.maximum(own[:, 0], beside[:, 3]), np.maximum(own[:, 2], beside[:, 4])
    below = np.minimum(left, right) - own[:, 1]
    falls = np.abs(beside[:, :4].mean(axis=1) - beside[:, 4:].mean(axis=1))
    on_flank = falls > FLANK * (beside.max(axis=1) - beside.min(axis=1))
    return np.asarray((off < 0.0) & (below > DEPTH * np.abs(off)) & on_flank)


def _cubic(window: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what takes the neighbours to the three samples amid a window of eleven, and to themselves."""
    beside = window[5 + BESIDE.astype(np.intp)]
    terms = np.vander(beside, 4, increasing=True)
    inverse = np.linalg.pinv(terms)
    return np.vander(window[4:7], 4, increasing=True) @ inverse, terms @ inverse


def _beside_missing(time: FloatArray, suspects: NDArray[np.intp]) -> list[int]:
    """Return which suspects have missing points about them: a flank goes on meanwhile, and seems to jump."""
    steps = np.diff(time)[suspects[:, None] + np.arange(-5, 5)]
    return np.flatnonzero(steps.max(axis=1) > MISSING * np.median(steps, axis=1)).tolist()


@dataclass(frozen=True, slots=True)
class Edge:
    """A jump of the level from one sample to the next but one."""

    time_min: float
    stays: float
    """By how much the level is another one from then on, signal unit …"""
    passing: float = 0.0
    """… and by how much for a while, …"""
    return_min: float = inf
    """… of which 1/e is left after this time."""

    @property
    def size(self) -> float:
        """Return by how much the level jumps, signal unit."""
        return self.stays + self.passing

    @property
    def over_min(self) -> float:
        """Return when nothing of it passes any more."""
        return self.time_min + MOST_RETURNS * self.return_min if self.passing else self.time_min

    def at(self, time: FloatArray) -> FloatArray:
        """Return what it adds to the signal at `time`, minutes."""
        stays, passing = self._parts(time)
        return self.stays * stays + self.passing * passing

    def slopes(self, time: FloatArray) -> FloatArray:
        """Return (e, n) what changes where any of it is a little larger, or passes a little later."""
        stays, passing = self._parts(time)
        slow = passing * np.maximum(time - self.time_min, 0.0) / self.return_min
        used = [(self.stays, stays), (self.passing, passing), (self.passing, slow)]
        return np.stack([slope for size, slope in used if size])

    def _parts(self, time: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the unit step, and what is left of one that passes."""
        since = time - self.time_min
        return (since > 0.0).astype(np.float64), np.where(
            since > 0.0, np.exp(-np.maximum(since, 0.0) / self.return_min), 0.0
        )


MOST_RETURNS = 7.0
"""Less than a thousandth of what passes is left by then."""


def edges_at(edges: Sequence[Edge], time: FloatArray) -> FloatArray:
    """Return what all `edges` add to the signal at `time`."""
    return sum((edge.at(time) for edge in edges), np.zeros_like(time))


ARM = 9
"""Samples to both sides in which an edge is told from a flank; that at the edge itself may lie between."""
BETTER = 6.0
"""A cubic with a jump and a kink leaves so many times less than a polynomial with as many coefficients. At a
peak it is 4.2 times at most, however sharp: of Gaussians with and without tails from σ = 0.7 samples on …"""
SMOOTH, BETTER_THAN_SMOOTH = 5.0, 1.6
"""… but 0.6 times at most from σ = 5 samples on: where no column makes a sharper one, noise alone matters."""
EDGE_IN_NOISE = 14.0
"""Noise of a sample: nine standard deviations of a jump as these samples tell it."""
SEEN = 0.5
"""Share of the jump by which the samples beside it move: a kink moves a polynomial, not its neighbours."""
ROUGH = 0.02
"""Share of a jump that may be left beside it beyond noise: more is a kink, as where a detector ends."""
AGREE = 0.2
"""A jump is as large, up to this share, however far around it is looked."""
BETTER_THAN_KINKED = 2.5
"""Times less that it leaves than a cubic with a bend and a kink …"""
KINKS = (-0.3, -0.1, 0.1, 0.3)
"""… within these arms, as where a flank meets the end of the detector."""
MOST_EDGES = 8
"""Of a trace with more of them nothing is known."""
LONGER_ARMS = (1.0, 1.6, 2.5, 4.0, 6.0, 9.0)
"""How fast the level comes back is read off as many arms as a polynomial describes."""
RETURNS = np.geomspace(0.3, 9.0, 25)
"""Arms in which 1 − 1/e of it is back; what takes much longer than is looked at is as well a flank."""
SEEN_FOR = 1.5
"""Times as long as is looked at a return may take."""
CLEARLY = 1.2
"""What is more than a step that stays leaves so many times less than it."""
PLACES = np.concatenate([np.arange(-ARM, 0), np.arange(1, ARM + 1)])


def _rest_of(terms: FloatArray) -> FloatArray:
    """Return the matrix that takes the best sum of `terms` (n, k) off a signal."""
    return np.asarray(np.eye(len(terms)) - terms @ np.linalg.pinv(terms))


def _powers(x: FloatArray) -> FloatArray:
    """Return (n, 6) the powers of x."""
    return np.vander(x, 6, increasing=True)


def _broken(x: FloatArray) -> FloatArray:
    """Return (n, 6) cubic, jump and kink at 0."""
    return np.column_stack([_powers(x)[:, :4], x > 0.0, np.maximum(x, 0.0)])


BROKEN = np.linalg.pinv(_broken(PLACES / ARM))
LEFT_SMOOTH, LEFT_BROKEN = _rest_of(_powers(PLACES / ARM)), _rest_of(_broken(PLACES / ARM))


def without_edges(
    time: FloatArray, signal: FloatArray, noise_sd: float
) -> tuple[FloatArray, tuple[Edge, ...]]:
    """Return the signal without its edges, and these in the order of time."""
    if len(signal) < LEAST_SAMPLES:
        return signal, ()
    clean, found = signal, list[Edge]()
    for _ in range(MOST_EDGES + 1):
        edge = _clearest_edge(time, clean, noise_sd)
        if edge is None:
            return clean, tuple(sorted(found, key=lambda one: one.time_min))
        found.append(edge)
        clean = _taken_off(time, clean, edge)
    return signal, ()


def _clearest_edge(time: FloatArray, signal: FloatArray, noise_sd: float) -> Edge | None:
    """Return the largest edge that nothing smooth explains; None without any."""
    least = max(EDGE_IN_NOISE * noise_sd, 1e-9 * float(np.abs(signal).max()))
    places, moved = _moves(signal, SEEN * least)
    beside = signal[places[:, None] + PLACES]
    size = beside @ BROKEN[4]
    is_seen = (moved * np.sign(size) > SEEN * np.abs(size)) & (np.abs(size) > least)
    places, beside, size = places[is_seen], beside[is_seen], size[is_seen]
    smooth, broken = (_rms(beside @ left) for left in (LEFT_SMOOTH, LEFT_BROKEN))
    sure = smooth > _better(time, places) * np.maximum(broken, 0.5 * noise_sd)
    for place in places[sure][np.argsort(-np.abs(size[sure]))].tolist():
        edge = _edge_at(time, signal, place, noise_sd)
        seen = float(signal[place + PLACES] @ BROKEN[4])
        if edge is not None and abs(edge.size - seen) < AGREE * abs(seen):
            return edge
    return None


def _rms(rest: FloatArray) -> FloatArray:
    """Return the root mean square of each row."""
    return np.asarray(np.sqrt((rest * rest).mean(axis=1)))


def _moves(signal: FloatArray, least: float) -> tuple[NDArray[np.intp], FloatArray]:
    """Return the samples across which the signal moves otherwise than beside them, and by how much."""
    before, behind = signal[ARM - 1 : -ARM - 1], signal[ARM + 1 : len(signal) - ARM + 1]
    slope = (before - signal[: -2 * ARM] + signal[2 * ARM :] - behind) / (ARM - 1.0)
    moved = behind - before - slope
    found = np.flatnonzero(np.abs(moved) > least)
    return found + ARM, moved[found]


def _edge_at(time: FloatArray, signal: FloatArray, place: int, noise_sd: float) -> Edge | None:
    """Return the edge at a sample, by the true times; None where these explain it, or a cut top does."""
    found = None
    for longer in LONGER_ARMS:
        arm = int(longer * ARM)
        places = place + np.concatenate([np.arange(-arm, 0), np.arange(1, arm + 1)])
        if places[0] < 0 or places[-1] >= len(signal):
            break
        reach = float(max(time[place] - time[places[0]], time[places[-1]] - time[place]))
        x, own = (time[places] - time[place]) / reach, signal[places]
        if np.count_nonzero(own == signal.max()) >= WIDEST:
            return None
        if found is None and not _is_broken(x, own, noise_sd, float(_better(time, np.array([place]))[0])):
            return None
        rest, stays, passing, back = _course_of(x, own, longer)
        if found is None and rest > 1.5 * noise_sd + ROUGH * abs(stays + passing):
            return None
        # A polynomial that describes more of a flank no longer, or less, tells nothing.
        if found is not None and rest > 1.1 * max(noise_sd, found[0]):
            continue
        found = rest, Edge(float(time[place]), stays, passing, back * reach)
    return None if found is None else found[1]


def _better(time: FloatArray, places: NDArray[np.intp]) -> FloatArray:
    """Return how many times better a jump has to be than a smooth curve, at each of some samples."""
    step = float(time[-1] - time[0]) / (len(time) - 1)
    is_smooth = time[places] > SMOOTH * step * np.sqrt(MOST_PLATES)
    return np.where(is_smooth, BETTER_THAN_SMOOTH, BETTER)


def _is_broken(x: FloatArray, own: FloatArray, noise_sd: float, better: float) -> bool:
    """Tell whether a jump explains samples at x that neither a smooth curve nor a mere kink explains."""
    left = max(_told(_broken(x), own)[0], 0.5 * noise_sd)
    kinks = [np.column_stack([_powers(x)[:, :5], np.maximum(x - at, 0.0)]) for at in KINKS]
    kinked = min(_told(terms, own)[0] for terms in kinks)
    return _told(_powers(x), own)[0] > better * left and kinked > BETTER_THAN_KINKED * left


def _course_of(x: FloatArray, own: FloatArray, arms: float) -> tuple[float, float, float, float]:
    """Return what the best course leaves, how much of it stays, how much passes, and how fast as x.

    The plainest one counts that nothing clearly betters: a step, what passes whole, both.
    """
    # As many samples of a flank as the first look takes in are plainer than more of them.
    smooth = _powers(x) if arms <= 1.0 else np.vander(x, 8)
    after, since = (x > 0.0).astype(np.float64), np.maximum(x, 0.0)
    rest, told = _told(np.column_stack([smooth, after]), own)
    best = rest, float(told[-1]), 0.0, inf
    gone = [
        (back / arms, after * np.exp(-since * arms / back))
        for back in RETURNS.tolist()
        if back <= SEEN_FOR * arms
    ]
    whole = [(_told(np.column_stack([smooth, part]), own), back) for back, part in gone]
    both = [(_told(np.column_stack([smooth, after, part]), own), back) for back, part in gone]
    least = rest
    for courses, kept in ((whole, 0.0), (both, 1.0)):
        (rest, told), back = min(courses, key=lambda course: course[0][0])
        stays, passing = kept * float(told[-2]), float(told[-1])
        # A small jump is no difference of two large ones.
        if least > CLEARLY * rest and stays * passing >= 0.0:
            best = rest, stays, passing, back
        least = min(least, rest)
    return best


def _told(terms: FloatArray, own: FloatArray) -> tuple[float, FloatArray]:
    """Return the root mean square of what the best sum of `terms` leaves, and their shares."""
    told = np.linalg.pinv(terms) @ own
    rest = own - terms @ told
    return float(np.sqrt(rest @ rest / len(rest))), told


def _taken_off(time: FloatArray, signal: FloatArray, edge: Edge) -> FloatArray:
    """Return the signal without the edge; the sample amid it lies between its neighbours."""
    clean = signal - edge.at(time)
    at = int(time.searchsorted(edge.time_min))
    x = (time[at + PLACES] - time[at]) / (time[at + ARM] - time[at])
    clean[at] = (np.linalg.pinv(_powers(x)) @ clean[at + PLACES])[0]
    return clean
