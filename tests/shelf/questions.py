"""How often the right study stands first for questions in plain words: `python -m tests.shelf.questions`.

They were written before the search was run on any of them, in words that are not those of the titles, for the
shelf of `making.sixty`; beside each stands what must be true of the study that comes first.
"""

import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

from lyewitness.shelf.asking import ask
from lyewitness.shelf.gathering import gather
from tests.shelf.making import sixty


class Right(NamedTuple):
    """What the right study is about; None for what the question leaves open."""

    particle: str | None
    temperature_C: float | None = None
    ph: float | None = None
    buffer: str | None = None


QUESTIONS: tuple[tuple[str, Right], ...] = (
    ("Can we leave a polymer column in pyrrolidine over the weekend at 60 °C, pH 11?",
     Right("polymer", 60.0, 11.0, "pyrrolidine")),
    ("We run diethylamine at pH 11.5 and 50 °C on hybrids. How many days?",
     Right("porous hybrid", 50.0, 11.5, "diethylamine")),
    ("is there anything about plain porous silica at 40 degrees celsius and pH 10.5",
     Right("porous silica", 40.0, 10.5)),
    ("Core-shell at pH = 11, 60 °C, has somebody tried that", Right("core-shell silica", 60.0, 11.0)),
    ("life of a coated silica C8 at pH 11 / 50 °C", Right("coated silica", 50.0, 11.0)),
    ("a method at 70 °C in diethylamine pH 10.5, phenyl phase", Right("polymer", 70.0, 10.5, "diethylamine")),
    ("What happens to hybrid particles at 60 °C in pyrrolidine of pH 10.5?",
     Right("porous hybrid", 60.0, 10.5, "pyrrolidine")),
    ("50°C, pH about 10.5, core-shell C18, 200 h", Right("core-shell silica", 50.0, 10.5)),
    ("how stable is the C8 coating at pH 11.5 and 40 °C in pyrrolidine buffer",
     Right("coated silica", 40.0, 11.5, "pyrrolidine")),
    ("Column for a high pH cleaning validation, 70 °C, pH 11, diethylamine, bare hybrid C18",
     Right("porous hybrid", 70.0, 11.0, "diethylamine")),
    ("dissolution of porous silica at 60 °C pH 11.5", Right("porous silica", 60.0, 11.5)),
    ("Does polymer hold two weeks at pH 10,5 and 40 °C?", Right("polymer", 40.0, 10.5)),
    ("silica monomers... sorry: porous silica C18, 50 C, pH 11.5", Right("porous silica", 50.0, 11.5)),
    ("we had a polymer column that failed early, what was that?", Right("polymer")),
    ("which study of the hybrid was mended later", Right("porous hybrid")),
    ("40 °C and pH 11 in pyrrolidine with a hybrid, one month",
     Right("porous hybrid", 40.0, 11.0, "pyrrolidine")),
    ("70 degrees, pH 11, coated", Right("coated silica", 70.0, 11.0)),
    ("superficially porous, that is core-shell, silica in pyrrolidine 40 °C pH 11.5",
     Right("core-shell silica", 40.0, 11.5, "pyrrolidine")),
    ("Lifetime polymer, DEA = diethylamine, 50 °C, pH 11.5", Right("polymer", 50.0, 11.5, "diethylamine")),
    ("How fast does C18 on porous silica go at 70 °C and pH 11 in diethylamine?",
     Right("porous silica", 70.0, 11.0, "diethylamine")),
)  # fmt: skip


RANGES: tuple[tuple[str, Right], ...] = (
    ("polymer in pyrrolidine somewhere between 55 and 65 °C, pH 11.5",
     Right("polymer", 60.0, 11.5, "pyrrolidine")),
    ("which hybrid columns were run no hotter than 45 °C in pyrrolidine at pH 11",
     Right("porous hybrid", 40.0, 11.0, "pyrrolidine")),
    ("core-shell below 45 °C and above pH 11.2", Right("core-shell silica", 40.0, 11.5)),
    ("bare porous silica at fifty degrees, pH 10.5", Right("porous silica", 50.0, 10.5)),
    ("does coated C8 survive above 65 °C at pH 10.5", Right("coated silica", 70.0, 10.5)),
    ("pyrolidine and core shell at pH 11.5", Right("core-shell silica", None, 11.5, "pyrrolidine")),
    ("anything but pyrrolidine: hybrid at pH 11.5", Right("porous hybrid", 50.0, 11.5, "diethylamine")),
    ("polymer, not diethylamine, at least pH 11.5", Right("polymer", None, 11.5, "pyrrolidine")),
    ("core-shell silica, pH 10 to 10.8, 65-75 °C", Right("core-shell silica", 70.0, 10.5)),
    ("323 K, pH 11, hybrid", Right("porous hybrid", 50.0, 11.0)),
    ("what holds up best hotter than 65 degrees at pH 11?", Right("polymer", 70.0, 11.0)),
    ("silica C18 up to 40 °C at pH 10.5 or less", Right(None, 40.0, 10.5)),
    ("Who has tried C8 in DEA at 50 °C and pH 11?", Right("coated silica", 50.0, 11.0, "diethylamine")),
    ("cool conditions, at most 45 °C, polymer phenyl, around pH 11", Right("polymer", 40.0, 11.0)),
    ("porous hybrid that lasts more than a week at 40 °C, pH 11", Right("porous hybrid", 40.0, 11.0)),
    ("superficially porous C18 at 60 °C, pH 11", Right("core-shell silica", 60.0, 11.0)),
    ("hybrid, temperature 60 ± 2 °C, pH 11.5", Right("porous hybrid", 60.0, 11.5)),
    ("polymer 140 °F, pH 10.5", Right("polymer", 60.0, 10.5)),
    ("the mended hybrid study", Right("porous hybrid", 50.0, 11.0)),
    ("coated silica warmer than 55 °C but cooler than 65 °C, pH >= 11.3",
     Right("coated silica", 60.0, 11.5)),
    ("Is there a study of hybrids hotter than 65 °C in diethylamine at pH 11?",
     Right("porous hybrid", 70.0, 11.0, "diethylamine")),
    ("polymer phenyl run cooler than 45 °C at pH 11 or 11.5 in pyrrolidine",
     Right("polymer", 40.0, None, "pyrrolidine")),
    ("coated C8 silica, 50-60 °C, pH 10.4–10.6", Right("coated silica", None, 10.5)),
    ("porous silica C18 with dietylamine buffer at 50 °C, pH 11.5",
     Right("porous silica", 50.0, 11.5, "diethylamine")),
    ("core shell, pH no lower than 11.3, temperature no lower than 55",
     Right("core-shell silica", 60.0, 11.5)),
    ("what about a hibrid at 40 C and a pH of at most 10.6", Right("porous hybrid", 40.0, 10.5)),
    ("pH 11 hybrids without pyrrolidine at 50 °C", Right("porous hybrid", 50.0, 11.0, "diethylamine")),
    ("polymers between 333 K and 343 K and pH 11", Right("polymer", None, 11.0)),
    ("silica core-shell C18: sixty degrees, pH eleven and a half", Right("core-shell silica", 60.0, 11.5)),
    ("polymer column which died early", Right("polymer")),
)  # fmt: skip
"""Written by whoever mended the hearing of ranges: the first twenty before reading how questions are heard,
when 12 of them were right; the last ten after mending it and before trying them, when 9 were."""

MAILED: tuple[tuple[str, Right], ...] = (
    ("Hi, do you know whether anyone has put the phenyl polymer in 20 mM diethylamine at 50 degrees? pH "
     "was something like 11, I think.",
     Right("polymer", 50.0, 11.0, "diethylamine")),
    ("My core-shell column has to run at 60 °C in pyrrolidine, pH eleven. Will it be dead by Friday?",
     Right("core-shell silica", 60.0, 11.0, "pyrrolidine")),
    ("We want to clean with a hot alkaline mobile phase: 70 C, pH 11. Which of our columns takes that "
     "the longest?",
     Right("polymer", 70.0, 11.0)),
    ("Quick one: C8 (the coated stuff), diethylamine, 70 °C, pH 10.5 - any data?",
     Right("coated silica", 70.0, 10.5, "diethylamine")),
    ("need numbers for hybrid, 40C/pH 11.5", Right("porous hybrid", 40.0, 11.5)),
    ("Has the lab ever killed a plain, fully porous silica C18 at 50 °C with the pH set to 10.5?",
     Right("porous silica", 50.0, 10.5)),
    ("Somebody told me a core shell phase was tested in Et2NH, pH 11.5, 50 °C - where is the report?",
     Right("core-shell silica", 50.0, 11.5, "diethylamine")),
    ("I can only go to 40 °C on the old oven. At pH 11.0, how long would a fully porous silica survive?",
     Right("porous silica", 40.0, 11.0)),
    ("polymere column at sixty C and pH 11.5", Right("polymer", 60.0, 11.5)),
    ("Which column died soonest at 70 °C and pH 11?", Right("core-shell silica", 70.0, 11.0)),
    ("For the method transfer they ask for 60 degC, pH 10.5, C8. Is there a study I could cite?",
     Right("coated silica", 60.0, 10.5)),
    ("we're thinking pyrrolidine instead of DEA; hybrid at 60 C pH 11?",
     Right("porous hybrid", 60.0, 11.0, "pyrrolidine")),
    ("Is our hybrid OK above pH 11 when it's hot, say 60 °C?", Right("porous hybrid", 60.0, 11.5)),
    ("solid core C18, 70 celsius, pH 11", Right("core-shell silica", 70.0, 11.0)),
    ("What came out of the polymeric phase at 40 °C and pH 11 in pyrrolidine?",
     Right("polymer", 40.0, 11.0, "pyrrolidine")),
    ("that study where the polymer gave up much too early", Right("polymer", 40.0, 10.5)),
    ("organic/inorganic hybrid C18, 20 mM diethylamine, pH 11, 50 °C, the corrected version please",
     Right("porous hybrid", 50.0, 11.0, "diethylamine")),
    ("Can I leave the C8 column at 60 °C overnight in pyrrolidine pH 11.5?",
     Right("coated silica", 60.0, 11.5, "pyrrolidine")),
    ("temp 50, pH 11.5, silica based, C18, not core shell", Right("porous silica", 50.0, 11.5)),
    ("what do we know of lot L8?", Right("polymer", 40.0, 10.5)),
    ("Any experience with hybrids at 50C, pH11.5 (DEA)?", Right("porous hybrid", 50.0, 11.5, "diethylamine")),
    ("how many hours did the core shell make at 40 °C, pH=10.5?", Right("core-shell silica", 40.0, 10.5)),
    ("Our customer runs at pH 11.0 and a column oven of 70 °C with a C8 phase, will that be a problem?",
     Right("coated silica", 70.0, 11.0)),
    ("Column L9, which study was that?", Right("porous hybrid", 50.0, 11.0)),
    ("C18 superficially porous, 60 degrees C, pH of 10.5", Right("core-shell silica", 60.0, 10.5)),
    ("Is there a follow-up of the hybrid study in diethylamine that was mended?",
     Right("porous hybrid", 50.0, 11.0, "diethylamine")),
    ("pyrrolidine at 40C with the pH adjusted to 11.5, coated silica",
     Right("coated silica", 40.0, 11.5, "pyrrolidine")),
    ("temperature: 60, pH: 10.5, buffer: pyrrolidine, column: polymer",
     Right("polymer", 60.0, 10.5, "pyrrolidine")),
    ("My colleague's polymer column died way too early in pyrrolidine at 40 °C. Known?",
     Right("polymer", 40.0, 10.5)),
    ("silica hybrid particle, sixty degrees Celsius, pH of eleven", Right("porous hybrid", 60.0, 11.0)),
    ("Diethylamin pH 10,5 bei 70 Grad, Polymer", Right("polymer", 70.0, 10.5, "diethylamine")),
    ("which of the C18 columns lasts longest at 50 °C, pH 10.5, DEA?",
     Right("porous hybrid", 50.0, 10.5, "diethylamine")),
    ("not a polymer please: anything that survives 500 h at 40 °C and pH 11 in pyrrolidine",
     Right("porous hybrid", 40.0, 11.0, "pyrrolidine")),
    ("core-shell, T = 50 °C; pH = 11.5", Right("core-shell silica", 50.0, 11.5)),
    ("Would a coated silica column live longer at 50 than at 60 °C, pH 11?",
     Right("coated silica", None, 11.0)),
    ("hot pyrrolidine, pH 11.5, 60°, plain silica", Right("porous silica", 60.0, 11.5, "pyrrolidine")),
    ("has anyone had a polymer in DEA go bad within a week at seventy degrees and pH 11?",
     Right("polymer", 70.0, 11.0, "diethylamine")),
)  # fmt: skip
"""As a colleague would mail them. Of the first twenty, written before reading how questions are heard,
14 were right at once; of the others, written after mending that and before trying them, 15 of 20. Three of
those are not among them, for they are not heard: two numbers without name or unit, which may be anything, and
`the highest temperature`. That core-shell dies first is what the lives say that were drawn."""


def answered(folder: Path) -> list[tuple[str, Right, str]]:
    """Return question, what is right, and what stood first where that is another; empty where it is right."""
    sixty(folder)
    studies = gather(folder, {}, _unmeasured).studies  # type: ignore[arg-type]
    told = []
    for question, right in (*QUESTIONS, *RANGES, *MAILED):
        hits = ask(question, studies)
        life = hits[0].study.lives[0] if hits else None
        found = Right(life.particle, life.temperature_C, life.ph, life.buffer) if life else Right(None)
        wrong = not life or any(wanted not in (None, got) for wanted, got in zip(right, found, strict=True))
        told.append((question, right, str(tuple(found)) if wrong else ""))
    return told


def _unmeasured(_folder: Path) -> None:
    raise AssertionError("nothing is measured here")


def main() -> int:
    """Print the count, and each question whose first study is another."""
    with tempfile.TemporaryDirectory() as folder:
        told = answered(Path(folder) / "studies")
    for question, right, found in told:
        if found:
            print(f"{question}\n  wanted {tuple(right)}\n  found  {found}")
    print(f"{sum(not found for _, _, found in told)} of {len(told)} right studies stand first")
    return 0


if __name__ == "__main__":
    sys.exit(main())
