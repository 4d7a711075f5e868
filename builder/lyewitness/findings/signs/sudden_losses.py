"""Beds that give way: the plates of all markers fall together, within a short part of the exposure.

In: `Evidence` and a column. Out: `SuddenLoss`.

What a phase loses, or silanols take, comes by degrees and not from all markers alike. A bed that settles, a
void or a frit that is blocked in part broadens every peak by one share, and mostly within days.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import exp, log
from statistics import fmean

from lyewitness.findings.evidence import Evidence
from lyewitness.words.phrases import exposure, listed, percent, percent_span

PLATES = "plate_number_half_height"
LOST = 0.15
"""Share of the plates that must be gone: the scatter of three injections and slow wear stay below it."""
ALIKE = 1 / 3
"""Share of the loss (ln) by which markers may differ in it: of an early peak's width from a narrow column
a third or more is the tubing's, which no bed broadens."""
MOST_OF_IT = 0.75
"""Share of the loss that must fall into the short part."""
SHORT = 1 / 3
"""Share of the exposure that is short: of a steady loss three quarters take three quarters of it."""
SLUMP = 1 / 5
"""Share of the exposure within which a bed has slumped that wore before it, and goes on wearing after it."""
OF_THE_WHOLE = 0.5
"""Share of the loss that must fall into a slump."""
FASTER = 4.0
"""Times the pace before and after it, both: what accelerates, or slackens, does so on one side."""
MOST_LEFT = 0.5
"""Share of the plates that may be left where all markers lost theirs by degrees: less takes any wear."""
FEWEST = 6
"""Injections without which no loss is told from a course."""
TWICE = 2
"""Injections that must show it: one by itself is an injection gone wrong."""


@dataclass(frozen=True, slots=True)
class SuddenLoss:
    """What the plates of all markers on one column lost together."""

    column: str
    share: float
    """Of the plates, 0 … 1, the mean over the markers at the end."""
    begin_h: float
    """Exposure of the last injection before most of it."""
    end_h: float
    """Exposure of the first injection behind most of it."""
    markers: tuple[str, ...]

    @property
    def words(self) -> str:
        """Return `by 45 % between 72 and 96 h`."""
        begin = exposure(self.begin_h).partition("\u2009")[0]
        return f"by {percent(100 * self.share)}, most of it between {begin} and {exposure(self.end_h)}"

    @property
    def markers_words(self) -> str:
        """Return the markers, as `metoprolol and propylbenzene alike`."""
        return f"{listed(self.markers)} alike"


@lru_cache(maxsize=4)
def sudden_losses(evidence: Evidence) -> Mapping[str, SuddenLoss]:
    """Return the sudden loss of each column that had one.

    None where all columns of the study had theirs at one time: an instrument does that, and no bed.
    """
    columns = [column.id for column in evidence.study.columns]
    found = {column: loss for column in columns if (loss := _loss_on(evidence, column)) is not None}
    if len(columns) > TWICE and len(found) == len(columns) and _at_once(list(found.values())):
        return {}
    return found


def is_known(evidence: Evidence, column: str) -> bool:
    """Return whether a sudden loss of all markers would be seen on a column."""
    return len(_courses(evidence, column)[1]) >= TWICE and len(_courses(evidence, column)[0]) >= FEWEST


def lost_by_degrees(evidence: Evidence, column: str) -> str:
    """Return `x and y lost 86 % of them alike, …` where a bed may have given way without haste; else nothing.

    What takes more than half of the plates, and as much of every marker's, spares neither neutral nor base as
    a phase or silanols do; a void that grows does that over days, and may reach one marker before another.
    """
    hours, lost = _courses(evidence, column)
    few = len(hours) < FEWEST or len(lost) < TWICE
    if few or not _are_alike(lost) or _loss_on(evidence, column) is not None:
        return ""
    left = [exp(fmean(values[-TWICE:])) for values in lost.values()]
    if max(left) > MOST_LEFT:
        return ""
    span = percent_span(100 * (1 - max(left)), 100 * (1 - min(left)))
    return f"{listed(lost)} lost {span} of them alike by the end, but by degrees"


def _are_alike(lost: Mapping[str, Sequence[float]]) -> bool:
    """Return whether the markers (ln of what was left of each) come to one loss at the end."""
    ends = [fmean(values[-TWICE:]) for values in lost.values()]
    return max(ends) - min(ends) <= ALIKE * -fmean(ends)


def _at_once(losses: Sequence[SuddenLoss]) -> bool:
    return max(one.begin_h for one in losses) < min(one.end_h for one in losses)


def _courses(evidence: Evidence, column: str) -> tuple[list[float], dict[str, list[float]]]:
    """Return the exposures at which all retained markers were measured, and ln of what was left of each.

    No marker where none of them is neutral: what bases alone lose, silanols may take.
    """
    doubtful = {one.injection for one in evidence.doubtful}
    rows = {
        marker: {
            row.injection: row
            for row in evidence.rows(column, marker)
            if row.plate_number_half_height and row.injection not in doubtful
        }
        for marker in evidence.roles("neutral", "base", "acid")
    }
    rows = {marker: own for marker, own in rows.items() if own}
    if not rows or not set(rows) & set(evidence.roles("neutral")):
        return [], {}
    first, *others = rows.values()
    shared = [name for name in first if all(name in own for own in others)]
    reference = evidence.study.choices.reference_injections
    if len(shared) <= reference:
        return [], {}
    lost = {}
    for marker, own in rows.items():
        plates = [float(own[name].plate_number_half_height or 0.0) for name in shared]
        fresh = fmean(plates[:reference])
        lost[marker] = [log(value / fresh) for value in plates]
    return [first[name].exposure_h for name in shared], lost


def _loss_on(evidence: Evidence, column: str) -> SuddenLoss | None:
    """Return the sudden loss of one column; None for none."""
    hours, lost = _courses(evidence, column)
    if len(hours) < FEWEST or len(lost) < TWICE:
        return None
    course = [fmean(values) for values in zip(*lost.values(), strict=True)]
    whole = min(course[-1], fmean(course[-TWICE:]))
    seen = sum(value < log(1 - LOST / TWICE) for value in course)
    if whole > log(1 - LOST) or seen < TWICE or not _are_alike(lost):
        return None
    part = _short_part(hours, course, whole) or _slump(hours, course, whole)
    if part is None:
        return None
    before, after = part
    return SuddenLoss(column, 1 - exp(whole), hours[before], hours[after], tuple(lost))


def _short_part(hours: Sequence[float], course: Sequence[float], whole: float) -> tuple[int, int] | None:
    """Return the injections between which most was lost of what was lost at all, where that is short."""
    aside = (1 - MOST_OF_IT) / 2
    before = max(place for place, value in enumerate(course) if value > aside * whole)
    after = next(
        place for place, value in enumerate(course) if place > before and value < (1 - aside) * whole
    )
    fell = course[after] - course[before]
    steady = all(later - earlier < -fell / 2 for earlier, later in pairwise(course))
    if hours[after] - hours[before] > SHORT * (hours[-1] - hours[0]) or not steady:
        return None
    return before, after


def _slump(hours: Sequence[float], course: Sequence[float], whole: float) -> tuple[int, int] | None:
    """Return the injections between which half was lost or more, much faster than before and after it."""
    longest = SLUMP * (hours[-1] - hours[0])
    found = [
        (course[end] - course[begin], begin, end)
        for begin in range(1, len(hours) - TWICE)
        for end in range(begin + 1, len(hours) - TWICE)
        if hours[end] - hours[begin] <= longest
        and course[end] - course[begin] <= min(OF_THE_WHOLE * whole, log(1 - LOST))
    ]
    for fell, begin, end in sorted(found):
        pace = fell / (hours[end] - hours[begin])
        beside = ((0, begin), (end, len(hours) - 1))
        slow = max(_pace(hours, course, *part) for part in beside)
        if -pace >= FASTER * slow:
            return begin, end
    return None


def _pace(hours: Sequence[float], course: Sequence[float], begin: int, end: int) -> float:
    """Return the loss (ln) an hour between two injections, 0 for a gain."""
    lasted = hours[end] - hours[begin]
    return max(course[begin] - course[end], 0.0) / lasted if lasted > 0 else 0.0
