"""The one way to say a limit.

In: a limit's bound. Out: pieces of sentences, labels and cells.
"""

from typing import Protocol

from lyewitness.words.metrics import metric_of
from lyewitness.words.numbers import stated, with_unit


class Bound(Protocol):
    """A limit: one bound on one metric; exactly one of the four is not None."""

    @property
    def metric(self) -> str:
        """Return the metric's id."""

    @property
    def at_least_percent(self) -> float | None:
        """Return the lower bound, % of the column's own reference value."""

    @property
    def at_most_percent(self) -> float | None:
        """Return the upper bound, % of the column's own reference value."""

    @property
    def at_least(self) -> float | None:
        """Return the lower bound in the metric's own unit."""

    @property
    def at_most(self) -> float | None:
        """Return the upper bound in the metric's own unit."""


def is_lower(limit: Bound) -> bool:
    """Say whether a metric passes the limit by falling below it."""
    return limit.at_least_percent is not None or limit.at_least is not None


def level_of(limit: Bound) -> str:
    """Return the limit's level: `80 %`, `2`, `150 bar`."""
    relative = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if relative is not None:
        return with_unit(stated(relative), "%")
    absolute = limit.at_least if limit.at_least is not None else limit.at_most
    if absolute is None:
        raise ValueError(f"limit without a bound: {limit}")
    return with_unit(stated(absolute), metric_of(limit.metric).unit)


def bound_of(limit: Bound) -> str:
    """Return the limit itself: `80 % of its reference`, `2`."""
    relative = limit.at_least_percent is not None or limit.at_most_percent is not None
    return f"{level_of(limit)} of its reference" if relative else level_of(limit)


def falls_past(limit: Bound) -> str:
    """Return how a metric passes the limit: `falls below 80 % of its reference`."""
    return f"{'falls below' if is_lower(limit) else 'rises above'} {bound_of(limit)}"


def limit_text(limit: Bound | None) -> str:
    """Return a limit in a cell: `at least 80 % of its reference`, `at most 2`; empty where there is none."""
    if limit is None:
        return ""
    return f"{'at least' if is_lower(limit) else 'at most'} {bound_of(limit)}"


def limit_label(limit: Bound) -> str:
    """Return the limit as it stands on its rule: `limit 80 %`, `limit 2`."""
    return f"limit {level_of(limit)}"


def limit_of(limit: Bound) -> str:
    """Return the limit as it stands in a sentence: `limit of 80 %`."""
    return f"limit of {level_of(limit)}"
