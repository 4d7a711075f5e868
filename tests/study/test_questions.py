"""A question's words and keys say which comparisons it asks for."""

from dataclasses import replace
from datetime import date, datetime
from itertools import combinations

import pytest

from lyewitness.study.questions import families_of, family_of, named_groups
from lyewitness.study.records import Factor, Injection, Marker, Question
from tests.decline.small_study import study_of

GROUPS = {"polymer": ("P1", "P2"), "silica": ("S1", "S2"), "carbon": ("C1", "C2")}
LIMITED = [
    (marker, metric)
    for metric in ("plate_number_half_height", "retention_factor")
    for marker in ("neutral", "base")
] + [("", "pressure_bar")]
STUDY = study_of(GROUPS, ())
PLATES = {("neutral", "plate_number_half_height"), ("base", "plate_number_half_height")}


@pytest.mark.parametrize(
    ("question", "groups", "metrics"),
    [
        (Question("", "Which of the three lasts longest?"), set(GROUPS), set(LIMITED)),
        (Question("q", "Which of polymer and silica lasts longer?"), {"polymer", "silica"}, set(LIMITED)),
        (
            Question("q", "Which does?", groups=("carbon", "silica"), decides="retention_factor of base"),
            {"carbon", "silica"},
            {("base", "retention_factor")},
        ),
        (
            Question("q", "Which?", markers=("base",), metrics=("retention_factor",)),
            set(GROUPS),
            {("base", "retention_factor")},
        ),
    ],
)
def test_a_question_asks_for_pairs_of_its_groups_by_its_metrics(
    question: Question, groups: set[str], metrics: set[tuple[str, str]]
) -> None:
    """Groups and metric are read off its keys, then off its words; what is not named is left open."""
    family = family_of(STUDY, question, LIMITED)
    assert (set(family.groups), set(family.metrics)) == (groups, metrics)


def test_a_metric_named_in_words_is_by_every_marker_that_it_leaves_open() -> None:
    """`keeps its plates` asks for those of every retained marker; a marker that is named, for its own."""
    markers = (Marker("neutral", "neutral", 3.1), Marker("base", "base", 2.9, 9.6))
    study = replace(STUDY, markers=markers)
    asks = Question("q", "Which of polymer and silica keeps its plates longer?")
    assert set(family_of(study, asks, LIMITED).metrics) == PLATES
    one = replace(asks, text="Which of polymer and silica keeps the plates of the base longer?")
    assert set(family_of(study, one, LIMITED).metrics) == {("base", "plate_number_half_height")}


def test_a_question_asked_after_the_last_injection_has_no_family() -> None:
    """Whoever has seen the data may choose what differs: that is corrected for everything."""
    late = Question("late", "Which lasts longer, polymer or silica?", asked_on=date(2026, 3, 9))
    injection = Injection("i1", "i1.csv", "P1", at=datetime(2026, 3, 6, 8))
    study = replace(
        STUDY, questions=(late, replace(late, id="early", asked_on=None)), injections=(injection,)
    )
    assert [family.question for family in families_of(study, LIMITED)] == ["early"]


def test_a_question_about_a_factor_asks_for_the_pairs_that_differ_in_it_alone() -> None:
    """Two types with and without a part: beside the types that are named, each with and without it."""
    crossed = study_of({name: (f"{name[0]}1",) for name in ("alpha", "beta", "gamma", "delta")}, ())
    factors = (
        Factor("guard", {"without": ("alpha", "beta"), "with": ("gamma", "delta")}),
        Factor("bonding", {"A": ("alpha", "gamma"), "B": ("beta", "delta")}),
    )
    study = replace(crossed, factors=factors)
    family = family_of(study, Question("q", "Does a guard double the life of alpha and of beta?"), LIMITED)
    asked = [p for p in combinations(study.groups, 2) if family.holds(*p, LIMITED[0])]
    assert asked == [("alpha", "beta"), ("alpha", "gamma"), ("beta", "delta")]
    assert family.factors == {"guard"}


def test_a_unit_and_an_article_name_no_type() -> None:
    """`50 °C` is no type C, `48 h` no type H and `a type` no type A; each is where it is called so."""
    groups = ("type A", "type B", "type C", "type H")
    for text, named in (
        ("Which of our column types lasts longest at pH 11 and 50 °C?", ()),
        ("Which type lasts longest at a pH of 11, 50 degrees C and for 48 h?", ()),
        ("Does type A outlast type B at 50 C?", ("type A", "type B")),
        ("do types a and b last alike?", ("type A", "type B")),
        ("Which type of column lasts longer, type b or type a?", ("type A", "type B")),
        ("How long do the 3 C columns last at 50 °C?", ("type C",)),
        ("How long does a type H column last?", ("type H",)),
    ):
        assert named_groups(text, groups) == named, text
    assert named_groups("Do columns last at 50 °C?", ("40 °C", "50 °C")) == ("50 °C",)
    assert named_groups("Does lot a last?", ("lot A", "lot B")) == ("lot A",)
