"""Peaks whose tails random stays on strong sites make, on a drifting baseline, told apart from it.

Truths: a pulse that spreads while it travels, and visits strong sites a few times by chance for stays whose
length is by chance, too (stochastic theory of chromatography, Giddings and Eyring 1955), by Fourier transform
of the characteristic function. No exponentially modified Gaussian has such a shape.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.peaks.rows.decays import told_apart
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import as_trace, study_of

STEP = 0.02
PLACES: FloatArray = np.asarray((np.arange(1 << 14) - 800) * STEP, dtype=np.float64)
"""In standard deviations of the spreading."""
TIME: FloatArray = np.arange(0.05, 5.0, 1.0 / 900.0)
MARKERS = {"uracil": 0.8, "acid": 1.6, "neutral": 2.0, "base": 3.2}
PLATES = 9000.0
HEIGHT = 60.0


@dataclass(frozen=True, eq=False, slots=True)
class Shape:
    """A peak of unit height with its apex at 0, in widths at half height."""

    place: FloatArray
    value: FloatArray
    area: float
    symmetry: float


@cache
def visited(visits: float, stays: tuple[float, ...]) -> Shape:
    """Return the peak of molecules that make so many visits, shared evenly by sites of these mean stays."""
    frequency = 2.0 * np.pi * np.fft.rfftfreq(len(PLACES), STEP)
    each = [visits / len(stays) * (1.0 / (1.0 + 1j * frequency * stay) - 1.0) for stay in stays]
    moved = np.exp(-0.5 * frequency**2 + sum(each) + 1j * frequency * PLACES[0])
    value = np.maximum(np.fft.irfft(moved, len(PLACES)), 0.0)
    top = int(value.argmax())
    value = value / value[top]

    def crossed(level: float) -> tuple[float, float]:
        a, b = top - int(np.argmax(value[top::-1] < level)), top + int(np.argmax(value[top:] < level))
        front = np.interp(level, value[a : a + 2], PLACES[a : a + 2])
        return float(front), float(np.interp(-level, -value[b - 1 : b + 1], PLACES[b - 1 : b + 1]))

    (left, right), (front, back) = crossed(0.5), crossed(0.05)
    wide, apex = right - left, float(PLACES[top])
    symmetry = (back - front) / (2.0 * (apex - front))
    return Shape((PLACES - apex) / wide, value, float(value.sum()) * STEP / wide, symmetry)


FAST = visited(1.0, (0.4,))
TAILING = (visited(0.5, (1.0, 4.0)), visited(0.7, (0.7, 1.5, 4.0, 8.0)), visited(0.4, (3.0,)))


def width_of(time: float) -> float:
    """Return the width at half height of a marker, minutes."""
    return float(time * np.sqrt(5.54 / PLATES))


def rows_of(shapes: Sequence[Shape], ratio: float, seed: int) -> dict[str, PeakRow]:
    """Return the rows of a trace on which the retained markers have these shapes, at a signal-to-noise ratio.

    The signal is in whole counts of half a standard deviation of the noise, on a drift of a wave and a slope.
    """
    noise = HEIGHT / 2.5 / ratio
    signal = 0.4 * np.sin(2.0 * np.pi * TIME / 8.0 + seed) + 0.3 * TIME
    for time, shape in zip(MARKERS.values(), (FAST, *shapes), strict=True):
        signal += HEIGHT * np.interp((TIME - time) / width_of(time), shape.place, shape.value)
    signal += np.random.default_rng(seed).normal(0.0, noise, len(TIME))
    counts = np.round(signal / (0.5 * noise)) * 0.5 * noise
    rows = measure(study_of(MARKERS, [0.0]), {"i000": as_trace(TIME, counts)}).rows
    return {row.marker: row for row in rows if row.marker != "uracil"}


def test_a_tail_of_strong_sites_is_no_baseline() -> None:
    """Symmetry factor (to 0.03) and area (to 2 %) hold tails that end under the next peak."""
    for seed in (1, 2, 3):
        rows = rows_of(TAILING, 600.0, seed)
        for shape, (marker, row) in zip(TAILING, rows.items(), strict=True):
            area = HEIGHT * width_of(MARKERS[marker]) * shape.area
            assert row.symmetry_factor is not None
            assert row.symmetry_factor == pytest.approx(shape.symmetry, abs=0.03), marker
            assert row.peak_area == pytest.approx(area, rel=0.02), marker


def test_symmetry_factors_of_slow_tails_scatter_as_they_say() -> None:
    """At signal-to-noise ratios of 60 to 400 nine errors of ten are within two standard errors."""
    off = []
    for seed, ratio in enumerate((60.0, 100.0, 200.0, 400.0) * 3):
        rows = rows_of(TAILING, ratio, seed)
        for shape, row in zip(TAILING, rows.values(), strict=True):
            assert row.symmetry_factor is not None
            assert row.symmetry_factor_se is not None
            off.append((row.symmetry_factor - shape.symmetry) / row.symmetry_factor_se)
    assert np.mean(np.abs(off) < 2.0) >= 0.9
    assert abs(np.median(off)) < 1.0


def test_peaks_of_fast_sites_alone_are_left_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where tails end as their curves do nothing is told apart, and every row is the same."""
    seen = rows_of((FAST, FAST, FAST), 300.0, 5)
    monkeypatch.setattr("lyewitness.peaks.measuring.ground_of", lambda _: None)
    assert rows_of((FAST, FAST, FAST), 300.0, 5) == seen


def test_decays_are_told_apart_from_a_bent_line() -> None:
    """A known decay on a slow wave is found within its standard error, and a wave alone gains nothing."""
    at = np.linspace(0.0, 1.0, 300)
    knots = np.maximum(1.0 - np.abs(at[:, None] - np.linspace(0.0, 1.0, 20)) * 19.0, 0.0)
    decays = np.exp(-np.maximum(at - 0.4, 0.0)[:, None] / [0.02, 0.06, 0.2]) * (at > 0.4)[:, None]
    wave = 3.0 * np.sin(2.0 * at) + np.random.default_rng(2).normal(0.0, 0.05, len(at))
    pull = np.full(3, 1e-6)
    both = told_apart(knots, decays, pull, wave + decays @ [0.0, 2.0, 0.0], wave + decays @ [0.0, 2.0, 0.0])
    area = np.array([0.02, 0.06, 0.2])
    error = float(np.sqrt(area @ both.covariance[20:, 20:] @ area))
    assert both.gain > 25.0
    assert abs(float(area @ both.amounts) - 0.12) < 3.0 * error
    assert (both.amounts >= 0.0).all()
    assert told_apart(knots, decays, pull, wave, wave).gain < 5.0
