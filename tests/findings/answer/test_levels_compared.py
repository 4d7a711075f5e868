"""Two levels of a factor held against each other at one level of another, and types that a level names."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from lyewitness.findings.answer.levels_compared import pairs_compared
from lyewitness.findings.answer.question_scope import groups_at_named_levels, scope_of
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Factor, Limit
from tests.findings.answer.test_side_by_side import answered, plain
from tests.findings.making import evidence_of, judged

LIVES: Mapping[str, Sequence[float]] = {
    "Alder, ammonia": (38.0, 41.0, 44.0), "Birch, ammonia": (52.0, 56.0),
    "Cedar, borate": (31.0, 83.0, 90.0), "Dogwood, borate": (54.0, 58.0),
}  # fmt: skip
FACTORS = (
    Factor(
        "buffer",
        {
            "ammonia": ("Alder, ammonia", "Birch, ammonia"),
            "borate": ("Cedar, borate", "Dogwood, borate"),
        },
    ),
    Factor(
        "type",
        {
            "oak C18": ("Alder, ammonia", "Cedar, borate"),
            "pine C8": ("Birch, ammonia", "Dogwood, borate"),
        },
    ),
)


@pytest.fixture(scope="module")
def crossed() -> Evidence:
    """Return two types, each in two buffers: the buffer matters on one of them, but for one early loser."""
    limits = (Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),)
    evidence = evidence_of(LIVES, limits=limits)
    return judged(evidence, replace(evidence.study, factors=FACTORS))


@pytest.mark.parametrize(
    ("text", "groups"),
    [
        ("How long does the oak last?", ("Alder, ammonia", "Cedar, borate")),
        ("How long does the pine last in borate?", ("Dogwood, borate",)),
        ("Does it last longer in ammonia than in borate?", ()),
        ("Does it last longer on oak C18 than on pine C8?", ()),
        ("How long do the columns last?", ()),
    ],
)
def test_a_level_names_the_types_that_have_it(crossed: Evidence, text: str, groups: tuple[str, ...]) -> None:
    """A name that several types share means all of them; two levels held against each other mean none."""
    assert groups_at_named_levels(crossed.study, text, crossed.study.groups) == groups


def test_levels_are_held_against_each_other_type_by_type(crossed: Evidence) -> None:
    """Only groups that no other factor parts are set side by side, and only of the type that is named."""
    scope = scope_of(crossed, crossed.study.questions[0])
    both = pairs_compared(crossed, scope, "It fails earlier in ammonia than in borate.")
    assert both is not None
    assert both.groups == (("Alder, ammonia", "Cedar, borate"), ("Birch, ammonia", "Dogwood, borate"))
    one = pairs_compared(crossed, scope, "On the oak C18 it fails earlier in ammonia than in borate.")
    assert one is not None
    assert one.groups == (("Alder, ammonia", "Cedar, borate"),)
    alike = pairs_compared(crossed, scope, "On the pine C8 the buffer makes no difference.")
    assert alike is not None
    assert alike.alike
    assert {frozenset(pair) for pair in alike.groups} == {frozenset(("Birch, ammonia", "Dogwood, borate"))}
    assert pairs_compared(crossed, scope, "The columns last long.") is None


def test_each_half_of_an_expectation_is_held_against_its_own_type(crossed: Evidence) -> None:
    """The ratio of both types together is no word on either."""
    answer = answered(
        crossed,
        "Do the columns fail earlier in ammonia than in borate?",
        expectation="On the oak they fail earlier in ammonia; on the pine the buffer makes no difference.",
    )
    assert answer.expectation_verdict is not None
    told = plain(answer.expectation_verdict.text)
    assert "we leave the judgement to you" not in told
    first, second = told.split("The data are in keeping with ‘")
    assert first.startswith(
        "In this test ‘On the oak they fail earlier in ammonia’ was so, though not settled for"
    )
    assert "a small difference is not excluded" in second
    assert "all three Alder, ammonia columns failed (" in first
    assert "Birch" not in first
    assert "both Birch, ammonia columns failed (" in second
    assert "ratio" not in told


def test_what_most_columns_showed_of_one_type_is_told_beside_the_other(crossed: Evidence) -> None:
    """Whoever asks hears where it was seen, and where no difference was."""
    short = plain(answered(crossed, "Do the columns fail earlier in ammonia than in borate?").short)
    assert short.startswith(
        "In part: in this test columns fail sooner in ammonia on oak C18, which is not settled; "
        "no difference was seen on pine C8. "
    ), short


@pytest.mark.parametrize(
    "expectation",
    ["The base tails sooner in ammonia.", "It tails sooner than expected, so it is not worth it."],
)
def test_a_tailing_of_no_type_is_no_fault(crossed: Evidence, expectation: str) -> None:
    """A statement that names no type is left to the reader, whatever it is about."""
    answer = answered(crossed, "Does the caffeine tail sooner in ammonia?", expectation=expectation)
    assert answer.expectation_verdict is not None


def test_lives_far_apart_are_told_column_by_column(crossed: Evidence) -> None:
    """What two columns did and one did not says more than a bound of a typical life."""
    short = plain(answered(crossed, "Which lasts longest?").short)
    assert (
        "one of three Cedar, borate columns held for at least 87 h, apparently past the limit from 100 h on"
        in short
    )
    assert ", and two failed (82 h, another between 30 and 40 h)" in short
    assert "for Cedar, borate" not in short
