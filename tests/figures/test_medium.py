"""The medium drawn, and its numbers in one table."""

from dataclasses import replace

import pytest

from lyewitness.figures.medium import chemistry_figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.outputs.templates import kept_together

LOOK = look_from({})


def test_the_figure_says_what_the_facts_say(example: Report) -> None:
    """pH from bottle to oven, the charge of the base, the hours in which the lightest bed could go."""
    figure = chemistry_figure(example, LOOK)
    assert figure is not None
    said = figure.alt.replace("\u2009", " ")
    assert "From 25 °C to 50 °C the pH goes from 11.20 to 10.46 (10.40 to 10.52)." in said
    assert "At 40 °C 0.6 % (0.3 to 1.0) of dimethylbenzylamine bears a charge." in said
    assert "the 90 mg of the lightest bed could be gone after 7.1 h at the earliest" in said
    quantities = {row[0] for row in figure.table[1:]}
    assert {"pH, stress", "% charged, dimethylbenzylamine", "mg of silica dissolved, stress"} <= quantities


def test_polymer_alone_has_no_panel_of_silica(example: Report) -> None:
    """A study without silica is told nothing of silica."""
    columns = tuple(one for one in example.study.columns if one.particle == "polymer")
    figure = chemistry_figure(replace(example, study=replace(example.study, columns=columns)), LOOK)
    assert figure is not None
    assert "silica" not in " ".join(row[0] for row in figure.table)
    assert "saturated" not in figure.alt


def test_without_conditions_there_is_no_figure(example: Report) -> None:
    """Where neither pH nor silica can be computed nothing is drawn."""
    nothing = replace(example.study.stress, buffer="a secret mixture", buffer_mM=None, ph=None)
    study = replace(example.study, stress=nothing, test=nothing)
    assert chemistry_figure(replace(example, study=study), LOOK) is None


@pytest.mark.parametrize("width", ["", "narrow"])
def test_every_fact_is_a_row_that_can_be_linked_to(
    example_pages: dict[str, str], example: Report, width: str
) -> None:
    """The page has one figure and one table; each fact keeps its address, its words and its source."""
    page = example_pages["chemistry.html"].replace("\u202f", "\u2009")
    assert page.count("<table") == 1
    assert f"figures/chemistry{'-' + width if width else ''}.svg" in page
    assert page.count('<tr id="fact-') == len(example.findings.chemistry)
    for fact in example.findings.chemistry:
        told = kept_together(fact.value).replace("\u202f", "\u2009")
        assert f"<td>{told or 'no number'}" in page
