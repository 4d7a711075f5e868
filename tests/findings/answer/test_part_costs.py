"""What a part is worth that some columns of a type had and others had not."""

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lyewitness.findings.answer.reading_questions import asked_price
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Factor
from tests.findings.answer.test_as_asked import LIVES, answered
from tests.findings.making import evidence_of, judged

TEXT = "Does a saturator column prolong life, and is it worth its 140 EUR?"
GUARD = ("H3", "H4", "C4", "C5")


def priced(prices: Sequence[float | None], currency: str = "EUR") -> Evidence:
    """Return three types of such a price a column, on two of which the part multiplies life by 1.5."""
    evidence = evidence_of(LIVES)
    factor = Factor("saturator column", {"none": ("H1", "H2", "C1", "C2", "C3"), "saturator": GUARD})
    by_group = dict(zip(LIVES, prices, strict=True))
    columns = tuple(replace(one, price=by_group[one.group]) for one in evidence.study.columns)
    return judged(evidence, replace(evidence.study, factors=(factor,), columns=columns, currency=currency))


def told(evidence: Evidence, text: str = TEXT) -> str:
    """Return the short answer with usual blanks."""
    return answered(evidence, text).short.replace("\u2009", " ").replace("\xa0", " ")


def test_a_price_that_a_question_names_is_held_against_those_of_columns() -> None:
    """1.5 times as long saves half a column for each one used: 140 EUR pay for columns beyond 280 EUR."""
    text = told(priced((620.0, 560.0, 480.0)))
    assert "one of 140 EUR for each column pays where a column costs more than 2" in text, text
    assert "these cost 560 to 620 EUR, so it pays" in text
    dear = told(priced((100.0, 90.0, 480.0)))
    assert "these cost 90 to 100 EUR, so it does not" in dear


def test_what_is_lacking_to_tell_is_named() -> None:
    """No price is invented: that of the columns is said to lack, or that of the part, or both."""
    assert "and no price of the columns is stated" in told(priced((None, None, None)))
    unpriced = "Does a saturator column prolong life, and is it worth its price?"
    text = told(priced((620.0, 560.0, 480.0)), unpriced)
    assert "pays where it costs less than 2" in text, text
    assert "no price of it is stated" in text
    neither = told(priced((None, None, None)), unpriced)
    assert "no price of it and none of the columns is stated" in neither


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("is it worth its 140 EUR?", "EUR", 140.0),
        ("is it worth €140?", "EUR", 140.0),
        ("is it worth 99,50 €?", "EUR", 99.5),
        ("is it worth 140 USD?", "EUR", None),
        ("is it worth its price?", "EUR", None),
        ("is it worth 140 EUR, or the one of 90 EUR?", "EUR", None),
        ("is it worth 140 CHF?", "", 140.0),
    ],
)
def test_an_amount_is_read_with_its_currency(text: str, currency: str, amount: float | None) -> None:
    """Of several nobody knows which is meant, and another currency than the study's is no price of it."""
    assert asked_price(text, currency) == amount
