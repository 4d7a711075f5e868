"""A shelf of sixty rehearsed studies, measured from their traces: `python -m tests.shelf.rehearsed`.

Three kinds of column, six laboratories, four temperatures, three pH; one study takes another's place, two
contradict each other, one bag is damaged, one is of the first version. It prints what the shelf says of each
kind beside the truth, how many lives lie in what other studies foretell of them, and which studies stand
first for questions in plain words. It takes some minutes; a folder that is named keeps the studies; tests use
`making.sixty`.
"""

import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from math import exp
from pathlib import Path

import numpy as np

from lyewitness import pipeline
from lyewitness.cli import main as lyewitness
from lyewitness.rehearsal.plans import Course, GroupPlan, QuestionPlan, Scenario, Spread
from lyewitness.rehearsal.scenario import coated_silica, polymer, porous_hybrid, three_kinds_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.shelf.across import predict
from lyewitness.shelf.alike import acid_of, alike, heat_of, model_of
from lyewitness.shelf.asking import ask
from lyewitness.shelf.contradictions import contradictions
from lyewitness.shelf.gathering import Shelf, gather
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.shelf.standing import standing

ENERGY, PER_PH, GAS = 85.0, -0.9, 8.314462618e-3
"""Of the invented columns: kJ/mol; ln life for a unit of pH when hot; kJ/(mol K)."""
LABORATORIES = 6
BETWEEN, WITHIN = 0.15, 0.10
"""Standard deviations of ln life: of laboratories, and of columns of one study."""
KINDS: tuple[tuple[GroupPlan, float, str], ...] = (
    (replace(polymer(), bonding="phenyl"), 160.0, "sigmoid"),
    (porous_hybrid(), 90.0, "first order"),
    (coated_silica(), 45.0, "delayed"),
)
"""Kind, typical life at 60 °C and pH 10 when hot in hours, and the law of its plate numbers."""
KEY = ("naphthalene", "plate_number_half_height")
SHARES = (0.0, 0.001, 0.002, 0.1, 0.19, 0.28, 0.37, 0.46, 0.55, 0.64, 0.73, 0.82, 0.91, 1.0)
"""When injections are made, in shares of twice a typical life."""
FIRST = Path(__file__).parent.parent / "keeping/first_version.zip"


def hot(ph: float, heat: float) -> float:
    """Return the pH when hot of an amine buffer (common practice: about -0.028 a degree)."""
    return ph - 0.028 * (heat - 25)


def courses(law: str, life_h: float) -> Course:
    """Return a loss of plates that passes 80 % at `life_h`."""
    if law == "first order":
        return Course("first order", 0.223 / life_h)
    if law == "delayed":
        return Course("delayed", 0.223 / (0.3 * life_h), 0.7 * life_h)
    return Course("sigmoid", 4.0 / life_h, 1.35 * life_h, toward=0.1)


def scenario(place: int, laboratories: np.ndarray) -> tuple[Scenario, float]:
    """Return the plan of one study, and the life of a typical column of its laboratory, hours."""
    kind, middle, law = KINDS[place % 3]
    turn = place // 3
    heat, ph = (50.0, 55.0, 60.0, 65.0)[turn % 4], (10.5, 11.0, 11.5)[turn % 3]
    warmth = ENERGY / GAS * (1 / (heat + 273.15) - 1 / 333.15)
    life = middle * exp(warmth + PER_PH * (hot(ph, heat) - 10.0) + laboratories[turn % LABORATORIES])
    markers = {
        name: replace(
            one, plates_course=courses(law, life), retention_course=Course(), tailing_course=Course()
        )
        for name, one in kind.markers.items()
    }
    group = replace(
        kind, markers=markers, columns=3, hold_up_course=Course(), pressure_course=Course(),
        temperatures_C=(), name=kind.name,
    )  # fmt: skip
    base = three_kinds_scenario()
    question = QuestionPlan(
        id="long", asked_by="", asked_on=date(2020 + turn % 5, 3, 1),
        text=f"How long does {kind.particle} {kind.bonding} last at pH {ph:g} and {heat:g} °C?",
    )  # fmt: skip
    return replace(
        base,
        id=f"lab{turn % LABORATORIES}-{place:03}",
        title=f"{kind.particle} {kind.bonding} in hot diethylamine, laboratory {turn % LABORATORIES}",
        groups=(group,),
        stress=replace(base.stress, temperature_C=heat, ph=ph),
        test=replace(base.test, ph=ph),
        schedule_h=tuple(
            round(share * 2.0 * life, 2) for share in (0, 0.001, 0.002, *np.linspace(0.1, 1, 11))
        ),
        schedule_jitter_h=0.01 * life,
        spread=Spread(life=WITHIN),
        questions=(question,),
        mishaps=(),
        notes=(),
        images=(),
        blocks=False,
        command="",
        seed=place,
    ), life


def written(folder: Path) -> Mapping[str, Mapping[str, float]]:
    """Write the studies and bags; return the true lives of each study's columns."""
    laboratories = np.random.default_rng(3).normal(0, BETWEEN, LABORATORIES)
    truth: dict[str, Mapping[str, float]] = {}
    for place in range(57):
        plan, _ = scenario(place, laboratories)
        run = write_study(plan, folder / plan.id)
        truth[plan.id] = {name: one.lives_h[KEY] for name, one in run.truth.columns.items()}
    mended, _ = scenario(1, laboratories)
    _told_anew(
        folder, replace(mended, id="mended", title="Mended study of the hybrid"), 'supersedes = "lab0-001"'
    )
    odd, life = scenario(2, laboratories)
    soon = courses("delayed", life / 5)
    markers = {name: replace(one, plates_course=soon) for name, one in odd.groups[0].markers.items()}
    failed = replace(odd, id="early", title="Coated columns that failed early")
    _told_anew(folder, replace(failed, groups=(replace(odd.groups[0], markers=markers),)), "")
    words = ["archive", str(folder / "lab0-000"), "--into", str(folder / "damaged"), "--no-pdf"]
    assert lyewitness(["--quiet", *words, "--date", "2026-01-01"]) == 0
    with (folder / "damaged/data/study/study.toml").open("a", encoding="utf-8") as changed:
        changed.write("# changed\n")
    (folder / "first.zip").write_bytes(FIRST.read_bytes())
    return truth


def _told_anew(folder: Path, plan: Scenario, line: str) -> None:
    write_study(plan, folder / plan.id)
    path = folder / plan.id / "study.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[study]\n", f"[study]\n{line}\n", 1), encoding="utf-8")


def held_by_others(held: list[tuple[Shelved, ColumnLife]]) -> Iterator[bool]:
    """Yield of each life whether it lies in what all other studies foretell of its conditions."""
    for left_out in {study.id for study, _ in held}:
        model = model_of([one for one in held if one[0].id != left_out])
        for study, life in held:
            if study.id == left_out and life.life_h is not None:
                told = predict(model, heat_of(life), acid_of(life)).life_h
                if told.low is not None and told.high is not None:
                    yield told.low < life.life_h < told.high


def report_on(shelf: Shelf, truth: Mapping[str, Mapping[str, float]]) -> Iterator[str]:
    """Yield what the shelf says beside the truth."""
    damaged = [study.place for study in shelf.studies if study.damage]
    stands = standing(shelf.studies)
    beneath = [f"{one.study.id} ({one.why}, by {one.by.id})" for one in stands.beneath]
    yield f"{len(shelf.studies)} studies; beneath others: {', '.join(beneath)}; damaged: {', '.join(damaged)}"
    counting = stands.counting
    clashes = [f"{clash.one.id} and {clash.other.id}" for clash in contradictions(counting)]
    yield f"contradict each other: {'; '.join(sorted(set(clashes)))}"
    measured = [
        (life, truth[study.id][life.column])
        for study in shelf.studies
        for life in study.lives
        if study.id in truth and (life.marker, life.metric) == KEY and life.low_h and life.high_h
    ]
    inside = sum((life.low_h or 0) <= true <= (life.high_h or 0) for life, true in measured)
    yield f"{inside} of {len(measured)} measured lives' intervals hold the true life"
    for key, held in alike(counting).items():
        if (key[1], key[2]) != KEY or len(held) < 30:
            continue
        model = model_of(held)
        energy, slope = model.activation_energy_kJ_mol, model.per_ph
        foretold = list(held_by_others(held))
        yield (
            f"{key[0]}: {energy.value:.0f} kJ/mol ({energy.low:.0f} to {energy.high:.0f}), "
            f"true {ENERGY:.0f}; ln life a pH {slope.value:.2f} ({slope.low:.2f} to {slope.high:.2f}), "
            f"true {PER_PH}; "
            f"{sum(foretold)} of {len(foretold)} lives lie in what the other studies foretell"
        )
    for question, wanted in QUESTIONS:
        hits = ask(question, shelf.studies)
        first = hits[0].study if hits else None
        life = first.lives[0] if first and first.lives else None
        found = (life.particle, life.temperature_C, life.ph) if life else ("", None, None)
        right = all(one in (None, other) for one, other in zip(wanted, found, strict=True))
        yield f"{'right' if right else f'WRONG, {found}'}: {question}"


QUESTIONS: tuple[tuple[str, tuple[str, float | None, float | None]], ...] = (
    ("polymer phenyl, diethylamine, pH 11, 55 °C, a week", ("polymer", 55.0, 11.0)),
    ("will a hybrid C18 stand pH 10.5 at 50 °C?", ("porous hybrid", 50.0, 10.5)),
    ("coated silica in diethylamine at 65 °C and pH 11.5", ("coated silica", 65.0, 11.5)),
    ("has anybody run coated columns at 60 degrees and pH 10.5", ("coated silica", 60.0, 10.5)),
    ("hybrid, 60 °C, pH 11.5, two days", ("porous hybrid", 60.0, 11.5)),
    ("how long does polymer last at pH 11.5, 65 °C", ("polymer", 65.0, 11.5)),
    ("polymer at 50 °C and pH 10,5 in DEA = diethylamine", ("polymer", 50.0, 10.5)),
    ("hybrid at 65 °C, pH 11", ("porous hybrid", 65.0, 11.0)),
    ("coated silica, pH 11, 50 °C", ("coated silica", 50.0, 11.0)),
    ("mended study of the hybrid", ("porous hybrid", None, None)),
    ("coated columns that failed early", ("coated silica", None, None)),
    ("is a porous hybrid good for 100 h at 55 °C, pH 11.5?", ("porous hybrid", 55.0, 11.5)),
    ("My boss wants 100 hours of a coated column, 55 degC, pH set to 11. Anything?",
     ("coated silica", 55.0, 11.0)),
    ("phenyl polymer 60C/pH 10.5 please", ("polymer", 60.0, 10.5)),
    ("which hybrid study ran at 323 K and pH 11.5?", ("porous hybrid", 50.0, 11.5)),
    ("did coated silica make it through a weekend (48 h) at 65 °C, pH 10.5?", ("coated silica", 65.0, 10.5)),
    ("anything but polymer or hybrid at 55 °C, pH 10.5", ("coated silica", 55.0, 10.5)),
    ("polymer no cooler than 62 °C at pH 11", ("polymer", 65.0, 11.0)),
    ("temp 60, pH 11, hybrid particles with C18", ("porous hybrid", 60.0, 11.0)),
    ("Coated C18 at fifty degrees and pH eleven and a half", ("coated silica", 50.0, 11.5)),
)  # fmt: skip
"""What is asked, written before it was tried, and what the study that stands first must be about: particle,
°C, pH."""


def main() -> int:
    """Write, measure, ask, and print."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[1] if len(sys.argv) > 1 else scratch) / "studies"
        truth = written(folder)
        shelf = gather(folder, {}, pipeline.compute)
        for line in report_on(shelf, truth):
            print(line, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
