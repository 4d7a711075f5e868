"""Whether lots of one type differ, and that such a difference is never put down to the type."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from lyewitness.findings.records import Findings
from tests.findings.making import check_of, evidence_of, found_in, judged

SILICA = (30.0, 31.0, 29.0, 30.0)


def found_with(lives: Mapping[str, Sequence[float]]) -> Findings:
    """Return the findings where the first two columns of a group are of one lot, the others of another."""
    evidence = evidence_of(lives)
    columns = tuple(
        replace(one, lot=f"{one.group[0]}{1 if one.id[-1] in '12' else 2}") for one in evidence.study.columns
    )
    return found_in(judged(evidence, replace(evidence.study, columns=columns)))


def test_lots_that_overlap_between_types_leave_the_types_open() -> None:
    """Where a lot of the longer-lived type is no better than one of the other, no type is said to be."""
    found = found_with({"hybrid": (60.0, 62.0, 30.0, 31.0), "silica": (28.0, 29.0, 30.5, 31.5)})
    check = check_of(found, "lots-alike")
    assert (check.subject, check.result) == ("hybrid", "caution")
    assert check.detail.startswith("The hybrid columns of lot h1 lasted 2.0 (")
    assert "as long as those of lot h2, p" in check.detail
    assert check_of(found, "types-apart-lots").result == "problem"
    (pair,) = [one for one in found.answers[0].claims if "-pair-" in one.id]
    assert pair.strength == "not settled"


def test_lots_that_differ_weaken_what_is_said_of_their_type() -> None:
    """Lots apart by a fifth, types by a factor of two: the types seem to differ, and lots are the reason."""
    found = found_with({"hybrid": (60.0, 62.0, 50.0, 51.0), "silica": SILICA})
    assert not any(one.id.startswith("types-apart-lots") for one in found.checks)
    (pair,) = [one for one in found.answers[0].claims if "-pair-" in one.id]
    assert pair.strength == "indicated"
    assert "lot h1" in pair.text


def test_lots_that_are_alike_take_nothing_from_an_answer() -> None:
    """What is seen of them is told, and the order of the types stays shown."""
    found = found_with({"hybrid": (60.0, 62.0, 58.0, 63.0), "silica": SILICA})
    assert check_of(found, "lots-alike").detail.startswith("No difference between lots is seen by the plate")
    (pair,) = [one for one in found.answers[0].claims if "-pair-" in one.id]
    assert pair.strength == "shown"


def test_of_too_few_failures_nothing_is_said_of_lots() -> None:
    """Where one column of four failed, whether lots differ cannot be told."""
    found = found_with({"hybrid": (600.0, 620.0, 500.0, 51.0), "silica": SILICA})
    check = check_of(found, "lots-alike")
    assert check.result == "not possible"
    assert "too few" in check.detail


def test_lots_of_which_next_to_nothing_is_known_are_not_called_alike() -> None:
    """Where a lot may live four times as long as the other by all that is seen, it cannot be told."""
    found = found_with({"hybrid": (40.0, 70.0, 42.0, 66.0), "silica": SILICA})
    (check,) = (one for one in found.checks if one.id.startswith("lots-alike") and one.subject == "hybrid")
    assert check.result == "not possible"
    assert check.detail.startswith("Whether hybrid lots differ by the plate number")
    assert "cannot be told: the hybrid columns of lot" in check.detail
