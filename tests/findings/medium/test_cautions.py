"""Cautions follow from the study's own conditions."""

from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from lyewitness.chemistry.hazards import HazardKind
from lyewitness.findings.medium.cautions import BRIEFLY, TEXTS, cautions
from lyewitness.study.records import Column, Conditions, Question, Study


def _study(stress: Conditions, test: Conditions | None = None) -> Study:
    question = Question("which", "Which lasts longest?")
    return Study(Path(), "s", "A study", (question,), stress, test or stress, (), (), (), ())


HOT_PYRROLIDINE = Conditions("pyrrolidine", 20.0, 11.3, 25.0, "acetonitrile", 30.0, 50.0, 0.4)


@pytest.mark.parametrize(
    ("conditions", "expected"),
    [
        (HOT_PYRROLIDINE, {"amine-vapour", "neat-amine-flammable", "hot-flammable-solvent", "toxic-solvent",
                           "leak-in-a-heated-compartment", "alkali-on-materials", "waste", "mild-alkali"}),
        (Conditions("ammonium bicarbonate", 10.0, 10.0, 25.0, "", None, 60.0),
         {"ammonia-vapour", "gas-from-carbonate", "hot-surfaces", "leak-in-a-heated-compartment",
          "alkali-on-materials", "waste", "mild-alkali"}),
        (Conditions("sodium hydroxide", 100.0, 13.0, 25.0, "methanol", 50.0, 20.0),
         {"corrosive-alkali", "flammable-solvent", "toxic-solvent", "alkali-on-materials", "waste"}),
        (Conditions("borate", 20.0, 9.2, 25.0, "", None, 30.0),
         {"borate-and-reproduction", "mild-alkali", "alkali-on-materials", "waste"}),
    ],
)  # fmt: skip
def test_conditions_call_for_their_cautions_and_no_others(conditions: Conditions, expected: set[str]) -> None:
    """Each condition brings its cautions, and nothing it does not contain brings any."""
    between = cautions(_study(conditions))[1:-1]
    assert {caution.id for caution in between} == expected


@pytest.mark.parametrize("conditions", [Conditions(), HOT_PYRROLIDINE, Conditions("our usual", None, None)])
def test_data_sheets_and_qualified_people_come_first_and_last(conditions: Conditions) -> None:
    """The first and the last word belong to data sheets, local rules and qualified people."""
    told = cautions(_study(conditions))
    for caution in (told[0], told[-1]):
        for words in ("safety data sheets", "local rules" if caution is told[-1] else "rules", "qualified"):
            assert words in f"{caution.title} {caution.text}".casefold()


@pytest.mark.parametrize("words", ["ppm", "mg/m", "dose", "antidote", "doctor prescribes"])
def test_no_limit_of_exposure_and_no_medicine(words: str) -> None:
    """Cautions name no limit of exposure and give no medical advice beyond rinsing and getting help."""
    conditions = Conditions("triethylamine borate carbonate hydroxide", 50.0, 13.0, 25.0, "THF", 70.0, 80.0)
    for caution in cautions(_study(conditions)):
        assert words not in caution.text


def test_a_caution_names_every_condition_that_calls_for_it_once() -> None:
    """Stress and test are told together, each condition once, and column temperatures count."""
    test = Conditions("pyrrolidine", 20.0, 11.3, 25.0, "acetonitrile", 45.0, 30.0, 0.4)
    study = _study(HOT_PYRROLIDINE, test)
    column = Column("A", "A", "one", "polymer", temperature_C=75.0)
    told = {caution.id: caution for caution in cautions(replace(study, columns=(column,)))}
    called = told["hot-flammable-solvent"].called_for_by.replace("\u2009", " ")
    assert called == "acetonitrile, 30 %"
    assert (
        told["toxic-solvent"].called_for_by.replace("\u2009", " ") == "acetonitrile, 30 %; acetonitrile, 45 %"
    )
    assert "75" in told["hot-surfaces"].called_for_by


def test_every_kind_of_hazard_has_its_words() -> None:
    """No hazard is dropped for want of a text, and no text waits for a hazard that never comes."""
    assert set(TEXTS) == set(BRIEFLY) == set(get_args(HazardKind))


def test_no_caution_is_told_twice() -> None:
    """Every caution has an id of its own, a title, a text and what calls for it."""
    told = cautions(_study(HOT_PYRROLIDINE))
    assert len({caution.id for caution in told}) == len(told)
    for caution in told:
        assert caution.title
        assert caution.text
        assert caution.called_for_by


def test_unknown_buffer_without_ph_is_taken_as_strong_alkali() -> None:
    """Free text of which nothing is known calls for the general cautions of alkali."""
    ids = {caution.id for caution in cautions(_study(Conditions("recipe 7b")))}
    assert {"corrosive-alkali", "alkali-on-materials", "leak-in-a-heated-compartment", "waste"} <= ids


def test_a_ph_that_is_not_stated_calls_for_nothing_but_is_assumed() -> None:
    """Where no pH is stated, the caution says that alkali is assumed."""
    called = {caution.id: caution.called_for_by for caution in cautions(_study(Conditions("recipe 7b")))}
    assert "pH not stated; assumed alkaline" in called["corrosive-alkali"]
