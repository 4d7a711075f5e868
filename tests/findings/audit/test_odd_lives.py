"""A column that lived far shorter, or far longer, than each of its siblings is told, with what would help."""

import pytest

from lyewitness.findings.audit import odd_lives as asked
from lyewitness.findings.audit.odd_lives import odd_lives
from lyewitness.findings.audit.points import Point
from lyewitness.findings.mended import Mended
from lyewitness.study.records import Event
from tests.findings.making import evidence_of, judged, with_columns

SILICA = (30.0, 31.0, 29.0)


def points(*lives: float) -> list[Point]:
    """Return what is said of hybrid columns with these lives beside steady silica ones."""
    return list(odd_lives(evidence_of({"hybrid": lives, "silica": SILICA})))


def test_an_early_loser_is_told() -> None:
    """One that lived less than half as long as each other bounds the life of its type, and no pair."""
    (point,) = points(25.0, 70.0, 74.0)
    assert (point.check.result, point.check.subject, point.bound) == ("caution", "hybrid", "indicated")
    assert point.check.detail.startswith("H1 has failed within ")
    assert "each of the other hybrid columns (H2 and H3) has lasted 6" in point.check.detail
    assert "look at this one’s packing" in point.check.cure
    assert (point.groups, set(point.pairs)) == (frozenset({"hybrid"}), set())


def test_an_early_loser_whose_inlet_was_cleared_has_no_bad_packing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where pressure and plates came back with a part, that is told, and no packing is suspected."""
    frit = Mended(Event("part exchanged", 20.0), 20.0, "before the event the pressure rose")
    monkeypatch.setattr(asked, "mended", lambda evidence, column: frit if column == "H1" else None)
    (point,) = points(25.0, 70.0, 74.0)
    assert (
        "its way was blocked, and cleared in time: before the event the pressure rose" in point.check.detail
    )
    assert "packing" not in point.check.cure
    (lucky,) = points(97.0, 28.0, 30.0)
    assert "look at this one’s packing" in lucky.check.cure


def test_a_lucky_column_is_told() -> None:
    """One that lived more than twice as long as any other, be it to the end of the test."""
    for life in (97.0, 1e6):
        (point,) = points(28.0, life, 30.0)
        assert point.check.detail.startswith("H2 has lasted ")
        assert "each of the other hybrid columns (H1 and H3) had failed by 40\u2009h" in point.check.detail


def test_what_a_property_sets_apart_is_told_with_that() -> None:
    """An odd column that is the only one of its lot speaks of the lot before its packing."""
    evidence = evidence_of({"hybrid": (28.0, 1e6, 30.0), "silica": SILICA})
    lots = {"H1": {"lot": "A7"}, "H2": {"lot": "B2"}, "H3": {"lot": "A7"}}
    assert not list(odd_lives(judged(evidence, with_columns(evidence.study, **lots))))


@pytest.mark.parametrize("lives", [(40.0, 70.0, 74.0), (25.0, 27.0, 74.0, 70.0), (25.0, 70.0)])
def test_what_scatters_or_falls_in_two_is_no_odd_column(lives: tuple[float, ...]) -> None:
    """Less than twice, two against two, and one of two columns: none is the odd one."""
    (point,) = points(*lives)
    assert point.check.result == "good"
