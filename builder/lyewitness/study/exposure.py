"""Exposure to the stress, whichever way the folder states it, in hours and in column volumes.

In: one of hours, millilitres, column volumes or a time of day, with flow and void volume.
Out: `Exposure`.
"""

from dataclasses import dataclass

from lyewitness.study.records import Column, Injection, LoggedCondition

MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class Exposure:
    """How much stress a column had seen."""

    hours: float | None
    """None where neither hours nor what would give them is known."""
    column_volumes: float | None
    """None where the flow or the void volume is unknown."""


def exposure_of(
    placed: Injection | LoggedCondition,
    column: Column,
    flow_mL_min: float | None,
    void_volume_mL: float | None,
) -> Exposure:
    """Return the exposure at which `placed` stands.

    Column volumes are millilitres passed ÷ void volume; hours are millilitres ÷ flow (common practice).
    `flow_mL_min` is the flow of the stress, `void_volume_mL` hold-up time × flow of the injections.
    """
    per_hour = flow_mL_min * MINUTES_PER_HOUR if flow_mL_min else None
    hours = placed.exposure_h  # of what bears a time alone, `placing` has reckoned them
    volume_mL = placed.exposure_mL
    if volume_mL is None and placed.exposure_cv is not None and void_volume_mL:
        volume_mL = placed.exposure_cv * void_volume_mL
    if hours is None and volume_mL is not None and per_hour:
        hours = volume_mL / per_hour
    if volume_mL is None and hours is not None and per_hour:
        volume_mL = hours * per_hour
    if placed.exposure_cv is not None:
        return Exposure(hours, placed.exposure_cv)
    return Exposure(hours, volume_mL / void_volume_mL if volume_mL is not None and void_volume_mL else None)
