"""A study as it really ran, with its truth: power cut, sawtooth of pH, replaced column, nine bad injections.

Written without a look at the judged code: peaks are log-normal, noise is correlated, plates fall by a power
of time, and retention follows a base's ionisation. `write` makes a folder and returns the truth.
"""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

START = datetime(2026, 3, 2, 8, 0)
CUT_FROM, CUT_TO = START + timedelta(hours=40), START + timedelta(hours=51)
STEP_H, END_H, BOTTLE_H = 6.0, 96.0, 36.0
HOLD_UP_MIN = 0.6
RUN_MIN, POINTS = 6.0, 1800
PKA, PH_FRESH, PH_LOSS = 9.4, 10.5, 0.2
FRESH_K = {"uracil": 0.0, "toluene": 2.4, "biphenyl": 4.6, "propranolol": 3.4}
AREAS = {"uracil": 1.6, "toluene": 3.0, "biphenyl": 4.0, "propranolol": 2.6}
PLATES = 9000.0
EXPONENT = 1.7


@dataclass(frozen=True)
class Rig:
    """One column of the study."""

    id: str
    group: str
    life_h: float
    """Exposure at which the plates pass 80 % of those of the fresh column."""
    began_h: float = 0.0
    """Exposure of the rig when this column was put in."""
    ended_h: float = END_H
    factor_k: float = 1.0


RIGS = (
    Rig("A1", "alkyl", 46.0),
    Rig("A2", "alkyl with guard", 110.0),
    Rig("P1", "phenyl", 30.0, ended_h=48.0, factor_k=0.9),
    Rig("P3", "phenyl", 33.0, began_h=48.0, factor_k=0.9),
    Rig("P2", "phenyl with guard", 80.0, ended_h=72.0, factor_k=0.9),
)
BAD: Mapping[str, str] = {
    "A1-06": "leak",
    "A2-05": "swapped vial",
    "P2-07": "spiked",
    "A2-13": "truncated",
    "A1-11": "no injection",
    "P2-03": "blank",
    "A2-08": "foreign peak",
    "P3-05": "volume",
}


@dataclass(frozen=True)
class Truth:
    """What is true of the written study."""

    lives_h: Mapping[str, float]
    bad: Mapping[str, str]
    exposure_h: Mapping[str, float] = field(default_factory=dict)


def ph_at(exposure_h: float) -> float:
    """Return the pH of a bottle that loses its base and is renewed every 36 h."""
    return PH_FRESH - PH_LOSS * (exposure_h % BOTTLE_H) / BOTTLE_H


def k_of(marker: str, ph: float, rig: Rig) -> float:
    """Return the retention factor; the base is retained a tenth as long where it is charged."""
    fresh = FRESH_K[marker] * rig.factor_k
    if marker != "propranolol":
        return fresh
    charged = 1 / (1 + 10 ** (ph - PKA))
    usual = 1 / (1 + 10 ** (PH_FRESH - PKA))
    return fresh * (1 - 0.9 * charged) / (1 - 0.9 * usual)


def peak(time: Floats, at: float, plates: float, area: float, skew: float = 1.15) -> Floats:
    """Return a log-normal peak; `skew` is the ratio of its half widths at half height."""
    width = 2.3548 * at / plates**0.5
    argument = 1 + (time - at) * (skew**2 - 1) / (width * skew)
    inside = argument > 0
    shape = np.zeros_like(time)
    shape[inside] = np.exp(-np.log(2) / np.log(skew) ** 2 * np.log(argument[inside]) ** 2)
    return np.asarray(shape * area / (float(np.sum(shape)) * (time[1] - time[0])), dtype=np.float64)


def signal(
    rig: Rig, age_h: float, rig_h: float, bad: str, random: np.random.Generator
) -> tuple[Floats, Floats]:
    """Return time and signal of one injection; `bad` says what went wrong with it."""
    time = np.linspace(0, RUN_MIN, POINTS)
    left = 1 - 0.2 * (age_h / rig.life_h) ** EXPONENT
    slow = 1.07 if bad == "leak" else 1.0
    amount = {"volume": 0.35, "no injection": 0.0, "blank": 0.0}.get(bad, 1.0)
    clean = np.zeros_like(time)
    for marker, area in AREAS.items():
        if bad == "swapped vial" and marker in ("toluene", "propranolol"):
            continue
        at = (
            HOLD_UP_MIN
            * (1 + k_of(marker, ph_at(rig_h), rig))
            * slow
            * (1 + 0.0008 * random.standard_normal())
        )
        plates = PLATES * (0.4 if marker == "uracil" else max(left, 0.05))
        own = area * amount * (1 + 0.006 * random.standard_normal())
        if bad == "blank" and marker == "uracil":
            own = 0.05
        clean += peak(time, at, plates, own) if own else 0.0
    if bad == "swapped vial":
        clean += peak(time, 1.45, PLATES * left, 3.5) + peak(time, 3.0, PLATES * left, 2.5)
    if bad == "foreign peak":
        clean += peak(time, 1.5, PLATES * left, 1.2)
    noise = random.standard_normal(POINTS + 20)
    noise = np.convolve(noise, np.exp(-np.arange(20) / 3.0), mode="valid")[:POINTS] * 0.02
    total = clean + noise + 0.15 * np.sin(time / 2.5 + age_h) + 0.05 * time
    if bad == "spiked":
        for place in (700, 1100):
            total[place] += 40.0
    end = 1000 if bad == "truncated" else POINTS
    return time[:end], np.asarray(total[:end], dtype=np.float64)


def write(folder: Path, clock_off_h: float = 0.0, seed: int = 5) -> Truth:
    """Write the study below `folder`; stamps of the exports stand `clock_off_h` off the folder's times."""
    random = np.random.default_rng(seed)
    (folder / "chromatograms").mkdir(parents=True)
    rows = [["injection", "file", "column", "at", "use", "why"]]
    log = [["column", "at", "ph", "temperature_C", "flow_mL_min", "pressure_bar"]]
    exposures: dict[str, float] = {}
    for rig in RIGS:
        for number, age in enumerate(_ages(rig), start=1):
            name = f"{rig.id}-{number:02d}"
            at = clock(rig.began_h + age) + timedelta(minutes=4)
            time, values = signal(rig, age, rig.began_h + age, BAD.get(name, ""), random)
            stamp = at + timedelta(hours=clock_off_h)
            text = f"Acquired: {stamp}\nTime (min),Signal (mAU)\n"
            text += "".join(f"{t:.5f},{v:.4f}\n" for t, v in zip(time, values, strict=True))
            (folder / "chromatograms" / f"{name}.csv").write_text(text)
            rows.append([name, f"chromatograms/{name}.csv", rig.id, at.isoformat(), "", ""])
            exposures[name] = age
        for hours in np.arange(0.0, rig.ended_h - rig.began_h + 0.1, 3.0):
            rig_h = rig.began_h + float(hours)
            reading = ph_at(rig_h) + 0.01 * random.standard_normal()
            log.append([rig.id, clock(rig_h).isoformat(), f"{reading:.2f}", "55.0", "0.400", "210"])
    (folder / "injections.csv").write_text(_csv(rows))
    (folder / "conditions.csv").write_text(_csv(log))
    (folder / "study.toml").write_text(_toml())
    return Truth({rig.id: rig.life_h for rig in RIGS}, BAD, exposures)


def _ages(rig: Rig) -> list[float]:
    """Return the exposures of a column's injections: three fresh ones, then one every six hours."""
    later = np.arange(STEP_H, rig.ended_h - rig.began_h + 0.1, STEP_H)
    return [0.0, 0.3, 0.6, *(float(hours) for hours in later)]


def clock(exposure_h: float) -> datetime:
    """Return when the rig had run for so long: the power cut stands between."""
    time = START + timedelta(hours=exposure_h)
    return time if time <= CUT_FROM else time + (CUT_TO - CUT_FROM)


def _csv(rows: list[list[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _toml() -> str:
    columns = ""
    for rig in RIGS:
        columns += (
            f'\n[[column]]\nid = "{rig.id}"\ngroup = "{rig.group}"\nparticle = "porous hybrid"\n'
            'bonding = "C18"\n'
            f"length_mm = 50\ninner_diameter_mm = 2.1\nparticle_um = 2.5\n"
            f"exposure_start = {clock(rig.began_h).isoformat()}\n"
        )
        if "guard" in rig.group:
            columns += 'upstream = "sacrificial silica column"\n'
        if rig.id == "P1":
            columns += f'ended = {clock(48.2).isoformat()}\nbecause = "inlet blocked"\n'
        if rig.id == "P3":
            columns += 'replaces = "P1"\n'
        if rig.id == "P2":
            columns += f'ended = {clock(72.3).isoformat()}\nbecause = "needed elsewhere"\n'
    events = (
        f'\n[[event]]\nkind = "power cut"\nfrom = {CUT_FROM.isoformat()}\nto = {CUT_TO.isoformat()}\n'
        f'\n[[event]]\nkind = "fresh mobile phase"\nat = {clock(36.0).isoformat()}\n'
        f'\n[[event]]\nkind = "fresh mobile phase"\nat = {clock(72.0).isoformat()}\n'
    )
    markers = ""
    for name, k in FRESH_K.items():
        role = {"uracil": "void", "propranolol": "base"}.get(name, "neutral")
        alkyl, phenyl = HOLD_UP_MIN * (1 + k), HOLD_UP_MIN * (1 + 0.9 * k)
        markers += (
            f'\n[[marker]]\nid = "{name}"\nrole = "{role}"\n'
            + (f"pka = {PKA}\n" if role == "base" else "")
            + f'retention_min = {{ "alkyl" = {alkyl:.3f}, "alkyl with guard" = {alkyl:.3f}, '
            f'"phenyl" = {phenyl:.3f}, "phenyl with guard" = {phenyl:.3f} }}\n'
        )
    return (
        '[study]\nid = "2026-021"\ntitle = "Two bondings with and without a sacrificial column"\n'
        'question = "Does the sacrificial column make our columns last longer?"\n'
        'invented = "An invented study."\n'
        '\n[stress]\nbuffer = "ammonia"\nbuffer_mM = 20\nph = 10.5\nph_temperature_C = 25\n'
        'organic = "acetonitrile"\norganic_percent = 30\ntemperature_C = 55\nflow_mL_min = 0.4\n'
        + columns
        + markers
        + events
        + '\n[[factor]]\nname = "sacrificial column"\n'
        'levels = { without = ["alkyl", "phenyl"], with = ["alkyl with guard", "phenyl with guard"] }\n'
        "\n[limits]\nplate_number_half_height = { at_least_percent = 80 }\n"
        "retention_factor = { at_least_percent = 90 }\n"
    )
