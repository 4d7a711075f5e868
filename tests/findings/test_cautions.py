"""Cautions follow from the study's own conditions."""

from pathlib import Path

import pytest

from lyewitness.findings.cautions import cautions
from lyewitness.study.records import Conditions, Question, Study


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


def test_unknown_buffer_without_ph_is_taken_as_strong_alkali() -> None:
    """Free text of which nothing is known calls for the general cautions of alkali."""
    ids = {caution.id for caution in cautions(_study(Conditions("recipe 7b")))}
    assert {"corrosive-alkali", "alkali-on-materials", "leak-in-a-heated-compartment", "waste"} <= ids
