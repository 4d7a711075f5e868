"""What the log watches, how much of it matters, and how far the log lies from what was planned.

In: planned conditions, readings of one column. Out: differences, in the unit of the quantity. What is told of
a folder and what is asked of a finished study both stand on this.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean

from lyewitness.study.records import Column, Conditions, LoggedCondition
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.phrases import listed

OTHER_SCALE_PH = 1.5
"""How far a log may lie from the stated pH: with half of acetonitrile the scale shifts by up to 0.7
(Espinosa, Bosch and Rosés, Anal. Chem. 2000, 72, 5193; from memory), and a warm amine reads up to 0.8 lower
(common practice)."""


@dataclass(frozen=True, slots=True)
class Setpoint:
    """One logged condition that was planned, and how much it may move before it matters."""

    quantity: str
    """Field of `LoggedCondition`."""
    name: str
    """As sentences call it."""
    unit: str
    """Empty where it has none."""
    places: int
    """Decimals of a reading."""
    steady: float
    """Movement on one column that does no harm, in `unit`."""
    grave: float
    """Movement on one column that makes its life doubtful, in `unit`."""
    scales: float
    """How far the log may lie from the plan because the two are read on different scales, in `unit`."""
    planned: Callable[[Conditions, Column], float | None]
    """What was planned for a column, or None."""

    @property
    def relative(self) -> bool:
        """Whether movement is taken relative to the mean."""
        return self.quantity == "flow_mL_min"

    def off(self, plan: float | None, readings: Sequence[float]) -> float:
        """Return how far the mean lies from the plan, 0 where there is no plan (relative for the flow)."""
        if plan is None:
            return 0.0
        away = abs(fmean(readings) - plan)
        if away <= self.scales:
            return 0.0
        return away / plan if self.relative and plan else away


TEMPERATURE = Setpoint(
    "temperature_C", "temperature", "°C", 1, 1.0, 3.0, 0.0,
    lambda stress, column: column.temperature_C if column.temperature_C is not None else stress.temperature_C,
)  # fmt: skip
PH = Setpoint(
    "ph", "pH", "", 2, 0.1, 0.3, OTHER_SCALE_PH,
    lambda stress, column: column.ph if column.ph is not None else stress.ph,
)  # fmt: skip
"""On whichever scale the plan was stated."""
FLOW = Setpoint(
    "flow_mL_min", "flow", "mL/min", 3, 0.02, 0.06, 0.0, lambda stress, _column: stress.flow_mL_min
)
SETPOINTS = (TEMPERATURE, PH, FLOW)
FEWEST = 3
"""Readings from which on a log tells of a whole exposure: of two, both may be made by one draught."""


@dataclass(frozen=True, slots=True)
class Departure:
    """A condition that stayed put on a column, but not where it was planned."""

    setpoint: Setpoint
    column: str
    plan: float
    mean: float
    """Of the readings, in the unit of the setpoint; so `low` and `high`, the ends of them."""
    low: float
    high: float

    @property
    def line(self) -> str:
        """Return what states it in study.toml: `temperature_C = 58`, no finer than the log is steady."""
        whole = round(self.mean)
        near = abs(self.mean - whole) <= self.setpoint.steady / 4
        return f"{self.setpoint.quantity} = {whole if near else round(self.mean, self.setpoint.places):g}"


def departure_words(found: Sequence[Departure]) -> list[str]:
    """Return `P2 ran 3.0 °C above the stated 55 °C throughout (57.7 to 58.1 by the log)`, alike together."""
    alike: dict[tuple[str, float, bool], list[Departure]] = {}
    for one in found:
        alike.setdefault((one.setpoint.name, one.plan, one.mean > one.plan), []).append(one)
    said = []
    for (_, plan, above), own in alike.items():
        setpoint = own[0].setpoint
        aways = sorted(abs(one.mean - plan) for one in own)
        away = with_unit(_span(aways[0], aways[-1], setpoint.places), setpoint.unit)
        span = _span(min(one.low for one in own), max(one.high for one in own), setpoint.places)
        said.append(
            f"{listed(one.column for one in own)} ran {away} {'above' if above else 'below'} the stated "
            f"{with_unit(stated(plan), setpoint.unit)} throughout ({span} by the log)"
        )
    return said


def _span(low: float, high: float, places: int) -> str:
    first, last = fixed(low, places), fixed(high, places)
    return first if first == last else f"{first} to {last}"


def departures(
    stress: Conditions, columns: Sequence[Column], log: Sequence[LoggedCondition], *setpoints: Setpoint
) -> Iterator[Departure]:
    """Yield what stayed off its plan on a column from the first reading to the last.

    Every reading lies on one side of the plan, the mean by more than may do no harm, and the readings of the
    column no further apart than that.
    """
    for one in setpoints or SETPOINTS:
        for column in columns:
            found = (getattr(row, one.quantity) for row in log if row.column == column.id)
            values = [float(value) for value in found if value is not None]
            plan = one.planned(stress, column)
            if plan is None or len(values) < FEWEST or one.off(plan, values) <= one.steady:
                continue
            low, high = min(values), max(values)
            apart = (high - low) / (plan if one.relative and plan else 1.0)
            if apart <= one.steady and (low - plan) * (high - plan) > 0:
                yield Departure(one, column.id, plan, fmean(values), low, high)
