"""How often a life foreseen across studies holds a further column: `python -m tests.shelf.further_lives`.

Laboratories, columns and conditions are drawn here by laws that the program does not assume: laboratories
whose columns scatter differently, effects of Student's t with three degrees of freedom, laboratories that
only shorten lives, ovens that are not at what they show, most studies at one temperature with one to six
columns each. A further column is of a further laboratory, at conditions within the hull of those tested.
"""

import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from math import exp, log

import numpy as np

from lyewitness.shelf.across import Point, fit, predict
from tests.shelf.making import GAS, TRUE_ENERGY, TRUE_PER_PH

STUDIES = (3, 4, 5, 6, 8, 12, 20)
RUNS = 2000
Draw = Callable[[np.random.Generator], float]


@dataclass(frozen=True)
class Law:
    """How lives are drawn: ln life of one column is middle + laboratory + column."""

    laboratory: Draw
    """Effect of one laboratory."""
    scatter: Draw
    """Standard deviation of ln life between the columns of one laboratory."""
    column: Draw = lambda rng: float(rng.normal())
    """Of unit spread."""
    columns: Draw = lambda rng: 3
    temperature: Draw = lambda rng: float(rng.uniform(40, 70))
    oven: float = 0.0
    """°C by which ovens are off what they show, one standard deviation."""


def student(rng: np.random.Generator) -> float:
    """Return a draw of Student's t with three degrees of freedom, of unit standard deviation."""
    return float(rng.standard_t(3) / 3**0.5)


def crowded(rng: np.random.Generator) -> float:
    """Return 50 °C for three of four studies."""
    return 50.0 if rng.random() < 0.75 else float(rng.choice((40.0, 60.0, 70.0)))


LAWS = {
    "normal": Law(lambda rng: rng.normal(0, 0.3), lambda rng: 0.2),
    "laboratories alike": Law(lambda rng: rng.normal(0, 0.1), lambda rng: 0.2),
    "laboratories far apart": Law(lambda rng: rng.normal(0, 0.6), lambda rng: 0.15),
    "scatter differs": Law(lambda rng: rng.normal(0, 0.3), lambda rng: 0.2 * exp(rng.normal(0, 0.6))),
    "t effects": Law(lambda rng: 0.3 * student(rng), lambda rng: 0.2, student),
    "only shorter": Law(lambda rng: -0.3 * rng.exponential(), lambda rng: 0.2),
    "unbalanced": Law(
        lambda rng: rng.normal(0, 0.3), lambda rng: 0.2, columns=lambda rng: float(rng.integers(1, 7)),
        temperature=crowded,
    ),
    "all of it": Law(
        lambda rng: 0.3 * student(rng), lambda rng: 0.2 * exp(rng.normal(0, 0.6)), student,
        lambda rng: float(rng.integers(1, 7)), crowded, oven=1.0,
    ),
}  # fmt: skip


def study(rng: np.random.Generator, law: Law, name: str, heat: float, ph: float, columns: int) -> list[Point]:
    """Return the columns of one study, which states the temperature that its oven shows."""
    kelvin = heat + law.oven * rng.normal() + 273.15
    middle = log(100) + TRUE_ENERGY / GAS * (1 / kelvin - 1 / 328.15) + TRUE_PER_PH * (ph - 10)
    laboratory, scatter = law.laboratory(rng), law.scatter(rng)
    return [
        Point(name, exp(middle + laboratory + scatter * law.column(rng)), heat, ph) for _ in range(columns)
    ]


@dataclass
class Count:
    """What became of one law and number of studies."""

    given: int = 0
    held: int = 0
    energies: int = 0
    energies_held: int = 0
    widths: list[float] = field(default_factory=list)
    """Of ln life, half an interval."""


def counted(law: Law, studies: int, runs: int, two_terms: bool, seed: int) -> Count:
    """Return how many intervals were given, and how many held; `two_terms`: pH varies between studies."""
    rng = np.random.default_rng(seed)
    count = Count()
    for _ in range(runs):
        places = [(law.temperature(rng), rng.uniform(9.5, 11) if two_terms else 10.2) for _ in range(studies)]
        points = [
            one
            for number, (heat, ph) in enumerate(places)
            for one in study(rng, law, f"s{number}", heat, ph, int(law.columns(rng)))
        ]
        heat, ph = rng.dirichlet(np.ones(studies)) @ np.array(places)
        (further,) = study(rng, law, "further", float(heat), float(ph), 1)
        model = fit(points)
        energy, life = model.activation_energy_kJ_mol, predict(model, float(heat), float(ph)).life_h
        if life.low is None or life.high is None:
            continue
        count.given += 1
        count.held += life.low < further.life_h < life.high
        count.widths.append(log(life.high / life.low) / 2)
        if energy.low is not None and energy.high is not None:
            count.energies += 1
            count.energies_held += energy.low < TRUE_ENERGY < energy.high
    return count


def main() -> int:
    """Print for each law and number of studies the share of further lives and true energies held."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else RUNS
    numbers = [int(one) for one in sys.argv[2].split(",")] if len(sys.argv) > 2 else STUDIES
    print(f"{'law':<24}{'terms':<7}{'studies':>7}{'given %':>9}{'lives %':>9}{'Ea %':>7}{'factor':>8}")
    for name, law in LAWS.items():
        for two_terms in (False, True):
            for studies in numbers:
                seed = zlib.crc32(f"{name} {two_terms} {studies}".encode())
                one = counted(law, studies, runs, two_terms, seed)
                told = (
                    f"{name:<24}{'T, pH' if two_terms else 'T':<7}{studies:>7}{100 * one.given / runs:>9.1f}"
                )
                if one.given:
                    told += f"{100 * one.held / one.given:>9.1f}"
                    told += f"{100 * one.energies_held / one.energies:>7.1f}" if one.energies else f"{'':>7}"
                    told += f"{exp(float(np.median(one.widths))):>8.1f}"
                print(told, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
