"""Pulling tails whose end touches the front of the next peak, the valley below 1 % of the height."""

from collections.abc import Sequence

import numpy as np

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.words.arrays import FloatArray
from tests.peaks.signals import TruePeak, as_trace, reference_curve, study_of

TIME: FloatArray = np.arange(0.0, 8.0, 1.0 / 600.0)
OLD, SILANOL = (0.55, 2.0), (0.31, 3.4)
"""Share of a peak's molecules that a worn bed, and bare silica, let go late, and their τ in σ."""
AREA, AT, SIGMA = 1440.0, 3.47, 0.0557


def tailing(area: float, at: float, sigma: float, *sites: tuple[float, float]) -> list[TruePeak]:
    """Return a peak of which each of `sites` holds a share back."""
    rest = 1.0 - sum(share for share, _ in sites)
    return [(area * rest, at, sigma, 0.0), *((area * share, at, sigma, tau * sigma) for share, tau in sites)]


def signal_of(peaks: Sequence[TruePeak]) -> FloatArray:
    """Return these peaks on a slow wave, behind the dip of an injection, with noise and rounding."""
    rng = np.random.default_rng(2)
    wave = 100.0 + 8.0 * TIME + 25.0 * np.sin(TIME / 8.0 * np.pi + 2.0)
    dip = -220.0 * np.exp(-0.5 * ((TIME - 0.8) / 0.014) ** 2)
    clean = sum((reference_curve(TIME, peak) for peak in peaks), np.zeros_like(TIME))
    return np.rint(clean + wave + dip + rng.normal(0.0, 4.5, len(TIME)))


def worn(behind: float) -> dict[str, PeakRow]:
    """Return the rows of a worn column, on which the next peak comes `behind` minutes after the base."""
    peaks = [
        *tailing(810.0, 0.92, 0.0174, OLD),
        *tailing(1260.0, 2.14, 0.0318, OLD),
        *tailing(AREA, AT, SIGMA, OLD, SILANOL),
        *tailing(1350.0, AT + behind, 0.0658, OLD, (0.02, 2.5)),
    ]
    places = {"uracil": 0.92, "neutral": 2.14, "base": AT, "next": AT + behind}
    measured = measure(study_of(places, [0.0]), {"i000": as_trace(TIME, signal_of(peaks))})
    return {marker: measured.of("i000", marker) for marker in places}


def symmetry_of(peaks: Sequence[TruePeak]) -> float:
    """Return the symmetry factor at 0.05 of the height, from the exact curve on a fine grid."""
    time = np.arange(0.0, 8.0, 1e-4)
    curve = sum((reference_curve(time, peak) for peak in peaks), np.zeros_like(time))
    above = time[curve > 0.05 * curve.max()]
    return float((above[-1] - above[0]) / (2.0 * (time[curve.argmax()] - above[0])))


def test_nothing_jumps_where_a_tail_touches_the_next_front() -> None:
    """Wherever the tail meets the front, area and symmetry stay those of the base, and none is doubted."""
    true = symmetry_of(tailing(AREA, AT, SIGMA, OLD, SILANOL))
    for behind in np.arange(1.05, 1.20, 0.02).tolist():
        row = worn(behind)["base"]
        assert abs((row.peak_area or 0.0) / AREA - 1.0) < 0.01, behind
        assert abs((row.symmetry_factor or 0.0) / true - 1.0) < 0.01, behind
        assert not row.flags, behind
