"""An injection of another sample is told by peaks that stand out of the markers' places for once."""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.findings.doubts import doubtful_injections
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.records import Marker, Study
from tests.findings.making import SCHEDULE_H, measured, study_of, traces_of

TIMES = {"uracil": 0.5, "caffeine": 2.0, "aniline": 3.0, "toluene": 5.0}
ONE = "H1-08"
"""At 50 h, in the middle of the run."""
Shifts = Mapping[str, float | None]
"""Retention time ÷ the usual by marker; None for a marker that is lacking."""


def study() -> Study:
    """Return two columns of a kind, with three retained markers."""
    made = study_of({"hybrid": (1e9, 1e9)})
    return replace(made, markers=(*made.markers, Marker("toluene", "neutral", 5.0)))


def found(
    shifts: Shifts, where: Iterable[str] = (ONE,), slope: float = 0.001, void: bool = True
) -> list[DoubtfulInjection]:
    """Return what is doubted where peaks of some injections are shifted; retention falls by `slope` an hour.

    Without `void` no injection shows its hold-up marker.
    """
    of, places = study(), tuple(where)
    random = np.random.default_rng(5)
    plain = {row.injection: row for row in measured(of_three(of), {"H1": 1e9, "H2": 1e9}).rows}
    rows = []
    for injection in of.injections:
        for marker in of.markers:
            hours = injection.exposure_h or 0.0
            usual = TIMES[marker.id] * (1 - (slope * hours if marker.role != "void" else 0.0))
            shift = shifts.get(marker.id, 1.0) if injection.id in places else 1.0
            row = replace(
                plain[injection.id],
                marker=marker.id,
                retention_time_min=usual * (shift or 1.0) * (1 + 0.001 * random.standard_normal()),
                peak_area=2.0,
                peak_height=40.0,
            )
            gone = PeakRow(row.injection, row.column, row.group, marker.id, hours, None, True, False)
            is_gone = shift is None or not (void or marker.role != "void")
            rows.append(gone if is_gone else row)
    return list(doubtful_injections(of, traces_of(of), Measurements(tuple(rows))))


def of_three(of: Study) -> Study:
    """Return the study without the marker of which `making` knows nothing."""
    return replace(of, markers=of.markers[:3])


@pytest.mark.parametrize(
    "shifts",
    [
        {"caffeine": None, "aniline": 0.86, "toluene": 0.78},
        {"caffeine": 1.12, "aniline": None},
        {"caffeine": 0.9, "toluene": 1.1},
    ],
)
def test_peaks_out_of_place_for_once_are_another_sample(shifts: Shifts) -> None:
    """Some moved and one gone, or moved both ways, at an unchanged hold-up time: told with the line."""
    (one,) = found(shifts)
    assert (one.injection, one.kind) == (ONE, "swapped vial")
    assert all(marker in one.why for marker in shifts)
    assert "another sample" in one.why
    assert one.line.startswith(f"{ONE},")


def test_how_far_each_peak_is_off_is_told_beside_the_course() -> None:
    """Late and early by what the neighbours lead to expect, though the column's retention falls."""
    (one,) = found({"caffeine": None, "aniline": 0.86}, slope=0.0015)
    assert "caffeine lacking, and aniline 14 % early" in one.why.replace("\u2009", " ")


@pytest.mark.parametrize(
    "shifts",
    [
        {"uracil": 1.08, "caffeine": 1.08, "aniline": None, "toluene": 1.08},
        {"caffeine": 0.93, "aniline": 0.93},
        {"caffeine": 0.8, "aniline": 0.8, "toluene": 0.8},
        {"aniline": None},
    ],
)
def test_a_flow_a_bottle_or_a_lost_peak_is_no_other_sample(shifts: Shifts) -> None:
    """What moves all peaks with the void, moves some one way, or merely takes one away is not told so."""
    assert not [one for one in found(shifts) if one.kind == "swapped vial"]


@pytest.mark.parametrize("first", [6, len(SCHEDULE_H)])
def test_what_goes_on_is_the_column(first: int) -> None:
    """A bed that loses its retention and a peak from one injection on, or at its last, is no other sample."""
    places = [f"H1-{number:02d}" for number in range(first, len(SCHEDULE_H) + 1)]
    assert not [
        one for one in found({"caffeine": None, "toluene": 0.85}, places) if one.kind == "swapped vial"
    ]


@pytest.mark.parametrize(("toluene", "told"), [(0.9, False), (0.75, True)])
def test_without_a_hold_up_marker_one_factor_is_the_flow(toluene: float, told: bool) -> None:
    """Peaks that all moved by one factor may be a flow's doing where nobody knows the hold-up."""
    shifts = {"caffeine": None, "aniline": 0.9, "toluene": toluene}
    kinds = [one.kind for one in found(shifts, void=False)]
    assert ("swapped vial" in kinds) is told
