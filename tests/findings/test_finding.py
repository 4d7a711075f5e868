"""The whole answer on a study whose lives are known."""

import re

from lyewitness.findings.records import Answer
from lyewitness.findings.signs.weighing import RULES
from tests.findings.making import evidence_of, found_in

APART = {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0, 24.0)}


def answer_of(groups: dict[str, tuple[float, ...]] | None = None) -> Answer:
    """Return the first answer of a study with these lives."""
    return found_in(evidence_of(groups or APART)).answers[0]


def test_groups_far_apart_are_ranked_and_the_lives_are_told() -> None:
    """Three columns a side, lives a factor of two apart: the longer-lived group is shown and named first."""
    answer = answer_of()
    assert answer.short.startswith("The hybrid columns last longer than the silica columns")
    assert [claim.strength for claim in answer.claims if "pair" in claim.id] == ["shown"]


def test_the_short_answer_stands_alone() -> None:
    """The short answer names limit, metric and the life of each group with its interval."""
    short = answer_of().short
    for words in (r"6[01] h \(", r"25 h \(", "80 %", "plate number"):
        assert re.search(words, short.replace("\u2009", " ")), short


def test_the_method_is_told_with_the_table_of_rules() -> None:
    """The findings carry how they were drawn, and every rule as it was applied."""
    findings = found_in(evidence_of(APART))
    assert len({heading for heading, _ in findings.method_notes}) == len(findings.method_notes)
    assert len(findings.rules) == 1 + len(RULES)
    assert {len(row) for row in findings.rules} == {len(findings.rules[0])}
    assert [row[0] for row in findings.rules[1:]] == [rule.mechanism for rule in RULES]


def test_the_rule_for_replacing_a_column_is_in_the_method() -> None:
    """How the time for replacement is had stands in the method notes, with its formula."""
    notes = dict(found_in(evidence_of(APART)).method_notes)
    assert "t s √(1 + 1/n)" in notes["When to replace a column"]
    assert "deciding metric alone" in notes["When to replace a column"]


def test_the_same_study_gives_the_same_findings() -> None:
    """Nothing but the study goes into the findings."""
    evidence = evidence_of(APART)
    assert found_in(evidence) == found_in(evidence)
