"""A number with its interval, or the reason why there is none.

In: nothing. Out: the `Estimate` record that every later stage uses for what it computes.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with a two-sided interval at the study's confidence; an open end is None."""

    value: float | None = None
    """The estimate, or None where it cannot be given."""
    low: float | None = None
    """Lower end of the interval; None is open."""
    high: float | None = None
    """Upper end of the interval; None is open."""
    reason: str = ""
    """Why there is no value or an open end: `too few points`, `limit not reached`, …"""
