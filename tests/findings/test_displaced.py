"""Injections that fit another place better: what is zero tells nothing of scatter."""

from tests.findings.making import evidence_of, found_in


def test_a_column_without_any_plates_left_is_judged() -> None:
    """Plates that reach zero have no logarithm; they are left aside, and the column is told as failed."""
    found = found_in(evidence_of({"silica": (0.02, 0.03), "hybrid": (50.0, 60.0)}))
    assert any("Both failed before" in claim.text for claim in found.answers[0].claims)


def test_columns_past_their_limit_when_first_looked_at_have_failed_by_it() -> None:
    """Of lives that end before the first injection after the start none has `failed by another limit`."""
    found = found_in(evidence_of({"silica": (0.02, 0.03), "hybrid": (50.0, 60.0)}))
    (silica,) = (one for one in found.answers[0].advice if one.group == "silica")
    assert silica.tested == "two, both failed"
