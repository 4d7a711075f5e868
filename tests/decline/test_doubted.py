"""Values whose peak is likelier wrong than right: when they count, and what a life says without them."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from lyewitness.decline.doubted import confidence_in, left_out_words
from lyewitness.decline.judging import judge
from lyewitness.decline.records import Decline
from lyewitness.peaks.records import PeakRow
from lyewitness.words.arrays import FloatArray
from tests.decline.small_study import LIMITS, noisy, study_of, with_values

PLATES = "plate_number_half_height"
HOURS: FloatArray = np.r_[0.0, 0.0, 0.0, 8.0 * np.arange(1, 10)]


def judged(
    percent: FloatArray, doubts: Mapping[int, float], hours: FloatArray = HOURS, metric: str = PLATES
) -> Decline:
    """Return the decline of one column; `doubts` are confidences of some injections, the rest are sure."""
    confidence = np.ones(len(hours))
    for place, sure in doubts.items():
        confidence[place] = sure
    value = noisy(np.random.default_rng(5), 50.0 * percent, 0.3)
    study, rows = with_values(
        study_of({"g": ("A",)}, LIMITS), hours, {("A", "base"): {metric: value, "confidence": confidence}}
    )
    return next(one for one in judge(study, rows).declines if one.series.metric == metric)


FALLING: FloatArray = 100.0 - 40.0 * (HOURS / 72.0) ** 1.5
"""Passes 80 % at 45 h."""
HOLDING: FloatArray = 100.0 - 3.0 * HOURS / 72.0


def test_a_wrongly_cut_last_peak_does_not_bring_a_dead_column_back() -> None:
    """Back at 97 % with a doubtful peak, the life stays what the sound injections say, and this is told."""
    percent = FALLING.copy()
    percent[-1] = 97.0
    told, counted = judged(percent, {-1: 0.31}), judged(percent, {})
    assert counted.life.state == "unclear"
    assert told.life.state == "reached"
    assert told.life.hours.value == pytest.approx(45.0, abs=3.0)
    assert told.doubted == told.outlying == ("A-011",)
    assert left_out_words(told) in told.reason == "doubtful and left out: the peak of A-011"
    assert told.with_doubted is not None
    assert told.with_doubted.state == "unclear"
    assert told.end_h == 64.0
    assert told.curve_h[-1] <= 64.0
    assert told.remaining.value == pytest.approx(66.5, abs=1.5)


def test_a_run_of_wrongly_cut_peaks_does_not_speak_for_itself() -> None:
    """Three doubtful peaks in a row that agree are held against the sound ones, not against each other."""
    percent = FALLING.copy()
    percent[-3:] = 97.0
    told = judged(percent, {-3: 0.3, -2: 0.3, -1: 0.3})
    assert told.doubted == ("A-009", "A-010", "A-011")
    assert told.life.state == "reached"
    assert told.life.hours.high is not None
    assert told.life.hours.high <= 48.0


def test_doubtful_peaks_that_the_sound_ones_lead_to_expect_count() -> None:
    """A column that dies in doubtful peaks, as the sound ones foretell, has the life that they show."""
    doubts = dict.fromkeys(range(6, 12), 0.45)
    told, counted = judged(FALLING, doubts), judged(FALLING, {})
    assert told.doubted == ()
    assert told.life == counted.life
    assert told.life.state == "reached"


def test_a_collapse_seen_in_doubtful_peaks_alone_is_open() -> None:
    """What held as long as peaks were sound is not said to hold on, nor to have failed."""
    percent = HOLDING.copy()
    percent[-2:] = (55.0, 30.0)
    told = judged(percent, {-2: 0.2, -1: 0.2})
    assert told.life.state == "unclear"
    assert told.life.hours.low is not None
    assert told.life.hours.low <= 56.0
    assert "doubtful" in told.life.hours.reason
    assert judged(percent, {}).life.state == "reached"


def test_nothing_is_said_to_hold_where_only_doubtful_peaks_were_left() -> None:
    """Within the limit, but nowhere near what is expected: the bound ends with the last sound injection."""
    percent = HOLDING.copy()
    percent[-2:] = (130.0, 131.0)
    told = judged(percent, {-2: 0.2, -1: 0.2})
    assert told.life.state == "not reached"
    assert told.life.hours.low is not None
    assert told.life.hours.low <= 56.0
    assert judged(percent, {}).life.hours.low == pytest.approx(72.0)


def test_a_doubtful_reference_is_no_part_of_the_start() -> None:
    """One wrongly cut peak among the first three changes the reference of the sound ones by nothing."""
    percent = FALLING.copy()
    percent[1] = 150.0
    told = judged(percent, {1: 0.3})
    assert told.doubted == ("A-001",)
    assert told.reference_value == pytest.approx(5000.0, rel=0.005)
    assert told.life.state == "reached"


@pytest.mark.parametrize("doubted", [range(3), range(12)])
def test_where_all_of_the_reference_is_doubtful_it_stands(doubted: range) -> None:
    """There is nothing else to hold the others against."""
    told = judged(FALLING, dict.fromkeys(doubted, 0.4))
    assert told.doubted == ()
    assert told.life == judged(FALLING, {}).life


def test_few_and_very_many_injections_leave_them_out_alike() -> None:
    """Without a curve the sound injections alone make the bracket; of a hundred, their line tells."""
    few = np.array([0.0, 20.0, 40.0, 60.0])
    told = judged(np.array([100.0, 99.0, 98.0, 40.0]), {-1: 0.3}, few)
    assert told.doubted == ("A-003",)
    assert (told.life.state, told.life.hours.low) == ("unclear", 40.0)
    many: FloatArray = np.linspace(0.0, 72.0, 100)
    percent = 100.0 - 40.0 * (many / 72.0) ** 1.5
    percent[[50, 99]] = (20.0, 99.0)
    told = judged(percent, {50: 0.3, 99: 0.3}, many)
    assert told.doubted == ("A-050", "A-099")
    assert told.life.state == "reached"


def test_retention_is_as_sure_as_the_name() -> None:
    """A badly cut peak of the right name keeps its retention; a value of no use by its error is doubtful."""
    row = PeakRow(
        "i", "c", "g", "m", 0.0, None, True, True, confidence=0.45, retention_factor=5.0,
        plate_number_half_height=5000.0, symmetry_factor=1.2, plate_number_half_height_se=50.0,
        symmetry_factor_se=1.0, retention_factor_se=0.001,
    )  # fmt: skip
    assert confidence_in(row, "retention_factor") == pytest.approx(0.9)
    assert confidence_in(row, PLATES) == pytest.approx(0.45)
    assert confidence_in(row, "symmetry_factor") < 0.1
    assert confidence_in(replace(row, confidence=None), PLATES) == 1.0
