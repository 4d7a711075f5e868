"""What use costs is told by what is known of the lives: of a typical one, or column by column."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from lyewitness.findings.answer.cost_claims import cost_words
from lyewitness.findings.answer.costs import Cost, costs
from lyewitness.findings.answer.question_scope import scope_of
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Limit, Question
from lyewitness.words.estimates import Estimate
from tests.findings.making import evidence_of, found_in, judged

LIMITS = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),)
WORTH = Question("q1", "The oxide costs more than twice as much. Is it worth the money?", run_time_min=12.0)
PRICES = {"silica": 300.0, "oxide": 690.0}


def priced(lives: Mapping[str, Sequence[float]]) -> Evidence:
    """Return a study whose columns have prices, and the question whether the dear ones are worth them."""
    evidence = evidence_of(lives, limits=LIMITS)
    columns = tuple(replace(one, price=PRICES[one.group]) for one in evidence.study.columns)
    return judged(evidence, replace(evidence.study, columns=columns, currency="EUR", questions=(WORTH,)))


def told(evidence: Evidence, group: str) -> str:
    """Return what use of a group costs, in words."""
    return cost_words(costs(evidence, scope_of(evidence, WORTH))[group]).replace("\u2009", " ")


def test_lives_far_apart_are_priced_column_by_column() -> None:
    """An interval of a typical cost that holds any price says less than what three columns cost."""
    words = told(priced({"silica": (11.0, 62.0, 68.0), "oxide": (54.0, 56.0, 58.0)}), "silica")
    # 300 EUR × 0.2 h over 68, 62 and 11 h, as far as these lives are known.
    assert words.endswith(" EUR, column by column, on silica"), words
    each = [float(number) for number in re.findall(r"\d\.\d+", words)]
    assert each == pytest.approx([0.88, 0.97, 5.5], rel=0.05)


def test_the_column_that_failed_bounds_no_cost_of_those_that_held() -> None:
    """Two that held for 100 h cost at most 690 × 0.2 / 100; the one that failed is told beside them."""
    words = told(priced({"silica": (44.0, 45.0, 46.0), "oxide": (60.0, 400.0, 500.0)}), "oxide")
    assert words.startswith("at most 1.38 EUR on oxide but for O1 ("), words
    assert words.endswith(" EUR on O1, which failed)"), words


def test_from_which_life_on_a_dear_column_pays_is_told_in_hours() -> None:
    """2.3 times the life of 45 h is 104 h: nobody has to reckon."""
    evidence = priced({"silica": (44.0, 45.0, 46.0), "oxide": (60.0, 400.0, 500.0)})
    short = found_in(evidence).answers[0].short.replace("\u2009", " ")
    assert "only where they last more than 2.3 times as long (104 h)" in short, short


def test_a_cost_of_known_lives_is_told_with_its_interval() -> None:
    """Nothing is told column by column of what agrees."""
    known = Cost("silica", 300.0, "EUR", Estimate(1.2, 1.1, 1.3))
    assert cost_words(known).replace("\u2009", " ") == "1.20 EUR (1.10 to 1.30) on silica"
