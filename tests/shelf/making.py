"""Finished studies with known truth, made of numbers alone so that sixty of them take a second.

The truth is drawn here: ln life falls with temperature and pH when hot, with a share for the laboratory and
one for the column. A report of each is laid down as `lyewitness report` does it.
"""

import json
from dataclasses import dataclass
from math import exp
from pathlib import Path

import numpy as np

TRUE_ENERGY = 85.0
"""kJ/mol; of the invented columns."""
TRUE_PER_PH = -0.9
GAS = 8.314462618e-3
BUFFERS = {"pyrrolidine": 50.0, "diethylamine": 40.0, "ammonium bicarbonate": 20.0}


@dataclass(frozen=True)
class Told:
    """One invented study."""

    id: str
    particle: str
    bonding: str
    buffer: str
    temperature_C: float
    ph: float
    ph_hot: float
    lot: str
    lives: tuple[float, ...]
    title: str = ""
    supersedes: str = ""
    year: int = 2024


def lives_of(
    rng: np.random.Generator,
    temperature_C: float,
    ph_hot: float,
    middle_h: float,
    between: float,
    within: float,
) -> tuple[float, ...]:
    """Return the lives of three columns of one study, hours."""
    heat = TRUE_ENERGY / GAS * (1 / (temperature_C + 273.15) - 1 / 333.15)
    laboratory = rng.normal(0, between)
    return tuple(
        middle_h * exp(heat + TRUE_PER_PH * (ph_hot - 10.0) + laboratory + rng.normal(0, within))
        for _ in range(3)
    )


def lay_down(told: Told, folder: Path) -> Path:
    """Write a report of the study and return its folder."""
    (folder / "data").mkdir(parents=True)
    columns = [f"{told.id[-2:]}-{number}" for number in range(1, len(told.lives) + 1)]
    title = told.title or f"{told.particle} {told.bonding} in hot {told.buffer}"
    short = f"{told.particle} {told.bonding} lasts about {sum(told.lives) / len(told.lives):.0f} h."
    words = {
        "id": told.id, "title": title, "supersedes": told.supersedes, "keywords": [],
        "revisions": [], "people": [],
        "invented": "This study is invented.",
        "markers": [{"id": "toluene", "role": "neutral"}],
        "columns": [
            {"id": one, "group": told.particle, "particle": told.particle, "bonding": told.bonding,
             "lot": told.lot}
            for one in columns
        ],
        "stresses": [{
            "columns": columns, "buffer": told.buffer, "buffer_mM": 20, "organic": "acetonitrile",
            "temperature_C": told.temperature_C, "ph": told.ph, "ph_hot": told.ph_hot,
        }],
        "answers": [{
            "question": f"How long does {told.particle} {told.bonding} last at pH {told.ph:g} and "
            f"{told.temperature_C:g} °C?",
            "short": short, "asked_on": f"{told.year}-03-01",
            "deciding_marker": "toluene", "deciding_metric": "plate_number_half_height",
        }],
    }  # fmt: skip
    head = "column,group,marker,metric,limit,life_h,life_low_h,life_high_h,life_state\n"
    rows = "".join(
        f"{one},{told.particle},toluene,plate_number_half_height,at_least_percent = 80,{life:.6g},"
        f"{0.9 * life:.6g},{1.1 * life:.6g},reached\n"
        for one, life in zip(columns, told.lives, strict=True)
    )
    claims = {"study": told.id, "claims": [{"part": "claim", "text": short}]}
    provenance = {"builder": {"name": "lyewitness"}, "study": told.id}
    for name, text in (
        ("data/study.json", json.dumps(words)),
        ("data/decline.csv", head + rows),
        ("data/claims.json", json.dumps(claims)),
        ("data/provenance.json", json.dumps(provenance)),
        ("index.html", f"<!DOCTYPE html><title>{title}</title>"),
    ):
        (folder / name).write_text(text, encoding="utf-8")
    return folder


KINDS = (
    ("porous silica", "C18", 40.0), ("porous hybrid", "C18", 220.0), ("polymer", "phenyl", 900.0),
    ("coated silica", "C8", 70.0), ("core-shell silica", "C18", 55.0),
)  # fmt: skip


def sixty(folder: Path, seed: int = 7) -> list[Told]:
    """Lay down 57 reports: five kinds, several conditions; one superseded, two that contradict."""
    rng = np.random.default_rng(seed)
    made: list[Told] = []
    for place in range(55):
        particle, bonding, middle = KINDS[place % 5]
        turn = place // 5
        heat = (40.0, 50.0, 60.0, 70.0)[turn % 4]
        buffer = ("pyrrolidine", "diethylamine")[turn % 2]
        ph = (10.5, 11.0, 11.5)[turn % 3]
        hot = ph - 0.028 * (heat - 25)
        lives = lives_of(rng, heat, hot, middle, 0.2, 0.15)
        lot = f"L{place % 4}"
        made.append(
            Told(
                f"2024-{place:03}",
                particle,
                bonding,
                buffer,
                heat,
                ph,
                hot,
                lot,
                lives,
                year=2020 + place % 5,
            )
        )
    first = made[6]
    made.append(
        Told(
            "2025-900", first.particle, first.bonding, first.buffer, first.temperature_C, first.ph,
            first.ph_hot, "L9", first.lives, title="Mended study of the hybrid", supersedes=first.id,
        )
    )  # fmt: skip
    odd = made[2]
    made.append(
        Told(
            "2025-901", odd.particle, odd.bonding, odd.buffer, odd.temperature_C, odd.ph, odd.ph_hot, "L8",
            tuple(life / 6 for life in odd.lives), title="Polymer that failed early",
        )
    )  # fmt: skip
    for told in made:
        lay_down(told, folder / told.id)
    return made
