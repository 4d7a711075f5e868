"""What is said of a design of two factors, one of which does less at one level of the other."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer
from lyewitness.study.records import Factor
from tests.findings.making import evidence_of, found_in, judged

LIVES: Mapping[str, Sequence[float]] = {
    "Alpha bare": (38.0, 40.0, 39.0), "Beta bare": (21.0, 22.0, 20.5),
    "With alpha": (77.0, 80.0, 74.5), "Xtra beta": (27.0, 28.0, 26.0),
}  # fmt: skip
"""The guard multiplies life by 1.97 on alpha and by 1.28 on beta; alpha lasts 1.8 and 2.9 times as long."""
FACTORS = (
    Factor("bonding", {"alpha": ("Alpha bare", "With alpha"), "beta": ("Beta bare", "Xtra beta")}),
    Factor("guard column", {"without": ("Alpha bare", "Beta bare"), "with": ("With alpha", "Xtra beta")}),
)


def answered(evidence: Evidence, text: str, **changes: Any) -> Answer:
    """Return the answer to that question alone."""
    asked = replace(evidence.study.questions[0], text=text, **changes)
    study = replace(evidence.study, questions=(asked,))
    return found_in(judged(evidence, study)).answers[0]


def plain(text: str) -> str:
    """Return text with ordinary blanks."""
    return text.replace("\u2009", " ")


@pytest.fixture(scope="module")
def crossed() -> Evidence:
    """Return two bondings, each with and without a guard that does more on one of them."""
    evidence = evidence_of(LIVES)
    return judged(evidence, replace(evidence.study, factors=FACTORS))


@pytest.fixture(scope="module")
def weakened(crossed: Evidence) -> Evidence:
    """Return the same with the columns of each group from one lot, which weakens what is said of types."""
    columns = tuple(replace(c, lot=c.group) for c in crossed.study.columns)
    return judged(crossed, replace(crossed.study, columns=columns))


def test_a_reason_that_weakens_several_factors_is_told_once(weakened: Evidence) -> None:
    """Why it says ‘seems’ stands in full with the first factor; with the others it is referred to."""
    claims = answered(weakened, "What do the bonding and the guard column do?").claims
    told = [plain(one.text) for one in claims if "-factor-" in one.id]
    assert len(told) == 2
    assert "We say ‘seems’ for this reason: " in told[0], told
    assert told[1].endswith("We say ‘seems’ for the same reason as of the bonding."), told
