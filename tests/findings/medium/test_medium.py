"""Facts of the medium, as the report tells them."""

import re
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.chemistry.medium import stress_medium
from lyewitness.chemistry.protolytes import BUFFERS
from lyewitness.findings.medium.buffers import facts
from lyewitness.findings.medium.cautions import cautions
from lyewitness.findings.medium.retention_by_ph import Followed
from lyewitness.findings.medium.settings import stress_settings
from lyewitness.findings.medium.silica import upper_bound
from lyewitness.findings.records import ChemistryFact
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.records import (
    Column,
    Conditions,
    Injection,
    LoggedCondition,
    Marker,
    Particle,
    Question,
    Study,
)

STRESS = Conditions("pyrrolidine", 20.0, 11.3, 25.0, "acetonitrile", 30.0, 50.0, 0.4)
PARTICLES: tuple[Particle, ...] = get_args(Particle)
MARKERS = (
    Marker("uracil", "void", 0.26),
    Marker("toluene", "neutral", 2.1),
    Marker("metoprolol", "base", 2.9, 9.6),
    Marker("cresol", "acid", 1.9, 10.2),
)


def _study(
    stress: Conditions = STRESS,
    particle: Particle = "porous silica",
    hours: tuple[float, ...] = (0.0, 24.0, 240.0),
    test: Conditions | None = None,
) -> Study:
    columns = tuple(Column(f"A{n}", f"A{n}", "one", particle, "C18", 50.0, 2.1, 1.7) for n in (1, 2))
    injections = tuple(
        Injection(f"{column.id}-{hour:g}", "a.csv", column.id, exposure_h=hour)
        for column in columns
        for hour in hours
    )
    log = tuple(LoggedCondition(column.id, exposure_h=0.0, pressure_bar=240.0) for column in columns)
    question = Question("which", "Which lasts longest?")
    return Study(
        Path(), "s", "A study", (question,), stress, test or stress, columns, MARKERS, (), injections,
        conditions=log,
    )  # fmt: skip


def _measured(study: Study, hold_up_min: float = 0.26) -> Measurements:
    return Measurements(
        tuple(
            PeakRow(
                injection.id, injection.column, "one", "uracil", injection.exposure_h or 0.0, None, True,
                True, retention_time_min=hold_up_min,
            )
            for injection in study.injections
        )
    )  # fmt: skip


def _told(study: Study, hold_up_min: float = 0.26) -> dict[str, ChemistryFact]:
    told = facts(study, _measured(study, hold_up_min))
    assert len({fact.id for fact in told}) == len(told)
    return {fact.id: fact for fact in told}


def _plain(fact: ChemistryFact) -> str:
    return fact.text.replace("\u2009", " ")


def test_the_hot_ph_is_told_with_its_bounds_and_scale() -> None:
    """The text gives bench and hot pH with bounds, and a fact says on which scale they stand."""
    told = _told(_study())
    hot = stress_medium("pyrrolidine", 20.0, 11.3, 25.0, 50.0).ph
    text = _plain(told["stress-ph"])
    assert "pH 11.3, measured at 25 °C, becomes pH" in text
    for value in (hot.value, hot.low, hot.high):
        assert value is not None
        assert f"{value:.2f}" in text
    assert "aqueous part before mixing" in told["ph-scale"].text


def test_every_fact_has_text_source_and_nothing_unprintable() -> None:
    """No fact is empty, unsourced or prints a missing number."""
    for study in (
        _study(),
        _study(Conditions("ammonium bicarbonate", 10.0, 10.0, 25.0, "", None, 60.0, 0.4)),
    ):
        for fact in facts(study, _measured(study)):
            assert fact.text
            assert fact.source
            for word in ("nan", "None", "inf "):
                assert word not in fact.text


@pytest.mark.parametrize(
    ("stress", "reason"),
    [
        (replace(STRESS, buffer="recipe 7b"), "recipe 7b"),
        (replace(STRESS, ph=None), "pH measured at the bench is not stated"),
        (replace(STRESS, ph_temperature_C=None), "temperature at which the pH was measured"),
        (replace(STRESS, buffer=""), "no buffer is stated"),
    ],
)
def test_what_cannot_be_computed_is_said_with_its_reason(stress: Conditions, reason: str) -> None:
    """An unknown buffer or a missing pH leaves pH, ionisation and silica open, with the reason."""
    told = _told(_study(stress))
    for id in ("stress-ph", "stress-silica", "ionisation-metoprolol", "dissolution-one"):
        assert "cannot be computed" in told[id].text
        assert reason in told[id].text


def test_only_ionisable_markers_are_told() -> None:
    """A neutral and the void marker have no ionisation; base and acid have, with their pKa."""
    told = _told(_study())
    assert "ionisation-toluene" not in told
    assert "ionisation-uracil" not in told
    assert "base" in told["ionisation-metoprolol"].text
    assert "acid" in told["ionisation-cresol"].text
    assert "must be known to have stayed" in told["ionisation-cresol"].bearing
    assert "hardly feels" in told["ionisation-metoprolol"].bearing


def test_what_the_log_can_have_moved_is_told_as_the_audit_tells_it() -> None:
    """Where the log moved a base's retention, no fact says that it hardly feels the pH."""
    study = _study()
    followed = Followed("metoprolol", 10.31, 10.6, 10.9, (0.31, 0.58), {})
    told = {fact.id: fact for fact in facts(study, Measurements(()), (followed,))}["ionisation-metoprolol"]
    assert told.bearing.startswith(
        "The logged pH of 10.31 to 10.60 at the injections can move the retention factor"
    )
    assert "hardly feels" not in told.bearing


def test_hydroxide_is_told_as_activity() -> None:
    """Ten mmol/kg of hydroxide have an activity of 9.0 mmol/kg (activity coefficient 0.90, CRC Handbook)."""
    told = _told(_study(Conditions("sodium hydroxide", 10.0, None, None, "", None, 60.0, 0.4)))
    assert "9.0 mmol/kg at that temperature, as at the bench" in told["stress-ph"].bearing.replace(
        "\u2009", " "
    )


def test_equal_activities_of_hydroxide_are_told_once() -> None:
    """An amine keeps its hydroxide as it warms: the bench has the same number, and it is not repeated."""
    told = _told(_study(Conditions("pyrrolidine", 20.0, 11.3, 25.0, "acetonitrile", 30.0, 50.0, 0.4)))
    bearing = told["stress-ph"].bearing.replace("\u2009", " ")
    assert "is 2.0 mmol/kg at that temperature, as at the bench." in bearing, bearing


@pytest.mark.parametrize(
    ("ph", "words"), [(None, "so it loses carbon dioxide"), (10.0, "it takes carbon dioxide up")]
)
def test_carbon_dioxide_goes_the_way_of_its_pressure(ph: float | None, words: str) -> None:
    """Ammonium bicarbonate as it is (pH 7.8) loses carbon dioxide, at pH 10 it takes it up."""
    stress = Conditions("ammonium bicarbonate", 10.0, ph, 25.0, "", None, 60.0, 0.4)
    assert words in _told(_study(stress))["stress-air"].text


def test_small_changes_are_told_with_their_sign_and_size() -> None:
    """A degree more lowers the hot pH of an amine by 0.03 (dpK/dT, common practice); one mmol/kg moves it
    by one part in the capacity."""
    told = _told(_study())
    assert "One degree more moves it by −0.03" in told["stress-ph"].text
    capacity = float(_plain(told["stress-capacity"]).split("It takes ")[1].split(" ")[0])
    moved = float(told["stress-capacity"].bearing.split("about ")[1].split(":")[0])
    assert moved == pytest.approx(1.0 / capacity, rel=0.05)


def test_hold_up_is_that_of_the_fresh_column() -> None:
    """Hold-up is read from the reference injections, not from those after the bed has changed."""
    study = _study(hours=(0.0, 1.0, 2.0, 100.0, 200.0))
    rows = tuple(
        replace(row, retention_time_min=0.30) if row.exposure_h > 50.0 else row
        for row in _measured(study).rows
    )
    told = {fact.id: fact for fact in facts(study, Measurements(tuple(reversed(rows))))}
    assert "Hold-up time of the fresh columns 0.260 min" in _plain(told["bed-one"])


def test_organic_solvent_holds_no_silica() -> None:
    """Mobile phase with 30 % organic holds at most 70 % of the silica of its aqueous part."""
    mixed, water = (
        stress_settings(_study(stress))[0]
        for stress in (STRESS, replace(STRESS, organic="", organic_percent=None))
    )
    assert upper_bound(mixed) == pytest.approx(0.7 * upper_bound(water))


def test_a_marker_without_pka_is_left_open() -> None:
    """A base whose pKa is not stated is named as open."""
    study = replace(_study(), markers=(Marker("amine", "base", 2.0),))
    assert "no pKa is stated" in _told(study)["ionisation-amine"].text


def test_dissolution_is_possible_or_out_of_the_question_by_the_volume_passed() -> None:
    """Ten days of hot pyrrolidine can dissolve the bed, a few seconds cannot, an hour only its inlet."""
    assert "Solubility sets no limit" in _told(_study())["dissolution-one"].bearing
    short = _told(_study(hours=(0.0, 0.005)))["dissolution-one"].bearing
    assert "out of the question" in short
    assert "inlet" in _told(_study(hours=(0.0, 1.0)))["dissolution-one"].bearing


def test_solubility_sets_an_earliest_hour() -> None:
    """A tenth of a bed takes at least a tenth of the hours in which the volume passed could take it all."""
    text = _plain(_told(_study())["dissolution-one"])
    times = float(text.split(" times the silica")[0].rsplit(" ", 1)[1])
    earliest_h = float(text.split("cannot have gone before ")[1].split(" ")[0])
    assert earliest_h == pytest.approx(0.1 * 240.0 / times, rel=0.06)


def test_polymer_has_no_silica_to_lose() -> None:
    """For polymer particles dissolution of silica is said not to exist."""
    assert "no silica" in _told(_study(particle="polymer"))["dissolution-one"].text


def test_columns_at_other_temperatures_have_their_own_facts() -> None:
    """Each stress temperature has its pH, and names the columns it holds for."""
    study = _study()
    columns = (study.columns[0], replace(study.columns[1], temperature_C=70.0))
    told = _told(replace(study, columns=columns))
    assert "A1" in told["stress-ph"].name
    assert "A2" in told["stress-2-ph"].name
    hot = stress_medium("pyrrolidine", 20.0, 11.3, 25.0, 70.0).hot.ph
    assert f"{hot:.2f}" in told["stress-2-ph"].text


def test_injections_in_another_mobile_phase_have_their_own_ph() -> None:
    """Markers are ionised in the mobile phase of the injections, which is told where it differs."""
    mild = Conditions("ammonium acetate", 10.0, 7.0, 25.0, "acetonitrile", 30.0, 30.0, 0.4)
    told = _told(_study(test=mild))
    assert "test-ph" in told
    assert "test-ph" not in _told(_study())
    assert _plain(told["ionisation-metoprolol"]) != _plain(_told(_study())["ionisation-metoprolol"])


def test_volumes_and_pressure_are_held_against_what_was_measured() -> None:
    """Hold-up share, velocity and pressure are told, and an impossible hold-up share is noticed."""
    told = _told(_study())
    assert "60 % of the tube" in _plain(told["bed-one"])
    assert "Logged at the start: 240 bar" in _plain(told["pressure-one"])
    assert "lies where such beds should lie" in told["pressure-one"].bearing
    assert "No bed has such a hold-up share" in _told(_study(), hold_up_min=0.9)["bed-one"].text


def test_the_same_bottle_is_not_described_twice() -> None:
    """Where stress and injections draw the same bottle only the pH at the other temperature is added."""
    told = _told(_study(test=replace(STRESS, temperature_C=30.0)))
    assert "test-ph" in told
    assert "test-air" not in told
    assert "markers" in told["test-ph"].bearing


@pytest.mark.parametrize(
    ("pressure_bar", "words"),
    [(30.0, "Less is logged"), (240.0, "lies where such beds should lie"), (700.0, "More is logged")],
)
def test_an_unlikely_pressure_is_noticed(pressure_bar: float, words: str) -> None:
    """A pressure far above or below what the beds should need is said to be so."""
    study = _study()
    log = tuple(replace(row, pressure_bar=pressure_bar) for row in study.conditions)
    assert words in _told(replace(study, conditions=log))["pressure-one"].bearing


def test_organic_solvent_is_bounded_and_not_computed() -> None:
    """What the organic part does to the pH is said not to be computed; without one nothing is said."""
    told = _told(_study())["organic-part"].text
    assert "not computed" in told
    assert "0.3 to 0.9" in told
    assert "organic-part" not in _told(_study(replace(STRESS, organic="", organic_percent=None)))


def _or_none(numbers: st.SearchStrategy[float]) -> st.SearchStrategy[float | None]:
    return st.one_of(st.none(), numbers)


any_conditions = st.builds(
    Conditions,
    st.sampled_from(["", "recipe 7b", *(buffer.name for buffer in BUFFERS)]),
    _or_none(st.floats(0.0, 1000.0)),
    _or_none(st.floats(0.0, 14.0)),
    _or_none(st.floats(-10.0, 120.0)),
    st.sampled_from(["", "acetonitrile", "methanol", "THF", "ether"]),
    _or_none(st.floats(0.0, 100.0)),
    _or_none(st.floats(-10.0, 150.0)),
    _or_none(st.floats(0.0, 5.0)),
)


@settings(max_examples=150, deadline=None)
@given(any_conditions, any_conditions, st.sampled_from(PARTICLES))
def test_no_conditions_break_the_facts(stress: Conditions, test: Conditions, particle: Particle) -> None:
    """Whatever is stated or missing, every fact and caution is a sentence without a missing number."""
    study = _study(stress, particle, test=test)
    told = [fact.text + fact.bearing for fact in facts(study, _measured(study))]
    told += [caution.text + caution.called_for_by for caution in cautions(study)]
    for text in told:
        assert text
        assert not re.search(r"\b(nan|inf|None)\b", text)


def test_facts_of_an_empty_study_do_not_fail() -> None:
    """A study that states nothing yields facts that say what is missing."""
    empty = replace(_study(Conditions()), columns=(), injections=(), markers=(), conditions=())
    assert {fact.id for fact in facts(empty, Measurements(()))} >= {"ph-scale", "stress-ph"}


def test_an_absurdly_small_flow_gives_no_time_and_no_crash() -> None:
    """A flow whose product with the solubility vanishes leaves the time out."""
    told = {fact.id: fact for fact in facts(_study(replace(STRESS, flow_mL_min=5e-324)), Measurements(()))}
    assert "cannot have gone before" not in told["dissolution-one"].text


def test_a_buffer_out_of_range_is_told_once() -> None:
    """Out of range at the bench and on the column is one sentence, and nobody speaks of a hot pH at 30 °C."""
    stress = Conditions("ammonia", 20.0, 10.5, 25.0, "acetonitrile", 25.0, 30.0, 0.4)
    text = " ".join(f"{fact.text} {fact.bearing}" for fact in facts(_study(stress), Measurements(())))
    assert text.count("hardly buffers") == 1
    assert "hot" not in text
