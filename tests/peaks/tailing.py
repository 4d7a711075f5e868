"""Series of an ageing column whose peaks tail as no exponential does, alone or with a stranger beside one.

`python -m tests.peaks.tailing [--seeds 900 906] [--resolution 0.8 1.5]` counts clean peaks that are called
split or foreign, and strangers that are found. Shapes: two-site kinetics (mass balance of a fast and a slow
site, by Fourier transform), Langmuir tailing (Haarhoff and Van der Linde's solution of the mass balance for a
slightly bent isotherm), log-normal, bi-Gaussian, gamma, and the sum of two log-normals of a worn bed.
"""

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import erf

from lyewitness.peaks.measuring import measure
from lyewitness.study.records import Study
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import as_trace, study_of

PLACES = np.linspace(-30.0, 90.0, 30001)


def _bent(place: FloatArray, wide: float, bent: float) -> FloatArray:
    """Return a log-normal of unit height and this width at half height."""
    inside = 1.0 + 2.0 * bent * place / wide
    return np.where(
        inside > 1e-9, np.exp(-np.log(2.0) / bent**2 * np.log(np.maximum(inside, 1e-9)) ** 2), 0.0
    )


def lognormal(bent: float) -> FloatArray:
    """Return a log-normal."""
    return _bent(PLACES, 1.0, max(bent, 0.02))


def bigaussian(bent: float) -> FloatArray:
    """Return two half Gaussians."""
    return np.asarray(np.exp(-0.5 * (PLACES / np.where(PLACES < 0.0, 1.0, 1.0 + 2.2 * bent)) ** 2))


def gamma(bent: float) -> FloatArray:
    """Return a gamma distribution."""
    shape = max(0.75 * bent, 0.02) ** -2.0
    time = np.maximum(PLACES / np.sqrt(shape) + 1.0, 1e-12)
    return np.asarray(np.exp((shape - 1.0) * np.log(time) - shape * (time - 1.0)))


def two_sites(bent: float) -> FloatArray:
    """Return what fast exchange makes of a pulse that visits a slow site a few times, for random stays."""
    visits, stay, step = 5.0 - 4.0 * bent, 0.25 + 2.2 * bent, PLACES[1] - PLACES[0]
    frequency = 2.0 * np.pi * np.fft.rfftfreq(len(PLACES), step)
    moved = np.exp(-0.5 * frequency**2 + visits * (1.0 / (1.0 + 1j * frequency * stay) - 1.0))
    return np.maximum(np.fft.irfft(moved * np.exp(1j * frequency * PLACES[0]), len(PLACES)), 0.0)


def langmuir(bent: float) -> FloatArray:
    """Return the peak of an overloaded column."""
    load = max(16.0 * bent, 0.05)
    return np.asarray(
        np.exp(-0.5 * PLACES**2) / (1.0 / np.expm1(load) + 0.5 * (1.0 + erf(PLACES / np.sqrt(2.0))))
    )


def worn(bent: float) -> FloatArray:
    """Return a peak with a broad part behind it, which grows as the bed wears."""
    return (1.0 - bent / 2.0) * _bent(PLACES, 1.0, 0.08) + bent / 2.0 * _bent(PLACES - 0.45, 2.3, 0.38)


SHAPES: dict[str, Callable[[float], FloatArray]] = {
    one.__name__: one for one in (lognormal, bigaussian, gamma, two_sites, langmuir, worn)
}


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """A peak of unit height, with its apex at 0, in widths at half height."""

    place: FloatArray
    value: FloatArray
    area: float
    symmetry: float


@cache
def shape(kind: str, bent: float) -> Shape:
    """Return one shape, measured on its own samples."""
    value = SHAPES[kind](bent)
    top = int(value.argmax())
    value = value / value[top]

    def crossed(level: float) -> tuple[float, float]:
        before = float(np.interp(level, value[: top + 1], PLACES[: top + 1]))
        return before, float(np.interp(-level, -value[top:], PLACES[top:]))

    (left, right), (front, back) = crossed(0.5), crossed(0.05)
    wide, apex = right - left, float(PLACES[top])
    area = float(value.sum() * (PLACES[1] - PLACES[0])) / wide
    return Shape((PLACES - apex) / wide, value, area, (back - front) / (2.0 * (apex - front)))


@cache
def _symmetries(kind: str) -> tuple[FloatArray, FloatArray]:
    """Return how far a kind can be bent, and its symmetry factor then."""
    bent = np.linspace(0.0, 0.75, 26)
    return bent, np.maximum.accumulate([shape(kind, float(one)).symmetry for one in bent])


def tailing(kind: str, symmetry: float) -> Shape:
    """Return the shape of this symmetry factor."""
    bent, known = _symmetries(kind)
    return shape(kind, round(float(np.interp(symmetry, known, bent)), 3))


MARKERS = {"void": 0.73, "acid": 1.4, "neutral": 3.05, "base": 4.3}
INJECTIONS = 12
HEIGHT = 60.0
TIME = np.arange(0.05, 6.6, 1.0 / 600.0)


@dataclass(frozen=True, slots=True)
class Stranger:
    """What elutes beside a marker from one injection on."""

    marker: str
    resolution: float
    """Negative before the marker."""
    share: float
    """Of the marker's area."""
    since: int


@dataclass(frozen=True, eq=False, slots=True)
class Series:
    """One column's traces with what is true of them."""

    study: Study
    traces: dict[str, Trace]
    apexes: dict[tuple[str, str], tuple[float, float]]
    """By injection and marker: retention time and width at half height, minutes."""
    stranger: Stranger | None


APART = (0.8, 1.5)
"""Resolution of a stranger from its marker."""


def series(kind: str, seed: int, with_stranger: bool, apart: tuple[float, float] = APART) -> Series:
    """Return an ageing column: plates and retention fall, tails grow, areas creep or stay, the bed jumps."""
    rng = np.random.default_rng([seed, sorted(SHAPES).index(kind), int(with_stranger)])
    base = np.array(list(MARKERS.values())) * rng.uniform(0.95, 1.05)
    plates = np.array([5000.0, 7500.0, 11500.0, 8000.0]) * rng.uniform(0.5, 1.2)
    fresh = np.array([1.05, 1.08, 1.12, 1.35]) + rng.uniform(-0.02, 0.15, 4) * [0.3, 0.3, 1.0, 1.5]
    gained = np.array([0.02, 0.05, rng.uniform(0.0, 0.4), rng.uniform(0.1, 0.9)])
    lost = np.array([0.1, 0.3, rng.uniform(0.1, 0.5), rng.uniform(0.2, 0.6)])
    moved = np.array([0.0, -0.01, -0.04, rng.uniform(-0.06, 0.03)])
    creep = rng.uniform(0.0, 0.18, 4) * (rng.uniform() < 0.5)
    jump, quiet = rng.uniform(0.0, 0.06), float(np.exp(rng.uniform(np.log(100.0), np.log(1500.0))))
    # Height ÷ standard deviation is 2.5 × the signal-to-noise ratio of pharmacopoeias.
    noise = HEIGHT / 2.5 / (100.0 if with_stranger else quiet)
    stranger = Stranger(
        ("neutral", "base")[int(rng.integers(2))],
        float(rng.choice([-1.0, 1.0]) * rng.uniform(*apart)),
        float(np.exp(rng.uniform(np.log(0.03), np.log(0.15)))),
        int(rng.integers(4, 9)),
    )
    traces, apexes = {}, {}
    for place in range(INJECTIONS):
        name = f"i{place:03d}"
        wear = float(np.clip(place / (INJECTIONS - 1) + rng.normal(0.0, jump) * (place > 0), 0.0, 1.1))
        signal, volume = 0.02 * TIME + rng.normal(0.0, noise, len(TIME)), rng.normal(1.0, 0.006)
        for m, marker in enumerate(MARKERS):
            time = base[m] * (1.0 + moved[m] * wear) * rng.normal(1.0, 0.0006)
            wide = time * np.sqrt(5.54 / (plates[m] * (1.0 - lost[m] * wear)))
            was, now = tailing(kind, fresh[m]), tailing(kind, fresh[m] + gained[m] * wear)
            injected = HEIGHT * base[m] * np.sqrt(5.54 / plates[m]) * was.area * volume
            height = injected * (1.0 + creep[m] * wear) / (now.area * wide)
            apexes[name, marker] = (time, wide)
            tops = [(time, height)]
            if with_stranger and marker == stranger.marker and place >= stranger.since:
                tops.append((time + stranger.resolution * 2.0 * wide / 1.18, stranger.share * height))
            for apex, tall in tops:
                signal += tall * np.interp((TIME - apex) / wide, now.place, now.value, left=0.0, right=0.0)
        traces[name] = as_trace(TIME, np.round(signal, 4), f"{name}.csv")
    study = study_of(MARKERS, [0.3 + 6.0 * place for place in range(INJECTIONS)], void="void")
    return Series(study, traces, apexes, stranger if with_stranger else None)


CALLED = {"split", "merged", "stranger"}


@dataclass(slots=True)
class Count:
    """How peaks were taken."""

    clean: int = 0
    called: int = 0
    """Clean peaks that are said to be split, merged or to hold a stranger …"""
    foreign: int = 0
    """… or beside which a peak of no marker is reported that is not there."""
    strangers: int = 0
    found: int = 0
    """Strangers that are reported as a peak, or whose marker is said not to be alone."""


def counted(
    kinds: Sequence[str], seeds: Sequence[int], with_stranger: bool, apart: tuple[float, float] = APART
) -> Count:
    """Return the count over the series of these kinds and seeds."""
    total = Count()
    for one in (series(kind, seed, with_stranger, apart) for kind in kinds for seed in seeds):
        _count(one, total)
    return total


def _count(one: Series, total: Count) -> None:
    """Add one series to the count."""
    measured = measure(one.study, one.traces)
    for row in measured.rows:
        time, wide = one.apexes[row.injection, row.marker]
        nameless = [peak.apex_min for peak in measured.unassigned[row.injection]]
        is_called = not row.found or bool(CALLED & set(row.flags))
        stranger = one.stranger
        if stranger and stranger.marker == row.marker and int(row.injection[1:]) >= stranger.since:
            apex = time + stranger.resolution * 2.0 * wide / 1.18
            total.strangers += 1
            total.found += is_called or any(abs(seen - apex) < 0.5 * wide for seen in nameless)
            continue
        total.clean += 1
        total.called += is_called
        total.foreign += any(abs(seen - time) < 4.0 * wide for seen in nameless)


def main() -> None:
    """Print the counts by shape."""
    parser = argparse.ArgumentParser(prog="tailing", description=__doc__)
    parser.add_argument("--seeds", type=int, nargs=2, default=(900, 906))
    parser.add_argument("--resolution", type=float, nargs=2, default=APART)
    told = parser.parse_args()
    seeds, apart = range(*told.seeds), tuple(told.resolution)
    for kind in SHAPES:
        print(kind, counted([kind], seeds, False), counted([kind], seeds, True, apart))


if __name__ == "__main__":
    main()
