"""Audit of the settling: did the columns stand still while their references were taken?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Iterator, Mapping

import numpy as np

from lyewitness.decline.fresh import MUCH, share_moved
from lyewitness.decline.records import Decline
from lyewitness.findings.audit.points import Asked, Point, groups_of, pairs_with, subject_of
from lyewitness.findings.audit.repeatability import late_references
from lyewitness.findings.evidence import Evidence
from lyewitness.words.metrics import the_metric
from lyewitness.words.phrases import counted, listed, percent

SETTLED = Asked(
    "reference-settled",
    "Did the columns stand still while their references were taken?",
    "A limit in % is one of the mean of the references: where a column aged or settled among them, that is "
    "not the fresh column, and a life by it comes out too long, or too short.",
    "Let the column settle until its metrics repeat, and inject the references right after one another "
    "before the stress begins.",
)


def settled(evidence: Evidence) -> Iterator[Point]:
    """Ask of each curve to a limit in % whether it began with its reference, as far as noise lets one see.

    Columns whose references reach far into the exposure are told by themselves.
    """
    late = late_references(evidence)
    asked = [
        one
        for one in evidence.judgement.declines
        if one.series.column not in late and one.curve_h.size and one.band_carries_reference and one.limit
    ]
    if not asked:
        return
    moved = [one for one in asked if share_moved(one) >= MUCH]
    if not moved:
        yield SETTLED.good(
            "no metric surely moved by a twentieth of the way to its limit while its reference was taken"
        )
        return
    columns = [
        column.id for column in evidence.study.columns if column.id in {m.series.column for m in moved}
    ]
    furthest = {
        column: max((one for one in moved if one.series.column == column), key=share_moved)
        for column in columns
    }
    more = len(moved) - len(furthest)
    told = _moved_words(furthest)
    told += [f"{counted(more, 'further metric')} moved by a twentieth of the way or more"] if more else []
    said = f"{', '.join(told[:-1])}, and {told[-1]}" if len(told) > 1 else told[0]
    groups = groups_of(evidence, columns)
    yield SETTLED.says(
        "caution",
        f"while the references were taken, {said}; the intervals of such lives hold the life by the first "
        "value as well",
        subject_of(evidence, columns),
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


def _moved_words(furthest: Mapping[str, Decline]) -> list[str]:
    """Return `the plate number of amitriptyline fell by 3.8 % on F1 and 2.9 % on F3`, metric by metric."""
    alike: dict[str, list[str]] = {}
    for column, one in furthest.items():
        change = _change_percent(one)
        verb = "fell" if change < 0 else "rose"
        said = f"{the_metric(one.series.marker, one.series.metric)} {verb} by "
        alike.setdefault(said, []).append(f"{percent(abs(change))} on {column}")
    return [said + listed(where) for said, where in alike.items()]


def _change_percent(decline: Decline) -> float:
    """Return by how much the curve moved from the first to the last reference, % of the first."""
    last = decline.series.exposure_h[decline.reference_n - 1]
    value = float(np.interp(last, decline.curve_h, decline.curve_percent))
    return 100 * (value / decline.began.value - 1) if decline.began.value else 0.0
