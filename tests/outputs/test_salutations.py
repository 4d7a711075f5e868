"""Whom a reply addresses."""

import pytest

from lyewitness.outputs.salutations import department_of, person_of


@pytest.mark.parametrize(
    ("asked_by", "person"),
    [
        ("Method development, Ines", "Ines"),
        ("Ines, Method development", "Ines"),
        ("Ines", "Ines"),
        ("Dr. Ines Muster, Quality Control", "Dr. Ines Muster"),
        ("I. Muster (QC)", "I. Muster"),
        ("Purchasing: Mara", "Mara"),
        ("Routine laboratory \u2013 Paul van der Berg", "Paul van der Berg"),
        ("Ines and Paul, R&D", "Ines and Paul"),
        ("Muster, Ines", "Muster, Ines"),
        ("B", "B"),
        ("Otto / Quality control", "Otto"),
        ("Process analytics", ""),
        ("QC", ""),
        ("Head of quality control", ""),
        ("", ""),
    ],
)
def test_a_person_is_addressed_by_name(asked_by: str, person: str) -> None:
    """Whether it stands before a department or behind it."""
    assert person_of(asked_by) == person


@pytest.mark.parametrize(
    ("asked_by", "where"),
    [
        ("Process analytics", "process analytics"),
        ("Method transfer", "method transfer"),
        ("Purchasing", "purchasing"),
        ("Routine laboratory", "the routine laboratory"),
        ("The stability group", "the stability group"),
        ("Quality Control", "Quality Control"),
        ("QC", "QC"),
        ("Head of quality control", ""),
        ("Ines", ""),
        ("Analyst, second floor", ""),
        ("", ""),
    ],
)
def test_a_department_is_addressed_by_its_colleagues(asked_by: str, where: str) -> None:
    """It reads behind `Dear colleagues in`; of a role or a person alone there is none."""
    assert department_of(asked_by) == where
