"""What sets the columns that lasted apart from those that failed is said, and named first."""

from collections.abc import Mapping

import pytest

from lyewitness.findings.records import Findings
from tests.findings.making import check_of, evidence_of, found_in, judged, with_columns

SILICA = (30.0, 31.0, 29.0, 30.0)


def found_with(lives: tuple[float, ...], **changes: Mapping[str, object]) -> Findings:
    """Return the findings of hybrid columns of one lot, on one block, but for what is changed."""
    evidence = evidence_of({"hybrid": lives, "silica": SILICA})
    alike = {f"H{number}": {"lot": "A7", "block": "pump 1"} for number in range(1, len(lives) + 1)}
    own = {one: alike.get(one, {}) | dict(changes.get(one, {})) for one in {**alike, **changes}}
    return found_in(judged(evidence, with_columns(evidence.study, **own)))


def ids(found: Findings) -> list[str]:
    """Return the ids of all checks."""
    return [check.id for check in found.checks]


def test_the_only_column_that_lasted_is_the_only_one_of_its_lot() -> None:
    """One of another lot that outlived all of one lot may tell of the lot: said, and before anything else."""
    found = found_with((40.0, 42.0, 45.0, 600.0), H4={"lot": "B2"})
    check = check_of(found, "set-apart")
    assert (check.result, check.subject) == ("caution", "hybrid")
    assert check.detail.startswith("H4, the only hybrid column that lasted beyond 50\u2009h by the plate")
    assert check.detail.endswith("of caffeine, is the only one of lot B2.")
    said = found.answers[0].how_sure
    assert ": H4, the only hybrid column that lasted beyond" in said, said
    (pair,) = [one for one in found.answers[0].claims if "-pair-" in one.id]
    assert pair.strength != "shown"


def test_the_columns_that_failed_early_are_those_of_one_block() -> None:
    """Whatever is stated of each column counts: two that failed first share the only other pump."""
    found = found_with((40.0, 42.0, 95.0, 90.0, 97.0), H1={"block": "2"}, H2={"block": "2"})
    detail = check_of(found, "set-apart").detail
    assert detail.startswith("H1 and H2, the two hybrid columns that failed before ")
    assert "are the only ones on block 2" in detail


def test_a_block_of_several_types_sets_no_column_apart() -> None:
    """What lies in a block that other types share shows on these, and is no property of the one column."""
    blocks = {f"S{number}": {"block": "2" if number == 4 else "pump 1"} for number in range(1, 5)}
    found = found_with((40.0, 42.0, 45.0, 600.0), H4={"block": "2"})
    assert "set-apart" in ids(found)
    shared = found_with((40.0, 42.0, 45.0, 600.0), H4={"block": "2"}, **blocks)
    assert "set-apart" not in ids(shared)


@pytest.mark.parametrize(
    ("lives", "changes"),
    [
        ((40.0, 42.0, 45.0, 43.0), {"H4": {"lot": "B2"}}),
        ((40.0, 42.0, 45.0, 600.0), {"H1": {"lot": "B1"}, "H2": {"lot": "B2"}, "H3": {"lot": "B3"}}),
        ((40.0, 42.0, 45.0, 600.0), {"H3": {"lot": "B2"}, "H4": {"lot": "B2"}}),
        ((600.0, 610.0, 590.0, 600.0), {"H4": {"lot": "B2"}}),
    ],
    ids=["within the others", "each its own lot", "lot on both sides", "nothing failed"],
)
def test_what_goes_with_no_life_is_not_told(
    lives: tuple[float, ...], changes: Mapping[str, Mapping[str, object]]
) -> None:
    """A lot that lived as the others did, or of which each column has its own, explains nothing."""
    assert "set-apart" not in ids(found_with(lives, **changes))
