"""Injections that fit another place better: what is zero tells nothing of scatter."""

from tests.findings.making import evidence_of, found_in


def test_a_column_without_any_plates_left_is_judged() -> None:
    """Plates that reach zero have no logarithm; they are left aside, and the column is told as failed."""
    found = found_in(evidence_of({"silica": (0.02, 0.03), "hybrid": (50.0, 60.0)}))
    assert any("Both failed before" in claim.text for claim in found.answers[0].claims)
