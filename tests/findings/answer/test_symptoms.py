"""What a sender has seen on a column of their own gets a yes or a no first."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from lyewitness.findings.answer.symptoms import symptoms_told
from lyewitness.study.records import Limit, Question
from tests.findings.making import evidence_of, found_in, judged

PLATES = "plate_number_half_height"
GROUPS: Mapping[str, tuple[float, ...]] = {"silica": (41.0, 47.0, 52.0), "oxide": (900.0, 950.0, 990.0)}
LIMITS = (
    Limit(PLATES, at_least_percent=80.0, markers=("caffeine",)),
    Limit("pressure_bar", at_most_percent=150.0),
)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("A shoulder grew behind every peak. Is this how they go?", ["plates or peak shape"]),
        ("The pressure is going up after a day: is that the column dying?", ["pressure"]),
        ("Peaks come earlier each day. What does that mean?", ["retention"]),
        ("Do the peaks tail earlier on silica?", []),
        ("Does the base tail earlier on silica, and is it the bonding?", []),
        ("Which column keeps its pressure and its peaks from broadening?", []),
    ],
)
def test_a_symptom_is_read_where_its_meaning_is_asked(text: str, named: list[str]) -> None:
    """Who asks which type tails earlier has seen nothing yet."""
    assert [one.name for one in symptoms_told(text)] == named


@pytest.mark.parametrize(
    ("text", "groups", "begins"),
    [
        (
            "A shoulder grew behind every peak on our silica column. Is this how they go?",
            ("silica",),
            "Yes, in this test all three silica columns went like that, plates or peak shape first.",
        ),
        (
            "A shoulder grew behind every peak on our oxide column. Is this how they go?",
            ("oxide",),
            "No, not in this test: plates or peak shape passed no limit on the oxide columns.",
        ),
        (
            "The pressure climbs on our silica column: is it dying?",
            ("silica",),
            "No, not in this test: pressure passed no limit on the silica columns.",
        ),
        (
            "Peaks are broader since yesterday. Is that the column dying?",
            (),
            "In part: in this test on all three silica columns plates or peak shape went first; "
            "on the oxide columns no limit on them was passed.",
        ),
    ],
)
def test_a_symptom_is_held_against_how_the_columns_went(
    text: str, groups: tuple[str, ...], begins: str
) -> None:
    """Yes where it was seen first on most columns, no where no limit on it was passed."""
    asked = Question("seen", text, groups=groups)
    answer = found_in(evidence_of(GROUPS, limits=LIMITS, questions=(asked,))).answers[0]
    short = answer.short.replace("\u2009", " ")
    assert short.startswith(begins), short
    assert "check" in short


def test_what_came_later_is_told_with_the_hours_before_which_none_did() -> None:
    """A pressure that rises after a day is none that rose after four."""
    lives: Mapping[str, tuple[float, ...]] = {"silica": (41.0, 47.0, 52.0)}
    asked = Question("seen", "The pressure climbs on our silica column after a day: is it dying?")
    evidence = evidence_of(lives, limits=LIMITS, questions=(asked,))
    rows = tuple(
        replace(row, pressure_bar=200.0 * (1 + 0.008 * (row.exposure_h or 0.0)))
        for row in evidence.study.conditions
    )
    pressed = judged(evidence, replace(evidence.study, conditions=rows))
    short = found_in(pressed).answers[0].short.replace("\u2009", " ")
    assert short.startswith(
        "In part: pressure went, too, but later (all three silica columns, none before "
    ), short
