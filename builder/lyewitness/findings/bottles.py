"""One bottle of the mobile phase that was off, for a stated time and on stated columns, by their logs.

In: `Evidence`. Out: `Bottle`s. What an event gives a beginning, an end and columns is no drift: it counts for
these columns and these hours alone.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from statistics import fmean

from lyewitness.findings.changes import RENEWS
from lyewitness.findings.evidence import Evidence
from lyewitness.study.events import event_hours
from lyewitness.study.records import Event
from lyewitness.study.setpoints import PH
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.phrases import listed


@dataclass(frozen=True, slots=True)
class Bottle:
    """A bottle of another pH than those before and after it."""

    event: Event
    columns: tuple[str, ...]
    """The columns whose logs show it."""
    spans: Mapping[str, tuple[float, float]]
    """When it was on, exposure in hours, by column."""
    within: tuple[float, float]
    """Lowest and highest reading while it was on."""
    outside: tuple[float, float]
    """Those of the same columns before and after."""

    @property
    def longest_h(self) -> float:
        """Return for how long it was on, hours."""
        return max(end - begin for begin, end in self.spans.values())

    @property
    def size(self) -> float:
        """Return how far its readings lie from the others at most."""
        return max(self.within[1], self.outside[1]) - min(self.within[0], self.outside[0])

    def words(self, evidence: Evidence) -> str:
        """Return `one bottle, for 12.5 h on A1 … only, had pH 11.10, beside pH 10.80 before and after`."""
        everywhere = len(self.columns) == len(evidence.study.columns)
        whose = "all columns" if everywhere else f"{listed(self.columns)} only"
        begin, end = next(iter(self.spans.values()))
        alike = len({*self.spans.values()}) == 1
        when = f" (from {stated(round(begin, 1))} to {_hours(end)})" if alike else ""
        return (
            f"one bottle, for {_hours(self.longest_h)}{when} on {whose}, had {_range(self.within)}, beside "
            f"{_range(self.outside)} before and after"
        )


def _hours(value: float) -> str:
    return with_unit(stated(round(value, 1)), "h")


def _range(ends: tuple[float, float]) -> str:
    low, high = (fixed(end, PH.places) for end in ends)
    return f"pH {low}" if low == high else f"pH {low} to {high}"


@lru_cache(maxsize=4)
def stated_bottles(evidence: Evidence) -> tuple[Bottle, ...]:
    """Return the bottles that events state with their columns and hours, and logs show off the others."""
    return tuple(_bottles(evidence))


def bottle_on(evidence: Evidence, column: str) -> Bottle | None:
    """Return the bottle that explains all movement of the pH on a column; None for none."""
    return next((one for one in stated_bottles(evidence) if column in one.columns), None)


def _bottles(evidence: Evidence) -> Iterator[Bottle]:
    for event in evidence.study.events:
        if event.kind not in RENEWS["ph"] or event.end is None:
            continue
        spans, inside, outside = {}, [], []
        for column in evidence.study.columns:
            ends = event_hours(event, column, evidence.study.events)
            if ends is None:
                continue
            own = [one for one in evidence.logged(column.id, "ph") if one[0] == one[0]]
            within = [ph for hour, ph in own if ends[0] <= hour <= ends[1]]
            others = [ph for hour, ph in own if not ends[0] <= hour <= ends[1]]
            if not within or not others or max(others) - min(others) > PH.steady:
                continue
            if abs(fmean(within) - fmean(others)) > PH.steady:
                spans[column.id] = ends
                inside += within
                outside += others
        if spans:
            yield Bottle(event, tuple(spans), spans, (min(inside), max(inside)), (min(outside), max(outside)))
