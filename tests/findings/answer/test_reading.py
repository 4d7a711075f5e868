"""Reading what a free text names and expects."""

import pytest

from lyewitness.findings.answer.reading_questions import (
    Expected,
    Span,
    asked_sentence,
    read_expectation,
    read_spans,
)
from lyewitness.study.questions import named_groups

GROUPS = ("polymer", "porous hybrid", "core-shell hybrid surface")


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("The polymer columns fail first.", ("polymer",)),
        ("The core-shell columns outlast the porous hybrids.", (GROUPS[2], GROUPS[1])),
        ("Hybrids last long.", ()),
        ("The surface is rough.", ()),
        ("Nothing is known.", ()),
    ],
)
def test_groups_are_named_by_their_own_words(text: str, named: tuple[str, ...]) -> None:
    """A group is named by all its words, or by a first word that no other group has."""
    assert named_groups(text, GROUPS) == named


def test_of_nested_names_the_longer_is_meant() -> None:
    """`polymer-coated` names the group `coated polymer` and not `polymer`."""
    assert named_groups("The polymer-coated type fails first.", ("polymer", "coated polymer")) == (
        "coated polymer",
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("The polymer columns fail first.", Expected("shortest", ("polymer",))),
        ("The polymer columns last longest.", Expected("longest", ("polymer",))),
        ("The polymer columns outlast the porous hybrid ones.", Expected("longer", GROUPS[:2])),
        (
            "The polymer columns fail before the porous hybrid ones.",
            Expected("longer", (GROUPS[1], GROUPS[0])),
        ),
        (
            "The core-shell columns last at least as long as the porous hybrid ones.",
            Expected("not shorter", (GROUPS[2], GROUPS[1])),
        ),
        ("There is no difference.", Expected("alike", GROUPS)),
        ("The polymer columns hold for 100 h.", Expected("holds", ("polymer",), Span("100 h", 100.0))),
        (
            "Two days are within the life of every core-shell column.",
            Expected("holds", (GROUPS[2],), Span("Two days", 48.0), every=True),
        ),
        ("The polymer columns do not fail first.", None),
        ("The polymer columns fail first. The hybrids do well.", None),
        (
            "The polymer columns hold for at most 100 h.",
            Expected("holds", ("polymer",), Span("100 h", 100.0), at_most=True),
        ),
        (
            "The polymer columns last twice as long as the porous hybrid ones.",
            Expected("ratio", GROUPS[:2], ratio=2.0),
        ),
        ("The guard doubles the life.", Expected("ratio", (), ratio=2.0, factor="guard")),
        (
            "Does a guard double the life of our polymer and our porous hybrid columns",
            Expected("ratio", GROUPS[:2], ratio=2.0, factor="guard"),
        ),
        ("It doubles the life of the polymer and the porous hybrid columns.", None),
        (
            "The polymer columns outlast the porous hybrids by half as long again.",
            Expected("ratio", GROUPS[:2], ratio=1.5),
        ),
        (
            "The polymer columns last a third longer than the porous hybrids.",
            Expected("ratio", GROUPS[:2], ratio=4 / 3),
        ),
        (
            "The polymer columns last 20 % longer than the porous hybrids.",
            Expected("ratio", GROUPS[:2], ratio=1.2),
        ),
        (
            "The polymer columns last 1.5 times as long as the porous hybrids.",
            Expected("ratio", GROUPS[:2], ratio=1.5),
        ),
        (
            "The polymer columns last half as long as the porous hybrids.",
            Expected("ratio", GROUPS[:2], ratio=0.5),
        ),
        (
            "A column behind a guard holds for 48 h.",
            Expected("holds", ("porous hybrid",), Span("48 h", 48.0)),
        ),
        ("Polymer and porous hybrid fail first.", None),
        ("It will be fine.", None),
    ],
)
def test_expectations_are_read_where_their_words_leave_no_doubt(text: str, expected: Expected | None) -> None:
    """One plain sentence of a known kind is read; all else is left to the reader."""
    assert read_expectation(text, GROUPS, factors={"guard": ("porous hybrid",)}) == expected


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("for 48 h", [48.0]), ("two days or a week", [48.0]), ("1 500 injections", [100.0]),
        ("2 weeks", [336.0]), ("at 60 °C and pH 11.0 with 20 mmol/L", []), ("1.5 hours", [1.5]),
        ("1,000 runs", [66.7]), ("we need it in two weeks", []), ("60 injections a day", []),
        ("60 injections/day", []), ("60 runs per day, for two days", [48.0]),
        ("30 injections daily", []), ("500 injections a column", [33.3]),
    ],
)  # fmt: skip
def test_spans_of_time_are_read(text: str, hours: list[float]) -> None:
    """Hours, days, weeks and runs of four minutes are read; temperatures and rates are none."""
    assert [span.hours for span in read_spans(text, 4.0)] == pytest.approx(hours, abs=0.1)


def test_a_week_is_a_span_in_an_expectation_and_not_in_a_question() -> None:
    """`lasts a week` is 168 h; `how many injections a week` asks for none."""
    assert [span.hours for span in read_spans("It lasts a week.", with_article=True)] == [168.0]
    assert read_spans("How many injections a week?", 4.0) == ()
    assert read_expectation("It lasts a week.", ("polymer",)) == Expected(
        "holds", ("polymer",), Span("a week", 168.0)
    )


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("It lasts at pH 11 48 h.", 48.0),
        ("At pH 11.3 480 h are within its life.", 480.0),
        ("It lasts at pH 11 480 h.", 480.0),
        ("It lasts 1 000 h.", 1000.0),
        ("It lasts 1\u2009000 h.", 1000.0),
        ("In buffer 2 48 h are within its life.", 48.0),
    ],
)
def test_a_number_before_a_span_is_no_part_of_it(text: str, hours: float) -> None:
    """The pH before a span is not its first digits; digits grouped by threes are one number."""
    assert [span.hours for span in read_spans(text)] == [hours]


def test_injections_without_a_run_time_are_no_span() -> None:
    """A number of injections says nothing of hours where the run time is not stated."""
    assert read_spans("500 injections") == ()


def test_of_two_groups_the_one_that_is_named_stands_against_the_other() -> None:
    """`Beta, by half as long again` leaves Alpha; a factor is named by its first word, too."""
    beta = read_expectation("Beta, by half as long again.", ("Alpha", "Beta"))
    assert beta == Expected("ratio", ("Beta", "Alpha"), ratio=1.5)
    assert read_expectation("Beta lasts twice as long.", ("Alpha", "Beta", "Gamma")) is None
    shortly = read_expectation("The guard doubles the life.", GROUPS, factors={"guard column": ()})
    assert shortly == Expected("ratio", (), ratio=2.0, factor="guard column")


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        (
            "A colleague says A lasts twice as long as B. Is he right?",
            "A colleague says A lasts twice as long as B",
        ),
        ("I hear that A fails first. Is that true?", "I hear that A fails first"),
        ("Is A right for pH 11?", "Is A right for pH 11"),
        ("We run at pH 11. Does A last two days?", "Does A last two days"),
    ],
)
def test_is_it_true_asks_for_the_sentence_before(text: str, asked: str) -> None:
    """What somebody says is what yes or no is wanted of."""
    assert asked_sentence(text) == asked
