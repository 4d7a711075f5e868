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
NEXT_AREA = 1350.0


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


def base(area: float = AREA) -> list[TruePeak]:
    """Return the base of a worn column."""
    return tailing(area, AT, SIGMA, OLD, SILANOL)


def worn(
    behind: float, own: Sequence[TruePeak], next_sites: Sequence[tuple[float, float]] = (OLD, (0.02, 2.5))
) -> dict[str, PeakRow]:
    """Return the rows of a worn column, on which the next peak comes `behind` minutes after the base."""
    peaks = [
        *tailing(810.0, 0.92, 0.0174, OLD),
        *tailing(1260.0, 2.14, 0.0318, OLD),
        *own,
        *tailing(NEXT_AREA, AT + behind, 0.0658, *next_sites),
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
    true = symmetry_of(base())
    for behind in np.arange(1.05, 1.20, 0.02).tolist():
        row = worn(behind, base())["base"]
        assert abs((row.peak_area or 0.0) / AREA - 1.0) < 0.01, behind
        assert abs((row.symmetry_factor or 0.0) / true - 1.0) < 0.01, behind
        assert not row.flags, behind


def test_errors_hold_what_the_next_front_leaves_open() -> None:
    """From a resolution of 2 on areas and symmetry factors of both peaks are as far off as they say."""
    symmetry = {"base": symmetry_of(base())}
    symmetry["next"] = symmetry_of(tailing(NEXT_AREA, AT, 0.0658, OLD, (0.02, 2.5)))
    areas = {"base": AREA, "next": NEXT_AREA}
    for behind in np.arange(0.55, 1.05, 0.1).tolist():
        rows = worn(behind, base())
        for marker, true in symmetry.items():
            row = rows[marker]
            off = abs((row.symmetry_factor or 0.0) - true)
            assert off < 2.0 * (row.symmetry_factor_se or 0.0), (marker, behind)
            assert abs((row.peak_area or 0.0) - areas[marker]) < 2.0 * (row.peak_area_se or 0.0), (
                marker,
                behind,
            )


def test_what_is_left_of_the_next_front_is_not_part_of_a_small_tail() -> None:
    """A peak a fifth as large as the next one keeps symmetry and area, though no curve has that front."""
    own = tailing(300.0, AT, SIGMA, (1.0, 3.0))
    row = worn(0.9, own, [(0.5, 3.0)])["base"]
    assert abs((row.symmetry_factor or 0.0) / symmetry_of(own) - 1.0) < 0.02
    assert abs((row.peak_area or 0.0) / 300.0 - 1.0) < 0.02


def test_a_peak_whose_curve_holds_its_tail_is_no_stranger() -> None:
    """Where fits of worn peaks lose their tails bit by bit, one that loses none holds no more than before."""
    first = ((810.0, 0.92, 0.014), (1260.0, 2.14, 0.026))
    exposures, traces = [0.0, 1.0, 2.0, 60.0, 100.0, 120.0, 130.0, 140.0], {}
    for place, hours in enumerate(exposures):
        wear = (hours / 140.0) ** 2
        wide, old = 1.0 + 0.26 * wear, (0.55 * wear, 2.0)
        peaks = [one for area, at, sigma in first for one in tailing(area, at, wide * sigma, old)]
        peaks += tailing(AREA, 3.7 - 0.23 * wear, wide * 0.044, old, (0.05 + 0.26 * wear, 3.4))
        peaks += tailing(NEXT_AREA, 5.3 - 0.65 * wear, wide * 0.052, old)
        traces[f"i{place:03d}"] = as_trace(TIME, signal_of(peaks))
    places = {"uracil": 0.92, "neutral": 2.14, "base": 3.7, "next": 5.3}
    rows = measure(study_of(places, exposures), traces).rows
    assert not any({"stranger", "merged", "disturbed"} & set(row.flags) for row in rows)
    areas = [row.peak_area or 0.0 for row in rows if row.marker == "base"]
    assert max(abs(area / AREA - 1.0) for area in areas) < 0.02
