"""A study whose report has every kind of figure and page, and few of each, for tests that build it again.

In: nothing. Out: its scenario.
"""

from dataclasses import replace

from lyewitness.rehearsal.plans import Scenario
from lyewitness.rehearsal.scenario import small_scenario

LIMITED = ("plate_number_half_height", "pressure_bar")
"""A metric of markers and one of columns: two, for what is drawn where there are several."""


def lean_scenario() -> Scenario:
    """Return the small study with one retained marker and two limits: half as much to draw."""
    whole = small_scenario()
    return replace(
        whole,
        markers=tuple(one for one in whole.markers if one.id != "naphthalene"),
        limits=tuple(one for one in whole.limits if one.metric in LIMITED),
    )
