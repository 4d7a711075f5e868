"""How often a life foreseen across studies holds, under laws of which the program was never told.

    python -m tests.shelf.foreign_laws              draws each cell as often as it was first done
    python -m tests.shelf.foreign_laws 100          a hundred draws for each cell
    python -m tests.shelf.foreign_laws 100 --part conditions

In: laws by which lives of columns come about in laboratories, and habits of choosing columns and conditions.
Out: a row for each law and number of studies: share of further columns held, the exact chance of it, and
how wide the interval is beside that of one who knows the law.

Written without knowledge of the program, by someone who saw only what it is asked and what it answers. The
laws, sizes and noises are not to be fitted to the program: where a row is poor, the program is, or its words.
A further column is always one of a further laboratory, drawn anew by the same law.
"""

import argparse
import sys
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import exp, log, sqrt
from typing import Any, ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from lyewitness.shelf.across import Point, fit, further_life
from lyewitness.words.arrays import BoolArray, FloatArray

Generator = np.random.Generator
Indices = NDArray[np.int_]
Laboratories = dict[str, NDArray[Any]]
"""What is particular to each laboratory, by name: an entry for each laboratory."""

GAS_CONSTANT = 8.314e-3
"""kJ/(mol K), to the figures with which the laws were first drawn."""
FREEZING_K = 273.15
MIDDLE_K = 323.15
"""Temperature at which the middle of the lives is drawn, 50 °C; its pH is 10."""
FURTHER = 400
"""Further laboratories by which the exact chance that an interval holds is counted."""


@dataclass(frozen=True)
class World:
    """What is true of the type of column everywhere."""

    activation_energy: float
    """kJ/mol."""
    per_ph: float
    """Loss of ln life with each unit of pH."""
    middle: float
    """ln of the life in hours at 50 °C and pH 10."""
    lots: FloatArray = field(default_factory=lambda: np.zeros(0))
    """Effects of lots that all laboratories buy from."""


class Law:
    """Arrhenius and a straight line in pH; laboratories (0.3) and columns (0.2) normal in ln life."""

    name = "textbook"
    between = 0.3
    """Standard deviation of ln life between laboratories."""
    within = 0.2
    """Standard deviation of ln life between columns of one laboratory."""

    def world(self, rng: Generator) -> World:
        """Draw what is true everywhere."""
        energy, per_ph = rng.uniform(60, 100), rng.uniform(0.5, 1.8)
        return World(energy, per_ph, log(rng.uniform(100, 600)))

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories; `further`: those asked about, not those that tested."""
        return {"shift": self.between * rng.standard_normal(number)}

    def typical(
        self, world: World, celsius: FloatArray, ph: FloatArray, energy: FloatArray | None = None
    ) -> FloatArray:
        """Return ln life before laboratories and columns differ; `energy` where it is not the world's."""
        own: Any = world.activation_energy if energy is None else energy
        heat = own / GAS_CONSTANT * (1 / (celsius + FREEZING_K) - 1 / MIDDLE_K)
        return np.asarray(world.middle + heat - world.per_ph * (ph - 10))

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life of columns of the laboratories `of`, at these stated conditions."""
        middle = self.typical(world, celsius, ph) + laboratories["shift"][of]
        return np.asarray(middle + self.within * rng.standard_normal(len(of)))

    def reached(self, lives: FloatArray) -> BoolArray:
        """Say which columns reached the limit before their test ended."""
        return np.ones(len(lives), bool)

    def observed(self, lives: FloatArray) -> FloatArray:
        """Return lives in hours as they are read off."""
        return np.asarray(np.exp(lives))


class Weibull(Law):
    """Columns of one laboratory live by Weibull's law of shape 3."""

    name = "Weibull, shape 3"
    shape = 3.0
    between = 0.25

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life by Weibull's law."""
        middle = self.typical(world, celsius, ph) + laboratories["shift"][of]
        return np.asarray(middle + np.log(rng.weibull(self.shape, len(of))))


class WideWeibull(Weibull):
    """Columns of one laboratory live by Weibull's law of shape 1.5: a long tail of short lives."""

    name = "Weibull, shape 1.5"
    shape = 1.5
    between = 0.3


class Gamma(Law):
    """Laboratories and columns both multiply the life by a gamma variate (shapes 8 and 6)."""

    name = "gamma"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories of a gamma law of shape 8."""
        return {"shift": np.log(rng.gamma(8, 1 / 8, number))}

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life by a gamma law of shape 6."""
        middle = self.typical(world, celsius, ph) + laboratories["shift"][of]
        return np.asarray(middle + np.log(rng.gamma(6, 1 / 6, len(of))))


class StudentLaboratories(Law):
    """Laboratories differ by Student's t of three degrees of freedom: one in a while is far off."""

    name = "laboratories by Student's t"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories with heavy tails."""
        return {"shift": 0.3 * rng.standard_t(3, number)}


class Ovens(Law):
    """Ovens are off by 1 K, pH meters by 0.1; buffers lose pH as they warm; habits of the limit differ."""

    name = "ovens, buffers, habits"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw ovens, pH meters, buffers and the life at which a laboratory calls a column dead."""
        return {
            "shift": 0.15 * rng.standard_normal(number),
            "oven_K": rng.normal(0, 1, number),
            "ph": rng.normal(0, 0.1, number),
            "ph_per_K": rng.choice([-0.003, -0.009, -0.026], number, p=[0.4, 0.4, 0.2]),
            "habit": rng.choice([0, log(1.5), -log(1.4)], number, p=[0.6, 0.2, 0.2]),
        }

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life at what oven and buffer truly are; pH is stated at 25 °C."""
        own = {name: one[of] for name, one in laboratories.items()}
        true_celsius = celsius + own["oven_K"] + rng.normal(0, 0.4, len(of))
        true_ph = ph + own["ph"] + rng.normal(0, 0.05, len(of)) + own["ph_per_K"] * (celsius - 25)
        middle = self.typical(world, true_celsius, true_ph) + own["shift"] + own["habit"]
        return np.asarray(middle + 0.15 * rng.standard_normal(len(of)))


class BadLots(Law):
    """Twelve of a hundred lots live a quarter; a laboratory has one or two lots, else 0.2 apart."""

    name = "bad lots, 12 %"
    share = 0.12
    loss = log(0.25)

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw the two lots within a laboratory's reach, and whether it uses both."""
        lots = 0.2 * rng.standard_normal((number, 2))
        lots = lots + np.where(rng.random((number, 2)) < self.share, self.loss, 0)
        shift = 0.2 * rng.standard_normal(number)
        return {"shift": shift, "lots": lots, "both": rng.random(number) < 0.3}

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life of columns, each of one of the laboratory's lots."""
        lot = np.where(laboratories["both"][of], rng.integers(0, 2, len(of)), 0)
        middle = self.typical(world, celsius, ph) + laboratories["shift"][of] + laboratories["lots"][of, lot]
        return np.asarray(middle + 0.15 * rng.standard_normal(len(of)))


class RareLots(BadLots):
    """Three of a hundred lots live a quarter."""

    name = "bad lots, 3 %"
    share = 0.03


class BadColumns(Law):
    """Eight of a hundred columns have a bad bed and live a fifth."""

    name = "bad columns, 8 %"

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life, and which columns are badly packed."""
        usual = super().lives(rng, world, laboratories, of, celsius, ph)
        return np.asarray(usual + np.where(rng.random(len(of)) < 0.08, log(0.2), 0))


class Silica(Law):
    """Silica dissolves with the root of hydroxide activity while fouling of 15 kJ/mol adds to it.

    The rates add, so that fouling limits lives where it is cool or nearly neutral. A third of laboratories
    saturate the eluent with silica, which makes dissolution three times as slow.
    """

    name = "silica, two mechanisms"
    fouling = 1 / 1500.0
    """Rate at 50 °C, 1/h."""

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories, whether they saturate, and how much their eluents foul."""
        return {
            "shift": 0.2 * rng.standard_normal(number),
            "saturated": np.where(rng.random(number) < 0.33, log(3.0), 0),
            "cleanness": 0.3 * rng.standard_normal(number),
        }

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life as the inverse of the sum of two rates; water's own pK falls as it warms."""
        own = {name: one[of] for name, one in laboratories.items()}
        kelvin = celsius + FREEZING_K
        water = 14.0 - 55.8 / (GAS_CONSTANT * log(10)) * (1 / 298.15 - 1 / kelvin)
        warmth = (1 / kelvin - 1 / MIDDLE_K) / GAS_CONSTANT
        hydroxide = 0.5 * log(10) * ((ph - water) - (10 - 13.25))
        dissolving = np.exp(-world.middle - 60 * warmth + hydroxide - own["shift"] - own["saturated"])
        fouling = self.fouling * np.exp(-15 * warmth - own["cleanness"])
        return np.asarray(-np.log(dissolving + fouling) + 0.15 * rng.standard_normal(len(of)))


class FoulingSilica(Silica):
    """The same, fouling four times as fast: lives hardly change over much of the range."""

    name = "silica, plateau"
    fouling = 1 / 375.0


class OwnSlopes(Law):
    """Activation energy (15 kJ/mol) and order in pH (0.3) are the laboratory's own, as surfaces differ."""

    name = "slopes by laboratory"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories with slopes of their own."""
        return {
            "shift": 0.2 * rng.standard_normal(number),
            "energy": rng.normal(0, 15, number),
            "per_ph": rng.normal(0, 0.3, number),
        }

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life by the laboratory's own slopes."""
        own = {name: one[of] for name, one in laboratories.items()}
        middle = self.typical(world, celsius, ph, world.activation_energy + own["energy"])
        middle = middle - own["per_ph"] * (ph - 10) + own["shift"]
        return np.asarray(middle + 0.15 * rng.standard_normal(len(of)))


class UnequalScatter(Law):
    """Laboratories differ in how alike their columns are, and above 55 °C columns scatter twice as much."""

    name = "unequal scatter"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories, and how far their columns scatter."""
        shift = 0.25 * rng.standard_normal(number)
        return {"shift": shift, "scatter": 0.2 * np.exp(0.6 * rng.standard_normal(number))}

    def lives(
        self,
        rng: Generator,
        world: World,
        laboratories: Laboratories,
        of: Indices,
        celsius: FloatArray,
        ph: FloatArray,
    ) -> FloatArray:
        """Draw ln life with the laboratory's own scatter."""
        middle = self.typical(world, celsius, ph) + laboratories["shift"][of]
        scatter = laboratories["scatter"][of] * np.where(celsius > 55, 2, 1)
        return np.asarray(middle + scatter * rng.standard_normal(len(of)))


class SharedLots(Law):
    """All buy of six lots (0.3 apart); a further laboratory has an old lot or, as often, a new one."""

    name = "lots shared by all"

    def world(self, rng: Generator) -> World:
        """Draw what is true everywhere, and six lots."""
        base = super().world(rng)
        return World(base.activation_energy, base.per_ph, base.middle, 0.3 * rng.standard_normal(6))

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories and the lot of each."""
        lot = world.lots[rng.integers(0, 6, number)]
        if further:
            lot = np.where(rng.random(number) < 0.5, lot, 0.3 * rng.standard_normal(number))
        return {"shift": 0.2 * rng.standard_normal(number) + lot}


class LikeLaboratories(Law):
    """Laboratories do not differ at all; columns do, by 0.3."""

    name = "laboratories alike"
    between = 0.0
    within = 0.3


class LikeColumns(Law):
    """Columns of one laboratory hardly differ; laboratories do, by 0.3."""

    name = "columns alike"
    within = 0.01


class Inspections(Law):
    """A life is seen only when someone looks, every 48 hours: many are equal."""

    name = "seen every 48 h"
    between = 0.2
    within = 0.15

    def observed(self, lives: FloatArray) -> FloatArray:
        """Return the next inspection."""
        return np.asarray(np.maximum(48.0, 48 * np.ceil(np.exp(lives) / 48)))


class Hundredfold(Law):
    """Lives range over a hundredfold at equal conditions."""

    name = "lives a hundredfold apart"
    between = 1.1
    within = 0.5


class TwoCamps(Law):
    """Three of ten laboratories call a column dead at another limit, and report lives 2.5 times as long."""

    name = "two camps"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories of the one camp or the other."""
        camp = 0.1 * rng.standard_normal(number) + np.where(rng.random(number) < 0.3, log(2.5), 0)
        return {"shift": camp}


# Of these laws the data hold too little: no honest fit can be right against all of them.
class StoppedEarly(Law):
    """Tests stop at 700 h; columns that still live are only counted."""

    name = "! stopped at 700 h"
    end_h: ClassVar[float] = 700.0

    def reached(self, lives: FloatArray) -> BoolArray:
        """Say which columns died before the end."""
        return np.asarray(lives < log(self.end_h))


class StoppedLate(StoppedEarly):
    """Tests stop at 2500 h, which loses only the longest lives."""

    name = "! stopped at 2500 h"
    end_h = 2500.0


class PublishedIfGood(Law):
    """Only the better seven of ten studies are published; the further laboratory is any."""

    name = "! published if good"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories, the worst left out where they are those that published."""
        shift = 0.3 * rng.standard_normal(number)
        if not further:
            every = 0.3 * rng.standard_normal(number * 8 + 60)
            shift = every[every > -0.3 * 0.5244][:number]
        return {"shift": shift}


class Drifting(Law):
    """Columns live twice as long from the first to the last study, and the further one comes after that."""

    name = "! columns get better"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories in the order of their years."""
        when = np.ones(number) if further else np.linspace(0, 1, number)
        return {"shift": 0.25 * rng.standard_normal(number) + log(2) * when}


class HotForDurable(Law):
    """Durable columns are tested hotter (correlation 0.6), for lives of a convenient length."""

    name = "! hot for durable"

    def laboratories(self, rng: Generator, world: World, number: int, further: bool) -> Laboratories:
        """Draw laboratories, to whose shift the temperature is then chosen."""
        return {"shift": 0.3 * rng.standard_normal(number)}


class BentInPh(Law):
    """The pH does nothing below 8.5, and acts evenly above."""

    name = "! bent in pH"

    def typical(
        self, world: World, celsius: FloatArray, ph: FloatArray, energy: FloatArray | None = None
    ) -> FloatArray:
        """Return ln life, level below pH 8.5."""
        heat = world.activation_energy / GAS_CONSTANT * (1 / (celsius + FREEZING_K) - 1 / MIDDLE_K)
        return np.asarray(world.middle + heat - 1.6 * (np.maximum(ph, 8.5) - 10))


FAIR: tuple[type[Law], ...] = (
    Law, Weibull, WideWeibull, Gamma, StudentLaboratories, Ovens, BadLots, RareLots, BadColumns, Silica,
    FoulingSilica, OwnSlopes, UnequalScatter, SharedLots, LikeLaboratories, LikeColumns, Inspections,
    Hundredfold, TwoCamps,
)  # fmt: skip
UNFAIR: tuple[type[Law], ...] = (
    StoppedEarly, StoppedLate, PublishedIfGood, Drifting, HotForDurable, BentInPh,
)  # fmt: skip

Varied = Literal[
    "nothing", "temperature", "pH", "temperature and pH", "one study hotter", "five temperatures",
    "two temperatures",
]  # fmt: skip
"""What differs between the conditions of the studies."""
Columns = Literal["as it happens", "one, first two", "three", "half in one study", "six in two studies"]
"""How many columns a study tests."""


@dataclass(frozen=True)
class Cell:
    """A law, and what laboratories do under it."""

    law: type[Law]
    studies: int
    varied: Varied = "temperature and pH"
    columns: Columns = "as it happens"
    confidence: float = 0.95


def columns_of(rng: Generator, habit: Columns, study: int) -> int:
    """Draw the number of columns of one study."""
    if habit == "as it happens":
        return int(rng.choice([1, 2, 3, 4, 6], p=[0.35, 0.2, 0.25, 0.08, 0.12]))
    if habit == "half in one study":
        return int(rng.choice([1, 2, 3]))
    if habit == "one, first two":
        # Where no study has two columns the program declines.
        return 2 if study == 0 else 1
    return 3 if habit == "three" else 6 if study < 2 else 1


def conditions_of(rng: Generator, cell: Cell, study: int, shift: float) -> tuple[float, float]:
    """Draw the temperature in °C and the pH that one study states."""
    celsius = 50.0 if rng.random() < 0.5 else float(rng.choice([30, 40, 60, 70]))
    ph = 10.0 if rng.random() < 0.4 else float(rng.choice([8, 9, 10.5, 11]))
    if cell.law is HotForDurable:
        wished = 50 + 12 * (0.6 * shift / 0.3 + 0.8 * rng.standard_normal())
        celsius = float(np.clip(10 * round(wished / 10), 30, 70))
    fixed = {
        "nothing": (50.0, 10.0),
        "pH": (50.0, ph),
        "temperature": (celsius, 10.0),
        "one study hotter": (60.0 if study == 0 else 50.0, 10.0),
        "five temperatures": (30.0 + 10 * (study % 5), 10.0),
        "two temperatures": (40.0 if study % 2 else 60.0, 10.0),
    }
    return fixed.get(cell.varied, (celsius, ph))


def design(rng: Generator, cell: Cell, shifts: FloatArray) -> tuple[Indices, FloatArray, FloatArray]:
    """Draw study, stated temperature and stated pH of each column; some studies test a series of them."""
    studies: list[int] = []
    celsius: list[float] = []
    acidity: list[float] = []
    heats = cell.varied in ("temperature", "temperature and pH")
    shifts_ph = cell.varied in ("pH", "temperature and pH")
    for study in range(cell.studies):
        number = columns_of(rng, cell.columns, study)
        warmth, ph = conditions_of(rng, cell, study, float(shifts[study]))
        series = rng.random() < 0.35 and number > 1 and (heats or shifts_ph)
        heated = rng.random() < 0.6
        for column in range(number):
            own_warmth, own_ph = warmth, ph
            if series and heats and (cell.varied == "temperature" or heated):
                own_warmth = float(np.clip(warmth + 10 * (column % 3 - 1), 30, 80))
            elif series and shifts_ph:
                own_ph = float(np.clip(ph + (column % 3 - 1), 7, 11.5))
            studies.append(study)
            celsius.append(own_warmth)
            acidity.append(own_ph)
    if cell.columns == "half in one study":
        more = max(len(studies) - studies.count(0) * 2, 0)
        studies += [0] * more
        celsius += [celsius[0]] * more
        acidity += [acidity[0]] * more
    return np.array(studies), np.array(celsius), np.array(acidity)


def asked(rng: Generator, celsius: FloatArray, ph: FloatArray) -> tuple[float, float]:
    """Draw the conditions asked about: tested ones, some amid them, or those furthest from their middle."""
    kind = rng.random()
    places = np.unique(np.c_[1 / (celsius + FREEZING_K), ph], axis=0)
    if kind < 0.4:
        one = rng.integers(len(celsius))
        return float(celsius[one]), float(ph[one])
    if kind < 0.8 and len(places) > 1:
        amid = rng.dirichlet(np.ones(len(places))) @ places
        return float(1 / amid[0] - FREEZING_K), float(amid[1])
    spread = places.std(0)
    spread[spread < 1e-12] = 1
    middle = np.c_[1 / (celsius + FREEZING_K), ph].mean(0)
    edge = places[np.argmax((((places - middle) / spread) ** 2).sum(1))]
    return float(1 / edge[0] - FREEZING_K), float(edge[1])


@dataclass(frozen=True)
class Foreseen:
    """One life foreseen, and what came."""

    too_early: bool
    """The further column outlived the interval."""
    too_late: bool
    """It died before the interval began."""
    chance: float
    """Exact chance that the interval holds a further column, over laboratories."""
    width: float
    """ln of upper bound over lower bound."""
    width_knowing: float
    """The same of one who knows the law and all its numbers."""


def foreseen(rng: Generator, cell: Cell) -> Foreseen | None:
    """Draw studies, let the program foresee a further column, and draw that; None where it declines."""
    law = cell.law()
    world = law.world(rng)
    laboratories = law.laboratories(rng, world, cell.studies, False)
    of, celsius, ph = design(rng, cell, laboratories["shift"])
    lives = law.lives(rng, world, laboratories, of, celsius, ph)
    reached = law.reached(lives)
    if not reached.any():
        return None
    of, celsius, ph = of[reached], celsius[reached], ph[reached]
    hours = law.observed(lives[reached])
    at_celsius, at_ph = asked(rng, celsius, ph)
    points = [
        Point(f"s{study}", float(life), float(warmth), float(acidity))
        for study, life, warmth, acidity in zip(of, hours, celsius, ph, strict=True)
    ]
    model = fit(points, int((~reached).sum()), cell.confidence)
    told = further_life(model, at_celsius, at_ph, cell.confidence)
    if told.low is None or told.high is None:
        return None
    other = law.laboratories(rng, world, FURTHER, True)
    each = np.arange(FURTHER)
    warm, alkaline = np.full(FURTHER, at_celsius), np.full(FURTHER, at_ph)
    true = law.observed(law.lives(rng, world, other, each, warm, alkaline))
    low, high = np.quantile(true, [(1 - cell.confidence) / 2, (1 + cell.confidence) / 2])
    held = (true >= told.low) & (true <= told.high)
    return Foreseen(
        bool(true[0] > told.high), bool(true[0] < told.low), float(held.mean()),
        log(told.high / told.low), log(high / low),
    )  # fmt: skip


@dataclass(frozen=True)
class Row:
    """What became of one cell."""

    cell: Cell
    draws: Sequence[Foreseen]
    declined: int

    @property
    def held(self) -> float:
        """Return the share of further columns that lay within their interval."""
        return 1 - float(np.mean([one.too_early or one.too_late for one in self.draws]))

    @property
    def chance(self) -> float:
        """Return the exact chance of that, which scatters less than the share."""
        return float(np.mean([one.chance for one in self.draws]))

    def __str__(self) -> str:
        cell = self.cell
        told = f"{cell.law.name:<28}{cell.studies:>7}  {cell.varied:<20}{cell.columns:<20}"
        if not self.draws:
            return f"{told} nothing foreseen, declined {self.declined}"
        number, held = len(self.draws), self.held
        error = sqrt(max(held * (1 - held), 1 / number) / number)
        chances = np.array([one.chance for one in self.draws])
        width, knowing = (
            exp(float(np.median(one)))
            for one in ([draw.width for draw in self.draws], [draw.width_knowing for draw in self.draws])
        )
        return (
            f"{told}{100 * cell.confidence:>4.0f}{100 * held:>7.1f} ±{100 * error:4.1f}"
            f"{100 * self.chance:>7.1f} ±{100 * float(chances.std()) / sqrt(number):4.1f}"
            f"{100 * float(np.mean([one.too_late for one in self.draws])):>7.1f}"
            f"{100 * float(np.mean([one.too_early for one in self.draws])):>7.1f}"
            f"{width:>10.3g}{knowing:>8.3g}{self.declined:>9}"
        )


HEAD = (
    f"{'law':<28}{'studies':>7}  {'varied':<20}{'columns':<20}{'of':>4}{'held %':>8}{'exact %':>14}"
    f"{'before':>12}{'after':>7}{'width':>10}{'knowing':>9}{'declined':>9}"
)


def generator(cell: Cell, seed: int) -> Generator:
    """Return the chance of a cell: its own, whatever else is drawn."""
    name = f"{cell.law.name}/{cell.studies}/{cell.varied}/{cell.columns}/{seed}"
    return np.random.default_rng(zlib.crc32(name.encode()))


def row(cell: Cell, draws: int, rng: Generator) -> Row:
    """Return what becomes of a cell in so many draws."""
    every = [foreseen(rng, cell) for _ in range(draws)]
    given = [one for one in every if one is not None]
    return Row(cell, given, len(every) - len(given))


def by_size() -> Iterator[Cell]:
    """Yield every law with four to twenty studies."""
    for studies in (4, 5, 6, 8, 12, 20):
        for law in FAIR + UNFAIR:
            yield Cell(law, studies)


def by_conditions() -> Iterator[Cell]:
    """Yield laws by what differs between the conditions of the studies."""
    kinds: tuple[Varied, ...] = (
        "nothing", "temperature", "pH", "one study hotter", "five temperatures", "two temperatures",
    )  # fmt: skip
    for law in (Law, Weibull, Ovens, BadLots, Silica, OwnSlopes, UnequalScatter, LikeLaboratories):
        for varied in kinds:
            for studies in (4, 6, 10):
                yield Cell(law, studies, varied)


def by_columns() -> Iterator[Cell]:
    """Yield the fewest studies, and laws by how many columns a study tests."""
    one_or_none: tuple[Varied, ...] = ("nothing", "temperature")
    uneven: tuple[Columns, ...] = ("half in one study", "one, first two", "three", "six in two studies")
    for law in (Law, Weibull, Ovens, LikeLaboratories, LikeColumns):
        for varied in one_or_none:
            yield Cell(law, 3, varied)
    for columns in uneven:
        for law in (Law, Weibull, OwnSlopes, LikeLaboratories):
            for varied in one_or_none:
                for studies in (5, 8, 15):
                    yield Cell(law, studies, varied, columns)
    for studies in (5, 10):
        for varied in one_or_none:
            for law in (Inspections, Hundredfold, TwoCamps):
                yield Cell(law, studies, varied)


def by_confidence() -> Iterator[Cell]:
    """Yield laws of which 80 of a hundred are to be held."""
    for law in (Law, WideWeibull, Ovens, BadLots, Silica, OwnSlopes, LikeLaboratories):
        for studies in (4, 5, 8, 20):
            yield Cell(law, studies, confidence=0.8)
        for studies in (3, 6):
            yield Cell(law, studies, "temperature", confidence=0.8)


PARTS = {
    "size": (by_size, 600),
    "conditions": (by_conditions, 400),
    "columns": (by_columns, 400),
    "confidence": (by_confidence, 400),
}
"""The parts of the table, and how often each cell was drawn when it was first made."""


def main(given: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.shelf.foreign_laws")
    parser.add_argument("draws", nargs="?", type=int, default=0, help="of each cell; else 600 or 400")
    parser.add_argument("--part", choices=PARTS, action="append", help="all unless given")
    parser.add_argument("--seed", type=int, default=17)
    chosen = parser.parse_args(given)
    print(HEAD)
    for name in chosen.part or PARTS:
        cells, usual = PARTS[name]
        for cell in cells():
            print(row(cell, chosen.draws or usual, generator(cell, chosen.seed)), flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
