"""A shelf of sixty studies with known truth is built, asked, and says what it may."""

import json
import os
import re
import subprocess
import sys
import time
from dataclasses import replace
from math import exp, log
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lyewitness.cli import main
from lyewitness.shelf.across import Point, drift, fit, further_life, predict
from lyewitness.shelf.alike import model_of
from lyewitness.shelf.asking import ask, foreseen_words
from lyewitness.shelf.contradictions import contradictions
from lyewitness.shelf.gathering import Shelf, gather
from lyewitness.shelf.ranges import Range
from lyewitness.shelf.records import ColumnLife, Shelved, ShelvedColumn, ShelvedOrder
from lyewitness.shelf.site import site
from lyewitness.shelf.standing import standing
from lyewitness.shelf.type_page import type_body
from lyewitness.shelf.understanding import understood
from lyewitness.shelf.variances import variances_of
from tests.shelf.further_lives import LAWS, counted
from tests.shelf.making import GAS, TRUE_ENERGY, TRUE_PER_PH, Told, lay_down, sixty
from tests.shelf.questions import answered


def refuse(_folder: Path) -> None:
    """Stand for measuring, which no finished report needs."""
    raise AssertionError("nothing is measured here")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of 57 reports and a bag that is not whole."""
    folder = tmp_path_factory.mktemp("shelf") / "studies"
    folder.mkdir()
    sixty(folder)
    bag = folder / "damaged"
    (bag / "data").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\n")
    (bag / "manifest-sha256.txt").write_text(f"{'0' * 64}  data/a.txt\n")
    (bag / "data" / "a.txt").write_text("not what was hashed")
    return folder


@pytest.fixture(scope="module")
def shelf(folder: Path) -> Shelf:
    """Return the shelf of the folder."""
    return gather(folder, {}, refuse)  # type: ignore[arg-type]


def test_every_study_is_there_and_the_damaged_one_is_told_as_that(shelf: Shelf) -> None:
    """57 whole studies, and one of which the damaged file is named."""
    assert sum(not one.damage for one in shelf.studies) == 57
    (damaged,) = [one for one in shelf.studies if one.damage]
    assert "data/a.txt" in damaged.damage


# Written before the search was first run: question, and what must stand first (type, bonding, °C, pH).
QUESTIONS = (
    ("pyrrolidine pH 10.5, 40 °C, polymer, three days", ("polymer", 40.0, 10.5)),
    ("diethylamine pH 11, 50 °C, porous silica", ("porous silica", 50.0, 11.0)),
    ("porous hybrid at 60 °C and pH 11.5 in pyrrolidine", ("porous hybrid", 60.0, 11.5)),
    ("how long does coated silica hold in diethylamine, pH 10.5, 70 degrees?", ("coated silica", 70.0, 10.5)),
    ("core-shell silica C18, 50 °C, pH 11, 48 h", ("core-shell silica", 50.0, 11.0)),
    ("did anybody test polymer phenyl at pH 11.5 and 60 °C?", ("polymer", 60.0, 11.5)),
    ("will porous hybrid survive pH 11 at 40°C for a week", ("porous hybrid", 40.0, 11.0)),
    ("coated silica C8, pH 11.5, 50 °C", ("coated silica", 50.0, 11.5)),
    ("porous silica at 70 C, pH 10.5", ("porous silica", 70.0, 10.5)),
    ("polymer, diethylamine, 70 °C, pH 11", ("polymer", 70.0, 11.0)),
    ("pyrrolidine, core-shell silica, 60 °C, pH 10.5", ("core-shell silica", 60.0, 10.5)),
    ("hybrid C18 at pH 10,5 and 70 °C", ("porous hybrid", 70.0, 10.5)),
    ("pH 10.5, 40 °C, porous silica in pyrrolidine", ("porous silica", 40.0, 10.5)),
    ("mended study of the hybrid", ("porous hybrid", None, None)),
    ("polymer that failed early", ("polymer", None, None)),
    ("coated silica 60 °C pH 11.5 pyrrolidine, two days", ("coated silica", 60.0, 11.5)),
    ("phenyl polymer, pH of 11, 50 °C, ten days", ("polymer", 50.0, 11.0)),
    ("core-shell silica at pH 11.5 and 60 °C for 24 hours", ("core-shell silica", 60.0, 11.5)),
    ("C8 at 40 °C and pH 11 in pyrrolidine", ("coated silica", 40.0, 11.0)),
    ("porous silica pH 11.5 at 60 °C", ("porous silica", 60.0, 11.5)),
)


@pytest.mark.parametrize(("question", "wanted"), QUESTIONS)
def test_the_right_study_stands_first(
    shelf: Shelf, question: str, wanted: tuple[str, float | None, float | None]
) -> None:
    """Type, temperature and pH of the first hit are those asked for, and it says why."""
    first = ask(question, shelf.studies)[0]
    life = first.study.lives[0]
    assert life.particle == wanted[0], first
    assert wanted[1] in (None, life.temperature_C), first.why
    assert wanted[2] in (None, life.ph), first.why
    assert first.why


def test_questions_in_other_words_find_the_right_study(tmp_path: Path) -> None:
    """Fifty more, written by who asks and not by whoever named the studies; thirty of them in ranges."""
    assert [question for question, _, found in answered(tmp_path / "studies") if found] == []


def at(value: float) -> Range:
    """Return a point."""
    return Range(value, value)


def test_a_question_is_understood() -> None:
    """Numbers are quantities, the rest are words; units and decimal commas are known."""
    asked = understood("pyrrolidine pH 11,3, 50 °C, polymer, three days")
    assert (asked.ph, asked.temperature_C, asked.span_h) == (at(11.3), at(50.0), at(72.0))
    assert asked.words == ("pyrrolidine", "polymer")
    for words in (
        "polymer at 323 K",
        "polymer at 323.15K",
        "polymer, 122 °F",
        "polymer 122 degrees Fahrenheit",
    ):
        heat = understood(words).temperature_C
        assert heat is not None
        assert heat.low == heat.high == pytest.approx(50.0, abs=0.2), words
        assert understood(words).words == ("polymer",), words
    assert understood("10 K plates on a polymer").temperature_C is None


def test_signs_in_a_question_do_no_harm(shelf: Shelf) -> None:
    """Quotes and operators of the full text are words like others."""
    for question in (
        f"{'9' * 400} h",
        f"{'9' * 400} °C",
        '"; drop table shelf; --',
        "NEAR( * ^ polymer",
        "AND OR NOT",
        "",
        "π",
    ):
        ask(question, shelf.studies)


def test_a_superseded_study_is_told_beneath_its_successor_alone(shelf: Shelf) -> None:
    """The mended study stands alone, and says which one it supersedes."""
    hits = ask("porous hybrid diethylamine 50 °C pH 11", shelf.studies)
    (mended,) = [hit for hit in hits if hit.study.id == "2025-900"]
    assert "2024-006" not in [hit.study.id for hit in hits]
    assert "It supersedes ‘porous hybrid C18 in hot diethylamine’ (study 2024-006, " in mended.beneath[0]


def test_the_two_that_contradict_are_told_with_what_differed(shelf: Shelf) -> None:
    """Lives six times apart at the same conditions, with the lots; nothing else is called a contradiction."""
    found = list(contradictions(standing(shelf.studies).counting))
    assert [{clash.one.id, clash.other.id} for clash in found] == [{"2024-002", "2025-901"}]
    assert "lot L2 against L8" in found[0].told
    assert ", both at " in found[0].told


PLACED = ColumnLife(
    "c", "polymer", "polymer", "phenyl", "L1", "pyrrolidine", 20.0, "acetonitrile", 50.0, 11.0, 10.3,
    "toluene", "neutral", "plate_number_half_height", "at_least_percent = 80", 100.0, 90.0, 110.0, "reached",
)  # fmt: skip
LONG = replace(PLACED, life_h=300.0, low_h=280.0, high_h=330.0)
NO_PH = replace(PLACED, ph=None, ph_hot=None)
OUTLIVED = replace(PLACED, life_h=None, low_h=500.0, high_h=None, state="not reached")


def one_study(study: str, *lives: ColumnLife, **changes: Any) -> Shelved:
    """Return a study with these lives, whose columns state what the lives were measured under."""
    stated = ("buffer", "organic", "group", "lot", "upstream")
    columns = tuple(
        ShelvedColumn(
            life.column, tuple((key, str(getattr(life, key))) for key in stated if getattr(life, key))
        )
        for life in lives
    )
    return Shelved(study, study, study, f"{study}/index.html", lives=lives, **{"columns": columns, **changes})


@pytest.mark.parametrize(
    ("first", "second", "clashes"),
    [
        pytest.param((PLACED, PLACED), (LONG,), True, id="far"),
        pytest.param((PLACED, PLACED), (OUTLIVED, OUTLIVED), True, id="one failed, the other not"),
        pytest.param((replace(PLACED, high_h=700.0),), (OUTLIVED,), False, id="an interval reaches there"),
        pytest.param((replace(OUTLIVED, low_h=50.0),), (LONG,), False,
                     id="one was not run for so long"),
        pytest.param((NO_PH,), (replace(OUTLIVED, ph=None, ph_hot=None),), False,
                     id="no pH is stated"),
        pytest.param((replace(PLACED, ph_hot=None),), (OUTLIVED,), False, id="one pH is of the bench"),
        pytest.param((replace(PLACED, buffer=""),), (replace(OUTLIVED, buffer=""),), False, id="no buffer"),
        pytest.param((PLACED,), (replace(OUTLIVED, temperature_C=40.0),), False, id="colder"),
        pytest.param((PLACED,), (replace(PLACED, life_h=10.0, low_h=9.0, high_h=11.0, temperature_C=80.0),
                                 replace(PLACED, column="d")), False, id="hotter, and as there"),
    ],
)  # fmt: skip
def test_only_what_cannot_be_true_of_both_is_a_contradiction(
    first: tuple[ColumnLife, ...], second: tuple[ColumnLife, ...], clashes: bool
) -> None:
    """Lives by their intervals, what was not reached by how long it lasted, at conditions that both state."""
    for studies in ((one_study("A", *first), one_study("B", *second)),
                    (one_study("A", *second), one_study("B", *first))):  # fmt: skip
        assert bool(list(contradictions(studies))) is clashes


def test_studies_that_order_two_types_in_opposite_ways_contradict_each_other() -> None:
    """Who differs in lot and year is told with both; the same order, or another temperature, is none."""
    silica = replace(PLACED, group="silica", particle="porous silica", bonding="C18")
    order = ShelvedOrder("polymer", "silica", "toluene", "plate_number_half_height")
    opposite = replace(order, longer="silica", shorter="polymer")
    other = (replace(PLACED, lot="L2"), replace(silica, lot="L2"))
    one = one_study("A", PLACED, silica, orders=(order,), asked_on="2020-01-01")
    (clash,) = contradictions((one, one_study("B", *other, orders=(opposite,), asked_on="2024-01-01")))
    assert clash.about == "polymer phenyl and porous silica C18, plate number (half height) of toluene"
    assert (
        "polymer phenyl outlasts porous silica C18 at 50 °C, pH 10.3 when hot, and porous silica"
        in clash.told
    )
    assert "What differed: lot L1 against L2; year 2020 against 2024" in clash.told
    assert not list(contradictions((one, one_study("B", *other, orders=(order,)))))
    cold = tuple(replace(life, temperature_C=40.0) for life in other)
    assert not list(contradictions((one, one_study("B", *cold, orders=(opposite,)))))


@pytest.mark.parametrize(
    "change",
    [
        {"limit": "at_least_percent = 50"},
        {"marker": "uracil"},
        {"metric": "retention_factor"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_lives_to_another_limit_marker_or_metric_clash_with_nothing(change: dict[str, str]) -> None:
    """Until 50 % a column lives longer than until 80 %, and both are right; so with orders of two types."""
    silica = replace(PLACED, group="silica", particle="porous silica", bonding="C18", column="s")
    order = ShelvedOrder("polymer", "silica", "toluene", "plate_number_half_height")
    of_change = {key: value for key, value in change.items() if key != "limit"}
    opposite = replace(order, longer="silica", shorter="polymer", **of_change)
    one = one_study("A", PLACED, silica, orders=(order,))
    same = one_study("B", LONG, replace(silica, life_h=400.0, low_h=390.0, high_h=410.0), orders=(opposite,))
    other = replace(
        same,
        lives=tuple(replace(life, **change) for life in same.lives),  # type: ignore[arg-type]
    )
    assert list(contradictions((one, same)))
    assert not list(contradictions((one, other)))


def test_of_two_that_clash_it_is_told_which_is_newer_larger_and_counts_across_studies() -> None:
    """A reader weighs the two by that; of fewer than three studies no life is taken together."""
    two = (LONG, replace(LONG, column="d", life_h=310.0))
    one, other = one_study("A", PLACED), one_study("B", *two, asked_on="2025-03-01")
    (clash,) = contradictions((replace(one, asked_on="2024-03-01"), other))
    assert clash.weighed.startswith(
        "Of the two, B is the newer (asked 2025-03-01 against 2024-03-01); B has more columns (two against "
        "one); neither counts in a life across studies, for there is none (two studies have columns that "
    )
    (clash,) = contradictions((one, other))
    assert "neither is known to be newer" in clash.weighed
    # Two in the middle, which clash with neither and give the model its studies.
    middle = [
        one_study(name, *(replace(PLACED, column=at, life_h=life, low_h=60.0, high_h=500.0) for at in "ef"))
        for name, life in (("C", 170.0), ("D", 180.0))
    ]
    (clash,) = contradictions((one, other, *middle))
    assert clash.weighed.endswith("; both count in the life across studies")


def test_the_page_of_contradictions_says_what_counts_as_one(shelf: Shelf) -> None:
    """The rule stands above the list, each of both studies with its id and a way to its report."""
    page = site(shelf, "../")["contradictions.html"].decode("utf-8")
    assert "more than 2 times apart" in page
    assert "within 3 °C and 0.2 of pH" in page
    assert "(2024-002)" in page
    assert "(2025-901)" in page


def test_reports_tell_the_shelf_which_group_outlasts_which(tmp_path: Path) -> None:
    """The order comes from the comparisons of the report, and survives the shelf's memory."""
    lay_down(
        Told("X", "polymer", "C18", "pyrrolidine", 50.0, 11.0, 10.3, "L1", (80.0,)), tmp_path / "s" / "X"
    )
    (tmp_path / "s/X/data/comparisons.csv").write_text(
        "marker,metric,group_a,group_b,finding\nm,n,A,B,b lasts longer\nm,n,A,C,not settled\n"
    )
    shelf = gather(tmp_path / "s", {}, refuse)  # type: ignore[arg-type]
    assert shelf.studies[0].orders == (ShelvedOrder("B", "A", "m", "n"),)
    again = gather(tmp_path / "s", json.loads(json.dumps(shelf.memory)), refuse)  # type: ignore[arg-type]
    assert (again.read_anew, again.studies) == (0, shelf.studies)


def test_a_study_that_takes_the_place_of_none_on_the_shelf_is_remarked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Terminal and site name the id that is missed; one study is 'one study', and no limit is told raw."""
    told = Told("X", "polymer", "C18", "pyrrolidine", 50.0, 11.0, 10.3, "L1", (80.0,), supersedes="GONE")
    lay_down(told, tmp_path / "s" / "X")
    assert (
        main(["shelf", str(tmp_path / "s"), "--into", str(tmp_path / "site"), "--ask", "polymer 323 K"]) == 0
    )
    captured = capsys.readouterr()
    assert "takes the place of study 'GONE', which is not on this shelf" in captured.out + captured.err
    assert "One study, one of them new or changed." in captured.out
    assert "because it has the word polymer; was run at 50" in captured.out
    pages = "".join(page.read_text(encoding="utf-8") for page in (tmp_path / "site").rglob("*.html"))
    assert "Takes the place of GONE, which is not on this shelf." in pages
    assert "One column of one study reached the limit (at least 80" in pages
    assert "at_least_percent =" not in re.sub(r'(href|data-[a-z]+)="[^"]*"', "", pages)


def test_the_truth_lies_in_the_intervals_of_the_types(shelf: Shelf) -> None:
    """Of five types the activation energy and pH dependence lie in 95 % intervals, of four at least."""
    held: dict[str, list[tuple[Shelved, object]]] = {}
    for study in shelf.studies:
        for life in study.lives:
            if not study.damage and study.id not in ("2025-900", "2025-901"):
                held.setdefault(life.kind, []).append((study, life))
    models = [model_of(one) for one in held.values()]  # type: ignore[arg-type]
    energies = [model.activation_energy_kJ_mol for model in models]
    assert len(models) == 5
    assert sum((one.low or 9e9) < TRUE_ENERGY < (one.high or 0) for one in energies) >= 4
    slopes = [model.per_ph for model in models]
    assert sum((one.low or 0) < TRUE_PER_PH < (one.high or -9) for one in slopes if one.low is not None) >= 4


def test_the_published_arrhenius_example_is_met() -> None:
    """N2O5, k = 4.9e-3, 5.0e-4, 3.5e-5 per second at 338, 318, 298 K: 103.48 kJ/mol, R = 8.314 (textbook)."""
    points = [
        Point(f"s{place}{twin}", life_h=1 / k / 3600, temperature_C=kelvin - 273.15, ph=7.0)
        for place, (kelvin, k) in enumerate(((338, 4.9e-3), (318, 5.0e-4), (298, 3.5e-5)))
        for twin in "ab"
        for _ in range(2)
    ]
    energy = fit(points).activation_energy_kJ_mol.value
    assert energy is not None
    assert energy * 8.314e-3 / GAS == pytest.approx(103.48, abs=0.01)


def test_the_model_agrees_with_an_independent_one() -> None:
    """statsmodels' MixedLM (REML) gives the same coefficients and variances."""
    mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model")
    rng = np.random.default_rng(3)
    points = drawn(rng, studies=12)
    model = fit(points)
    inverse = np.array([1 / (one.temperature_C + 273.15) for one in points])
    ph = np.array([one.ph for one in points])
    # Scaled to about one, so that the optimiser of the other program converges.
    design = np.column_stack((np.ones(len(points)), (inverse - inverse.mean()) * 1e4, ph - ph.mean()))
    result = mixed.MixedLM(
        np.log([one.life_h for one in points]), design, groups=[one.study for one in points]
    ).fit(reml=True)
    assert model.activation_energy_kJ_mol.value == pytest.approx(result.fe_params[1] * 1e4 * GAS, rel=1e-3)
    assert model.per_ph.value == pytest.approx(result.fe_params[2], rel=1e-3)
    assert (model.between_sd or 0) ** 2 == pytest.approx(float(result.cov_re[0, 0]), rel=0.01)
    assert (model.within_sd or 0) ** 2 == pytest.approx(float(result.scale), rel=0.01)


def drawn(rng: np.random.Generator, studies: int, between: float = 0.3, within: float = 0.2) -> list[Point]:
    """Return three columns of each of some studies, drawn from the law."""
    points = []
    for number in range(studies):
        heat, ph = rng.uniform(40, 70), rng.uniform(9.5, 11)
        points += further(rng, f"s{number}", heat, ph, between, within)
    return points


def further(
    rng: np.random.Generator, study: str, heat: float, ph: float, between: float, within: float
) -> list[Point]:
    """Return three columns of one study."""
    laboratory = rng.normal(0, between)
    middle = log(100) + TRUE_ENERGY / GAS * (1 / (heat + 273.15) - 1 / 328.15) + TRUE_PER_PH * (ph - 10)
    return [Point(study, exp(middle + laboratory + rng.normal(0, within)), heat, ph) for _ in range(3)]


@pytest.mark.parametrize("studies", [6, 10, 20])
def test_the_prediction_holds_a_further_column_in_a_further_laboratory(studies: int) -> None:
    """Of 600 shelves, 93 to 97 % of further columns lie within the interval (± 1.8 % is chance alone)."""
    rng = np.random.default_rng(100 + studies)
    within = 0
    for _ in range(600):
        model = fit(drawn(rng, studies))
        heat, ph = rng.uniform(45, 65), rng.uniform(9.7, 10.8)
        life = predict(model, heat, ph).life_h
        assert life.low is not None
        assert life.high is not None
        within += life.low < further(rng, "new", heat, ph, 0.3, 0.2)[0].life_h < life.high
    assert 0.93 <= within / 600 <= 0.97


@pytest.mark.parametrize("law", ["scatter differs", "t effects", "unbalanced", "all of it"])
@pytest.mark.parametrize("studies", [5, 8])
def test_the_prediction_holds_under_laws_that_it_does_not_assume(law: str, studies: int) -> None:
    """Of 1,000 shelves 92 to 98 % (93 to 97, and ± 1.4 % is chance alone), and no life is without one."""
    found = counted(LAWS[law], studies, 1000, two_terms=False, seed=studies)
    assert found.given >= 990
    assert 0.92 <= found.held / found.given <= 0.98


def test_three_studies_hold_rather_too_much_than_too_little() -> None:
    """Of one study more than coefficients the interval is wide, and no narrower than it may be."""
    found = counted(LAWS["laboratories far apart"], 3, 1000, two_terms=False, seed=3)
    assert found.held / found.given >= 0.93
    rng = np.random.default_rng(11)
    assert [fit(drawn(rng, number)).is_scant for number in (2, 4, 5)] == [False, True, False]


def test_nothing_is_foreseen_of_two_studies_and_the_hull_is_told() -> None:
    """Fewer than three studies give no model; outside the tested conditions it is said by how far."""
    rng = np.random.default_rng(5)
    assert fit(drawn(rng, 2)).reason.startswith("two studies have columns")
    assert "no fair sample" in fit(drawn(rng, 8), censored=20).reason
    model = fit(drawn(rng, 12))
    assert predict(model, 55.0, 10.2).outside == ""
    assert "°C outside the" in predict(model, 95.0, 10.2).outside


@pytest.mark.parametrize(
    ("kind", "middle"), [("porous silica", 40.0), ("porous hybrid", 220.0), ("coated silica", 70.0)]
)
def test_asking_foretells_a_life_whose_interval_holds_the_truth(
    shelf: Shelf, kind: str, middle: float
) -> None:
    """Inside what was tested the typical life lies in the interval, and the sentence says what it is."""
    told = foreseen_words(f"how long does {kind} last in pyrrolidine at 55 °C and pH 11?", shelf.studies)
    assert told.startswith("Indicated, not shown, by ")
    assert "in a further laboratory" in told
    assert "outside" not in told
    found = re.search(r"lasts ([\d.,]+)\S*h? .*?\(([\d.,]+) to ([\d.,]+)\)", told.replace("\u2009", " "))
    hot = re.search(r"pH ([\d.]+) when hot", told)
    assert found is not None, told
    assert hot is not None
    low, high = (float(end.replace(",", "")) for end in found.groups()[1:])
    heat = TRUE_ENERGY / GAS * (1 / (55.0 + 273.15) - 1 / 333.15)
    truth = middle * exp(heat + TRUE_PER_PH * (float(hot.group(1)) - 10.0))
    assert low < truth < high, told


def test_what_is_foreseen_says_how_far_outside_it_lies(shelf: Shelf) -> None:
    """Ten degrees above the hottest study are told as that."""
    told = foreseen_words("porous silica in pyrrolidine, 80 °C, pH 11", shelf.studies)
    assert "Mind: " in told
    assert "°C outside the" in told


@pytest.mark.parametrize(
    ("question", "part"),
    [
        ("pyrrolidine, 55 °C, pH 11", "name the type of a column"),
        ("porous silica in brine of unknown make, 55 °C, pH 11", "Indicated"),
        ("porous silica, pH 11", ""),
        ("porous silica, 55 °C", ""),
    ],
)
def test_what_a_question_must_say_to_be_foretold(shelf: Shelf, question: str, part: str) -> None:
    """Type, temperature and pH are wanted; the buffer is named in the reply."""
    told = foreseen_words(question, shelf.studies)
    assert part in told
    assert bool(told) is bool(part)


def test_two_studies_foretell_nothing(shelf: Shelf) -> None:
    """Fewer than three studies bear no prediction, and superseded ones do not count."""
    ids = {"2024-006", "2025-900", "2024-011"}  # the first is superseded by the second
    few = [one for one in shelf.studies if one.id in ids]
    kind = next(one for one in few if one.id == "2025-900").lives[0]
    told = foreseen_words(f"{kind.particle} in {kind.buffer} at 50 °C, pH 11", few)
    assert told.startswith("No life is foreseen for ")
    assert "that reached the limit, and it takes three at least" in told


def test_blocks_give_what_the_whole_matrix_gives() -> None:
    """Restricted likelihood by closed form is that of the full covariance matrix, inverted."""
    rng = np.random.default_rng(3)
    which = np.repeat(np.arange(7, dtype=np.int64), [3, 2, 4, 3, 1, 3, 5])
    design = np.column_stack((np.ones(which.size), rng.normal(size=which.size)))
    lives = rng.normal(0, 0.2, which.size) + rng.normal(0, 0.4, 7)[which] + design @ [3.0, 0.5]
    found = variances_of(design, lives, which.tolist())
    same = which[:, None] == which[None, :]
    whole = found.within * np.eye(which.size) + found.between * same
    information = design.T @ np.linalg.inv(whole) @ design
    assert np.allclose(found.covariance, np.linalg.inv(information), rtol=1e-8)
    assert np.allclose(
        found.coefficients, np.linalg.solve(information, design.T @ np.linalg.solve(whole, lives)), rtol=1e-8
    )


def test_one_more_study_reads_one_and_gives_the_same_site(folder: Path, shelf: Shelf, tmp_path: Path) -> None:
    """What is known is not read again, and a site from memory is that from nothing, byte for byte."""
    again = gather(folder, json.loads(json.dumps(shelf.memory)), refuse)  # type: ignore[arg-type]
    assert again.read_anew == 0
    assert site(again, "../") == site(shelf, "../")
    told = Told("2026-001", "polymer", "C18", "pyrrolidine", 50.0, 11.0, 10.3, "L1", (80.0, 90.0))
    lay_down(told, folder / "new")
    begun = time.perf_counter()
    more = gather(folder, again.memory, refuse)  # type: ignore[arg-type]
    assert more.read_anew == 1
    assert time.perf_counter() - begun < 2.0


def pages_drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return a list into which the types go whose pages are made from now on."""
    drawn: list[str] = []

    def noted(held: Any, *rest: Any) -> Any:
        drawn.append(held[0][1].kind)
        return type_body(held, *rest)

    monkeypatch.setattr("lyewitness.shelf.site.type_body", noted)
    return drawn


def test_only_the_pages_of_what_changed_are_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One more study makes the page of its type; a copy, an edited page or another place makes theirs."""
    folder, target = tmp_path / "studies", tmp_path / "site"
    made = sixty(folder)
    command = ["--quiet", "shelf", str(folder), "--into", str(target)]
    assert main(command) == 0
    drawn = pages_drawn(monkeypatch)
    assert main(command) == 0
    assert drawn == []
    one = replace(made[0], id="2026-777", lives=(41.0, 43.0))
    lay_down(one, folder / one.id)
    assert main(command) == 0
    assert drawn == [f"{one.particle} {one.bonding}"]
    # Of a study that came under another name every type says so; it counts nowhere twice.
    lay_down(replace(one, id="2026-778"), folder / "2026-778")
    assert main(command) == 0
    assert drawn == [f"{one.particle} {one.bonding}"] * 2
    page = next((target / "types").glob("polymer*.html"))
    whole = page.read_bytes()
    page.write_bytes(whole.replace(b"polymer", b"monomer"))
    assert main([*command, "--force"]) == 0
    assert drawn[2:] == ["polymer phenyl"]
    assert page.read_bytes() == whole
    drawn.clear()
    assert main([*command[:-1], str(tmp_path / "deeper" / "site")]) == 0
    assert len(drawn) == len(list((target / "types").iterdir()))


SEVERAL = tuple(
    replace(PLACED, column=at, group=f"{at} columns", particle=particle)
    for at, particle in zip("abcde", ("polymer", "porous silica", "porous hybrid", "graphite", "core-shell"),
                            strict=True)
)  # fmt: skip


def test_a_site_is_the_same_bytes_in_another_process() -> None:
    """Nothing stands in the order in which a run of Python happens to hash words."""
    code = (
        "from tests.shelf.test_shelf import *; files = site(Shelf((one_study('A', *SEVERAL),), {}), '../'); "
        "sys.stdout.buffer.write(b''.join(files[name] for name in sorted(files)))"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code], env={**os.environ, "PYTHONHASHSEED": seed},
            check=True, capture_output=True,
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(told) == 1


def test_the_command_writes_the_shelf_and_answers(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every link of the site leads to a file; a question is answered with reasons; twice is no trouble."""
    target = tmp_path / "site"
    for _ in range(2):
        # 5: a bag of this folder is not whole.
        assert (
            main(["shelf", str(folder), "--into", str(target), "--ask", "polymer 50 °C pH 11, ten days"]) == 5
        )
    told = capsys.readouterr()
    assert "because it" in told.out
    assert "'damaged' counts nowhere on this shelf. The bag is not whole: data/a.txt" in told.err
    assert "put a whole copy in its place" in told.err
    assert (target / "index.html").is_file()
    import html5lib

    for page in target.rglob("*.html"):
        tree = html5lib.parse(page.read_bytes(), namespaceHTMLElements=False)
        for link in tree.iter("a"):
            href = link.get("href", "")
            assert href.startswith("#") or (page.parent / href).exists(), (page, href)


@pytest.mark.parametrize("a_year", [0.0, -0.15])
def test_a_drift_over_the_years_is_told_from_what_laboratories_differ_by(a_year: float) -> None:
    """Of 300 shelves of ten studies the interval holds the true drift 92 to 98 times of 100 (chance: 1.3)."""
    rng = np.random.default_rng(8)
    within = seen = 0
    for _ in range(300):
        points = drawn(rng, 10)
        years = {f"s{number}": 2015 + number + rng.uniform(0, 1) for number in range(10)}
        aged = [replace(one, life_h=one.life_h * exp(a_year * (years[one.study] - 2020))) for one in points]
        found = drift(aged, years)
        assert found.low is not None
        assert found.high is not None
        within += found.low < a_year < found.high
        seen += found.high < 0
    assert 0.92 <= within / 300 <= 0.98
    assert (seen > 200) is (a_year < 0)


def test_no_drift_is_told_where_years_do_not_bear_it(shelf: Shelf) -> None:
    """Of two years, or of five studies, there is none; the page of a type says so or gives the factor."""
    rng = np.random.default_rng(9)
    points = drawn(rng, 10)
    for different, told in ((1, "one"), (2, "two")):
        years = {f"s{n}": 2020.2 + n % different for n in range(10)}
        assert drift(points, years).reason == f"a trend takes three years, these studies are of {told}"
    few = drift(drawn(rng, 5), {f"s{n}": 2015.0 + n for n in range(5)})
    assert "so few studies" in few.reason
    pages = [
        data.decode() for name, data in site(shelf, "../").items() if name.startswith("types/polymer-phenyl")
    ]
    assert any("no drift is seen" in page or "drift over the years is not known" in page for page in pages)


def test_columns_that_failed_at_one_injection_foretell_the_next_not_to_the_minute() -> None:
    """Ten equal lives of five studies show no scatter, and yet an oven is known to a degree at best."""
    alike = [Point(f"study {place // 2}", 200.0, 50.0, 10.0) for place in range(10)]
    life = further_life(fit(alike), 50.0, 10.0)
    assert life.low is not None
    assert life.high is not None
    assert life.low < 190.0 < 210.0 < life.high
