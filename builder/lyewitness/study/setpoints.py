"""What the log watches, how much of it matters, and how far the log lies from what was planned.

In: planned conditions, readings of one column. Out: differences, in the unit of the quantity. What is told of
a folder and what is asked of a finished study both stand on this.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import fmean

from lyewitness.study.records import Column, Conditions

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
