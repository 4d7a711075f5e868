"""Study folders with traces, of columns whose lives are known, under laws that nobody promised.

In: a seed and a folder to write into. Out: study folders as a laboratory would hand them in, and the truth
of each, which is never in the folder.

Written without knowledge of the program, and knows nothing of it. The laws, sizes and noises are not to be
fitted to the program. Nine laws stand against eight noises and eight designs, half of the pairs.

The life of a column is where its curve without noise first passes the limit, relative to its own start
without noise; `life_of_three_h` is relative to its first three injections, which is what a reference of
three means. Known flaws: areas follow retention; there are no clock times and no logs; `walk` and `common
days` are errors here, where a reader may take them for decline.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Generator = np.random.Generator
Curve = Callable[[FloatArray], FloatArray]
"""Loss over the loss allowed, of exposure over life: passes 1 first at 1, or never."""

END_H = 144.0
MINUTES = np.arange(0.3, 2.9, 0.005)
HOLD_UP_MIN = 0.5
FINE_H = np.linspace(0, 600, 60001)
"""Where the truth is read off."""
DESIGNS: dict[str, tuple[int, ...]] = {
    "3 and 3": (3, 3),
    "1 and 4": (1, 4),
    "1, 2 and 5": (1, 2, 5),
    "blocks of 4": (4, 4),
    "ends just before": (3, 3),
    "ends just after": (3, 3),
    "2 and 3": (2, 3),
    "5 and 5, few injections": (5, 5),
}
"""Columns of each type; the two that end near the life have alike columns."""


def linear(rng: Generator) -> Curve:
    """Lose evenly."""
    return lambda x: x


def accelerating(rng: Generator) -> Curve:
    """Lose with a power of exposure from 2 to 3.5."""
    power = rng.uniform(2, 3.5)
    return lambda x: np.asarray(x**power)


def sigmoid(rng: Generator) -> Curve:
    """Lose by a logistic step whose middle is near the life."""
    middle, width = rng.uniform(0.95, 1.15), rng.uniform(0.08, 0.16)

    def step(x: FloatArray) -> FloatArray:
        return np.asarray(1 / (1 + np.exp(-(x - middle) / width)))

    start, end = step(np.array(0.0)), step(np.array(1.0))
    return lambda x: np.asarray((step(x) - start) / (end - start))


def two_phases(rng: Generator) -> Curve:
    """Lose half soon and exponentially, the rest evenly."""
    share, width = rng.uniform(0.45, 0.65), rng.uniform(0.08, 0.15)

    def loss(x: FloatArray) -> FloatArray:
        return np.asarray(share * (1 - np.exp(-x / width)) + (1 - share) * x)

    return lambda x: np.asarray(loss(x) / loss(np.array(1.0)))


def stairs(rng: Generator) -> Curve:
    """Lose in steps, the one past the limit the highest."""
    at = np.array([0.22, 0.48, 0.75, 1.0, 1.3, 1.6, 1.9, 2.3])
    up = np.array([0.2, 0.25, 0.25, 0.6, 0.3, 0.3, 0.3, 0.3]) * rng.uniform(0.85, 1.15)
    return lambda x: np.asarray((np.asarray(x)[..., None] >= at) @ up)


def collapse(rng: Generator) -> Curve:
    """Lose little, then far too much at once."""
    before, after = rng.uniform(0.1, 0.4), rng.uniform(1.8, 3)
    return lambda x: np.where(x < 1, before * x, after + 0.2 * (x - 1))


def recovery(rng: Generator) -> Curve:
    """Pass the limit, then come back to half of the loss allowed."""
    top, width = rng.uniform(1.3, 1.8), rng.uniform(0.25, 0.5)
    gain = (top - 1) * 0.6
    peak = 1.25 * (1 + gain)
    return lambda x: np.where(
        x < 1.25,
        x * (1 + (top - 1) * np.clip((x - 1) / 0.25, 0, 1) * 0.6),
        peak - (peak - 0.5) * np.clip((x - 1.25) / width, 0, 1),
    )


def slow_then_fast(rng: Generator) -> Curve:
    """Lose slowly, then fast: two straight lines."""
    bend, before = rng.uniform(0.6, 0.8), rng.uniform(0.15, 0.35)
    return lambda x: np.where(x < bend, before * x / bend, before + (1 - before) * (x - bend) / (1 - bend))


def near_miss(rng: Generator) -> Curve:
    """Lose 60 to 85 % of what is allowed, then come back in part: the limit is never passed."""
    depth = rng.uniform(0.6, 0.85)
    return lambda x: np.where(x < 0.8, depth * x / 0.8, depth - 0.35 * np.clip((x - 0.8) / 0.5, 0, 1))


# Not to be sorted: a case is the number of its law and of its noise.
LAWS: dict[str, Callable[[Generator], Curve]] = {
    "linear": linear,
    "accelerating": accelerating,
    "sigmoid": sigmoid,
    "two phases": two_phases,
    "stairs": stairs,
    "collapse": collapse,
    "recovery": recovery,
    "slow then fast": slow_then_fast,
    "near miss": near_miss,
}
NOISES = (
    "independent", "heavy tails", "low outliers", "high outliers", "common days", "own days", "drift", "walk",
)  # fmt: skip


@dataclass(frozen=True)
class Shared:
    """What all columns of a study have in common."""

    blocks: FloatArray
    """Factors of life."""
    days: FloatArray
    """Of unit spread."""
    drift: float
    """In standard deviations of the noise, to the end of the test."""


def noise(kind: str, rng: Generator, hours: FloatArray, spread: float, shared: Shared) -> FloatArray:
    """Draw the noise of one column, as fractions of its start."""
    number = len(hours)
    own: FloatArray = rng.normal(0, spread, number)
    if kind == "heavy tails":
        return np.asarray(rng.standard_t(2, number) * spread * 0.8)
    if kind in ("low outliers", "high outliers"):
        sign = -1 if kind == "low outliers" else 1
        return np.asarray(own + sign * (rng.random(number) < 0.12) * rng.uniform(5, 9, number) * spread)
    day = (hours // 24).astype(int)
    if kind == "common days":
        return np.asarray(0.5 * own + shared.days[day] * 1.2 * spread)
    if kind == "own days":
        return np.asarray(0.5 * own + rng.normal(0, 1.2 * spread, 100)[day])
    if kind == "drift":
        return np.asarray(0.6 * own + shared.drift * spread * (hours / hours[-1]))
    if kind == "walk":
        steps = rng.normal(0, 0.45 * spread, number) * (np.arange(number) > 0)
        return np.asarray(0.5 * own + np.cumsum(steps))
    return own


@dataclass(frozen=True)
class TrueColumn:
    """What is true of one column."""

    name: str
    group: str
    life_h: float | None
    """None: it never passes the limit."""
    life_of_three_h: float | None
    """The same, relative to the mean of its first three injections."""


@dataclass(frozen=True)
class TrueStudy:
    """What is true of one study folder."""

    name: str
    law: str
    noise: str
    design: str
    metric: Literal["plate_number_half_height", "retention_factor"]
    marker: str
    fresh: bool
    """The three reference injections come within an hour."""
    columns: tuple[TrueColumn, ...]
    medians: dict[str, float | None]
    """Life of the typical column of each type, hours."""

    def lives(self, group: str) -> list[float | None]:
        """Return the lives of the columns of one type."""
        return [one.life_h for one in self.columns if one.group == group]

    def mean_life(self, group: str) -> float | None:
        """Return the geometric mean life of the columns of one type; None where one never fails."""
        lives = [one for one in self.lives(group) if one]
        return float(np.exp(np.mean(np.log(lives)))) if len(lives) == len(self.lives(group)) else None


@dataclass(frozen=True)
class Case:
    """One study to be written."""

    number: int
    seed: int
    name: str

    @property
    def law(self) -> str:
        """Return the name of its law."""
        return list(LAWS)[self.number // len(NOISES)]

    @property
    def noise(self) -> str:
        """Return the name of its noise."""
        return NOISES[self.number % len(NOISES)]

    @property
    def design(self) -> str:
        """Return the name of its design."""
        law, kind = divmod(self.number, len(NOISES))
        return list(DESIGNS)[(3 * law + kind * 5 + law // 3) % len(DESIGNS)]

    def generator(self, start: int) -> Generator:
        """Return a source of chance that no other study shares."""
        return np.random.default_rng([start, self.seed])


def cases(seed: int) -> Iterator[Case]:
    """Yield half of the pairs of law and noise, in mixed order."""
    count = 0
    for number in np.random.default_rng(3).permutation(len(LAWS) * len(NOISES)):
        law, kind = divmod(int(number), len(NOISES))
        if (law + kind) % 2 == 0:
            count += 1
            yield Case(int(number), seed, f"A{count:02d}")


def injections_of(rng: Generator, design: str) -> int:
    """Draw how often each column is injected."""
    few, some, usual = int(rng.integers(6, 9)), int(rng.integers(8, 13)), int(rng.integers(7, 16))
    if design in ("1 and 4", "2 and 3") and rng.random() < 0.4:
        return 24 + int(rng.integers(0, 7)) if design == "2 and 3" else 20
    return {"5 and 5, few injections": few, "1, 2 and 5": some}.get(design, usual)


def exposures(rng: Generator, number: int, fresh: bool) -> FloatArray:
    """Draw the hours of the injections; `fresh`: the three references within the first hour."""
    hours: FloatArray = np.linspace(0, END_H, number)
    hours[1:-1] += rng.uniform(-0.2, 0.2, number - 2) * (END_H / (number - 1))
    hours = np.round(hours, 1)
    if fresh:
        rest = np.linspace(END_H / (number - 3) * 0.7, END_H, number - 3)
        hours[1:] = np.concatenate([[0.3, 0.6], np.round(np.sort(rest), 1)])
    return hours


def first_below(values: FloatArray, limit: float) -> float | None:
    """Return the hour at which the fine curve first lies below `limit`."""
    below = np.nonzero(values < limit - 1e-9)[0]
    return float(FINE_H[below[0]]) if len(below) else None


def trace(rng: Generator, neutral: float, base: float, plates_neutral: float, plates_base: float) -> str:
    """Draw one export: hold-up, toluene and metoprolol with these retention factors and plate numbers."""
    signal = rng.normal(0, 0.02, len(MINUTES))
    peaks = (
        (HOLD_UP_MIN, 2500.0, 60),
        (HOLD_UP_MIN * (1 + neutral), plates_neutral, 100),
        (HOLD_UP_MIN * (1 + base), plates_base, 90),
    )
    for apex, plates, height in peaks:
        width = apex / np.sqrt(plates)
        signal += height * np.sqrt(plates / 7000) * np.exp(-0.5 * ((MINUTES - apex) / width) ** 2)
    rows = "\n".join(f"{at:.3f},{value:.3f}" for at, value in zip(MINUTES, signal, strict=True))
    return f"Time (min),Signal (mAU)\n{rows}\n"


def write(case: Case, into: Path) -> TrueStudy:
    """Write the folder of one study and return what is true of it."""
    rng = case.generator(90210 + case.number)
    of_plates = int(rng.integers(2)) == 0
    marker, limit, spread = ("metoprolol", 0.80, 0.02) if of_plates else ("toluene", 0.90, 0.008)
    counts = DESIGNS[case.design]
    number = injections_of(rng, case.design)
    ratio = float(rng.choice([1, 1, 1, 1.2, 1.5, 2.0]))
    typical, apart = END_H * rng.uniform(0.45, 0.75) / (ratio**0.5), 0.12
    if case.design.startswith("ends"):
        typical, ratio, apart = END_H * (1.06 if case.design == "ends just before" else 0.95), 1.0, 0.02
    medians = [typical, typical * ratio, *[typical * ratio**0.5] * (len(counts) - 2)]
    common = case.generator(5 * case.number + 1)
    shared = Shared(
        np.exp(common.normal(0, 0.2, 8)),
        common.normal(0, 1, 100),
        float(common.choice([-1, 1]) * common.uniform(1.5, 3)),
    )
    fresh = case.number % 3 != 0
    hours = exposures(rng, number, fresh)
    # All columns of a study age by one form.
    curve = LAWS[case.law](case.generator(1000 * case.number))
    blocks = case.design == "blocks of 4"
    folder = into / case.name
    (folder / "chromatograms").mkdir(parents=True)
    columns: list[TrueColumn] = []
    tables: list[str] = []
    injections = ["injection,file,column,exposure_h"]
    for letter, count, median in zip("PQS", counts, medians, strict=False):
        for place in range(count):
            name, group = f"{letter}{place + 1}", f"Type {letter}"
            life = median * np.exp(rng.normal(0, apart)) * (shared.blocks[place] if blocks else 1)
            fractions = 1 - (1 - limit) * curve(hours / life)
            fine = 1 - (1 - limit) * curve(FINE_H / life)
            of_three = first_below(fine, limit * float(np.mean(fractions[:3])))
            columns.append(TrueColumn(name, group, first_below(fine, limit), of_three))
            tables.append(column_table(name, group, f"{place + 1}" if blocks else ""))
            seen = np.clip(fractions + noise(case.noise, rng, hours, spread, shared), 0.25, 2)
            neutral, base = 2.6 * (1 + rng.normal(0, 0.01)), 3.9 * (1 + rng.normal(0, 0.01))
            plates = 6000 * (1 + rng.normal(0, 0.03))
            for turn, (hour, value) in enumerate(zip(hours, seen, strict=True)):
                own_neutral = neutral * (1 + rng.normal(0, 0.002) if of_plates else value)
                own_base = base * (1 + rng.normal(0, 0.002))
                own_plates = plates * (value if of_plates else 1 + rng.normal(0, 0.01))
                export = trace(rng, own_neutral, own_base, 7000.0 * (1 + rng.normal(0, 0.01)), own_plates)
                injection = f"{name}-{turn + 1:02d}"
                (folder / "chromatograms" / f"{injection}.csv").write_text(export, encoding="utf-8")
                injections.append(f"{injection},chromatograms/{injection}.csv,{name},{hour}")
    (folder / "injections.csv").write_text("\n".join(injections) + "\n", encoding="utf-8")
    metric: Literal["plate_number_half_height", "retention_factor"] = (
        "plate_number_half_height" if of_plates else "retention_factor"
    )
    text = HEAD.format(name=case.name, metric=metric, marker=marker, end=END_H) + "".join(tables) + MARKERS
    (folder / "study.toml").write_text(text, encoding="utf-8")
    never = case.law == "near miss"
    return TrueStudy(
        case.name, case.law, case.noise, case.design, metric, marker, fresh, tuple(columns),
        {f"Type {letter}": None if never else one for letter, one in zip("PQS", medians, strict=False)},
    )  # fmt: skip


def column_table(name: str, group: str, block: str) -> str:
    """Return what `study.toml` says of one column."""
    told = (
        f'[[column]]\nid = "{name}"\ngroup = "{group}"\nparticle = "porous hybrid"\nbonding = "C18"\n'
        "length_mm = 50\ninner_diameter_mm = 2.1\nparticle_um = 1.7\n"
    )
    return told + (f'block = "{block}"\n' if block else "")


HEAD = """[study]
id = "{name}"
title = "Study {name}"
question = "Which type lasts longest?"
decides = "{metric} of {marker}"
invented = "A simulated study."
[stress]
buffer = "pyrrolidine"
buffer_mM = 20
ph = 11.3
ph_temperature_C = 25
organic = "acetonitrile"
organic_percent = 30
temperature_C = 50
flow_mL_min = 0.4
[test]
wavelength_nm = 220
injection_uL = 1.0
ends_h = {end}
"""
MARKERS = """[[marker]]
id = "uracil"
role = "void"
retention_min = 0.5
[[marker]]
id = "toluene"
role = "neutral"
retention_min = 1.8
[[marker]]
id = "metoprolol"
role = "base"
pka = 9.6
retention_min = 2.45
[limits]
plate_number_half_height = { at_least_percent = 80 }
retention_factor = { at_least_percent = 90 }
"""
