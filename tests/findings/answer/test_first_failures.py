"""What failed first on a group's columns, as a sentence."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.words.metrics import any_of
from tests.findings.making import evidence_of, found_in

PLATES = ("toluene", "plate_number_half_height")
SYMMETRY = ("toluene", "symmetry_factor")
OTHER = ("aniline", "plate_number_half_height")


@pytest.fixture(scope="module")
def three() -> Evidence:
    """Return three columns that failed well within their test."""
    return evidence_of({"hybrid": (60.0, 64.0, 57.0), "silica": (20.0, 22.0, 21.0)})


def sentences(evidence: Evidence, ties: Mapping[str, tuple[tuple[str, str], ...]]) -> list[str]:
    """Return the sentences that tell what failed first on hybrid columns, where columns have these ties."""
    firsts = tuple(
        replace(one, tied_with=ties.get(one.column, ())) for one in evidence.judgement.first_failures
    )
    claims = found_in(evidence, replace(evidence.judgement, first_failures=firsts)).answers[0].claims
    return [claim.text for claim in claims if "failed first" in claim.text and "hybrid" in claim.text]


def test_one_metric_is_named_where_it_alone_was_first(three: Evidence) -> None:
    """Nothing tied: the metric failed first, and nothing takes it back."""
    (text, *_) = sentences(three, {})
    assert text.startswith("On all three hybrid columns, the ")
    assert text.endswith(" failed first.")


def test_what_cannot_be_told_apart_is_named_in_one_breath(three: Evidence) -> None:
    """Tied on every column: one or the other failed first; never one that cannot be told from the other."""
    ties = {column.id: (SYMMETRY,) for column in three.study.columns}
    (text, *_) = sentences(three, ties)
    assert " or the symmetry factor of toluene failed first: these data cannot tell which" in text


def test_a_tie_on_one_column_is_told_of_that_one(three: Evidence) -> None:
    """Tied on one of three: the others stand, and the sentence says on how many it may be otherwise."""
    first = three.study.replicates("hybrid")[0]
    (text, *_) = sentences(three, {first.id: (SYMMETRY,)})
    assert text.endswith("failed first; on one of them it may have been the symmetry factor of toluene.")


def test_metrics_of_one_kind_are_named_once() -> None:
    """Two markers of one metric share its name; a metric of the column has no marker."""
    assert any_of((PLATES, OTHER)) == "the plate number (half height) of toluene or aniline"
    both = "the plate number (half height) of toluene, or the symmetry factor of toluene"
    assert any_of((PLATES, SYMMETRY)) == both
    assert any_of((("", "pressure_bar"),)).startswith("the ")


def test_no_more_than_two_metrics_are_to_be_watched(three: Evidence) -> None:
    """Of five that crossed together the first on most columns and the next are named, in either form."""
    more = ((OTHER[0], "retention_factor"), ("toluene", "retention_factor"))
    ties: dict[str, tuple[tuple[str, str], ...]] = {c.id: (SYMMETRY, *more) for c in three.study.columns}
    ties[three.study.replicates("hybrid")[0].id] = (SYMMETRY,)
    for tied, told in (
        (ties, "it or the symmetry factor of toluene crossed its limit first, others about as early; these"),
        (
            {column.id: (SYMMETRY,) for column in three.study.columns},
            "toluene crossed its limit first; these",
        ),
    ):
        firsts = tuple(
            replace(one, tied_with=tied[one.column]) for one in three.judgement.first_failures if one.metric
        )
        answer = found_in(three, replace(three.judgement, first_failures=firsts)).answers[0]
        (text,) = [one.text for one in answer.recommendations if one.id.endswith("do-watch")]
        assert told in text, text


def test_advice_to_watch_a_metric_counts_no_column_twice(three: Evidence) -> None:
    """Tied on one of six: it failed first on five of six, and on one more it or the other did."""
    first = three.study.replicates("hybrid")[0]
    firsts = tuple(
        replace(one, tied_with=(SYMMETRY,)) if one.column == first.id else one
        for one in three.judgement.first_failures
    )
    told = found_in(three, replace(three.judgement, first_failures=firsts)).answers[0].recommendations
    (text,) = [one.text for one in told if one.id.endswith("do-watch")]
    assert "crossed its limit first on five of six columns; on one more, it or the symmetry" in text
