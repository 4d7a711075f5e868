"""When an exposure was reached by the clock on the wall.

In: a scenario, a group, the number of a block, an exposure. Out: times.
"""

from datetime import datetime, timedelta

from lyewitness.rehearsal.plans import GroupPlan, Scenario

BETWEEN_COLUMNS_MIN = 6
"""The columns of a block are tested one after the other, so each was started this much later, minutes."""


def started_at(scenario: Scenario, group: GroupPlan) -> datetime:
    """Return when the stress of a group's columns began."""
    return scenario.started_at + timedelta(minutes=BETWEEN_COLUMNS_MIN * scenario.groups.index(group))


def clock(scenario: Scenario, group: GroupPlan, number: int, exposure_h: float) -> datetime:
    """Return when the column `number` of `group` had `exposure_h` behind it: pauses come on top."""
    paused = sum(
        event.lasting_h for event in scenario.events if event.block in (0, number) and exposure_h > event.at_h
    )
    return started_at(scenario, group) + timedelta(hours=exposure_h + paused)


def stamp(moment: datetime) -> str:
    """Return a time as ISO 8601 writes it, to the minute."""
    return moment.isoformat(timespec="minutes")
