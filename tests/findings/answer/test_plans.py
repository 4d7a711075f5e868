"""The next experiments of one answer are one course of action: none contradicts or repeats another."""

import re
from collections.abc import Mapping
from dataclasses import replace
from math import exp

from lyewitness.findings.records import Answer
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Question
from tests.findings.making import evidence_of, found_in, judged

HELD = {"hybrid": (900.0, 950.0, 880.0)}


def answered(groups: Mapping[str, tuple[float, ...]], text: str) -> Answer:
    """Return the answer to a question about columns of these lives."""
    return found_in(evidence_of(groups, questions=(Question("q1", text),))).answers[0]


def plain(answer: Answer) -> list[str]:
    """Return the plans with ordinary blanks."""
    return [plan.text.replace("\u2009", " ") for plan in answer.next_experiments]


def test_columns_at_hand_run_on_before_new_ones_are_taken() -> None:
    """A span beyond the test is run to first, not to the limit; new columns follow only if that is open."""
    first, then, *_ = plain(answered(HELD, "Will they last five days?"))
    assert first == "Run the hybrid columns on to five days (120 h)."
    assert then.startswith(
        "Only if that leaves it open, run more of the hybrid columns for five days, until 14"
    )


def test_a_span_that_was_held_calls_for_no_running_on() -> None:
    """Who asks for two days, which all held, is not told where the limit lies; those tested count as run."""
    (plan,) = plain(answered(HELD, "Will they last two days?"))
    assert plan.startswith("Run more of the hybrid columns for two days, until 14 were run, those that have")


def test_all_pairs_are_one_plan_that_tells_the_spread_once() -> None:
    """Three types that want different numbers of columns get them in one plan."""
    lives = {"alkyl": (55.0, 60.0, 66.0), "butyl": (54.0, 61.0, 65.0), "phenyl": (45.0, 58.0, 80.0)}
    plans = [text for text in plain(answered(lives, "Which lasts longest?")) if "columns a side" in text]
    assert len(plans) == 1, plans
    assert plans[0].count("power of 80 %") == 1
    assert plans[0].count("Lives of one type spread by") == 1


def test_what_no_number_of_columns_tells_is_told_as_such() -> None:
    """Where even fifty columns a side would not do, nobody is told to run more than fifty."""
    lives = {"alkyl": (20.0, 60.0, 90.0), "butyl": (22.0, 61.0, 85.0)}
    (plan,) = [text for text in plain(answered(lives, "Which lasts longest?")) if "columns a side" in text]
    assert "would take more than 50 columns a side" in plan, plan
    assert "run more than" not in plan


def test_two_numbers_of_further_columns_stand_in_no_answer() -> None:
    """With two columns of a type the plan's number stands alone: `one more` beside it would contradict it."""
    answer = answered({"alkyl": (55.0, 66.0), "butyl": (54.0, 61.0, 65.0)}, "Which lasts longest?")
    said = " ".join(claim.text for claim in (*answer.recommendations, *answer.next_experiments))
    assert re.search(r"columns? a side", said)
    assert "at least one more" not in said, said


def test_no_rate_is_led_on_of_what_has_come_to_rest() -> None:
    """Columns that lost a tenth in a day, and nothing since, are told to have hardly moved."""
    question = Question("q1", "Which lasts longest?")
    evidence = evidence_of({**HELD, "silica": (25.0, 27.0, 24.0)}, questions=(question,))
    fresh = 10000.0

    def at_rest(row: PeakRow, place: int) -> PeakRow:
        left = 1 - 0.1 * (1 - exp(-row.exposure_h / 8)) + 0.001 * (-1) ** place
        settled = row.group == "hybrid" and row.plate_number_half_height and row.marker != "uracil"
        return replace(row, plate_number_half_height=fresh * left) if settled else row

    rows = tuple(at_rest(row, place // 3) for place, row in enumerate(evidence.measurements.rows))
    rested = judged(evidence, None, replace(evidence.measurements, rows=rows))
    plans = plain(found_in(rested).answers[0])
    assert not any("seen would meet" in plan for plan in plans), plans
    assert any(plan.startswith("The hybrid columns hardly moved towards the limit") for plan in plans), plans
