"""The declines of the first figure, followed from injection to injection beside their chromatograms.

In: what a figure says of its declines, `Edition`. Out: the block `Following`, of which a script makes a chart
that answers; without one the figure stands alone.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import astuple

from lyewitness.decline.usable_lives import failed_by_h
from lyewitness.document.blocks import FigureBlock, Following
from lyewitness.document.edition import Edition
from lyewitness.document.proof import viewer_address
from lyewitness.figures.records import Frame, Trail, Trails
from lyewitness.words.metrics import places_in, unit_of

SCRIPTS = ("theme/follow.js",)
"""What a page loads on which declines can be followed; the rest comes with the first trace."""
MOST_BYTES = 14_000
"""Of the points on one page: a thirtieth of what the front page may weigh with all that it loads."""


def trace_script(edition: Edition, column: str) -> str:
    """Return the path below the report of the script that holds the traces of `column`."""
    page = edition.addresses.page("column", column)
    return "data/traces/" + page.rpartition("/")[2].replace(".html", ".js")


def following_of(edition: Edition, view: FigureBlock, groups: Collection[str] = ()) -> Following | None:
    """Return what can be followed on a figure; None where it shows no decline of injections with traces.

    It begins with the first column to fail of these `groups`, of all where none did.
    """
    told = edition.trails.get(view.id)
    trails = [one for one in (_traced(edition, trail) for trail in told.trails) if one] if told else []
    if told is None or not trails:
        return None
    study = edition.report.study
    labels = {column.id: column.label for column in study.columns}
    columns = [trail.column for trail in trails]
    return Following(
        columns=tuple(edition.link("column", one, _name(one, labels[one])) for one in columns),
        points=_points(edition, view, told, trails, _first_to_fail(edition, trails, groups)),
        viewer=viewer_address(edition, trails[0].injections[:1]),
    )


def _name(column: str, label: str) -> str:
    """Return id and label of a column: what is cut off at the end must not be what tells two apart."""
    return column if column == label else f"{column}, {label}"


def _traced(edition: Edition, trail: Trail) -> Trail | None:
    """Return a decline without the injections that have no trace; None where fewer than two are left."""
    places = [place for place, one in enumerate(trail.injections) if one in edition.report.traces]
    return _only(trail, places) if len(places) > 1 else None


def _only(trail: Trail, places: Sequence[int]) -> Trail:
    return Trail(
        trail.column,
        tuple(trail.injections[place] for place in places),
        tuple(trail.hours[place] for place in places),
        tuple(trail.values[place] for place in places),
    )


def _points(edition: Edition, view: FigureBlock, told: Trails, trails: Sequence[Trail], start: int) -> str:
    """Return the points as JSON that may stand in HTML; of very many every second, third … is taken."""
    step = 1
    while True:
        text = _json(edition, view, told, [_every(trail, step) for trail in trails], start)
        if len(text) <= MOST_BYTES or step > max(len(trail.injections) for trail in trails):
            return text
        step += 1


def _every(trail: Trail, step: int) -> Trail:
    """Return every `step`-th injection, with the last."""
    last = len(trail.injections) - 1
    return _only(trail, sorted({*range(0, last, step), last}))


def _json(edition: Edition, view: FigureBlock, told: Trails, trails: Sequence[Trail], start: int) -> str:
    values = [value for trail in trails for value in trail.values]
    places = places_in(told.metric, values) if told.metric else 1
    unit = unit_of(told.metric, edition.signal_unit) if told.metric else "%"
    groups = {column.id: column.group for column in edition.report.study.columns}
    data = {
        "wide": [view.width, view.height, *_frame(told.frame)],
        "narrow": [view.narrow_width, view.narrow_height, *_frame(told.narrow)],
        "unit": f"\u202f{unit}" if unit else "",
        "places": places,
        "start": start,
        "columns": [
            {
                "id": trail.column,
                "group": edition.marks[groups[trail.column]].place,
                "script": trace_script(edition, trail.column),
                "points": [
                    [one, round(hours, 2), round(value, max(places, 1))]
                    for one, hours, value in zip(trail.injections, trail.hours, trail.values, strict=True)
                ],
            }
            for trail in trails
        ],
    }
    return json.dumps(data, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")


def _frame(frame: Frame) -> list[float]:
    return [round(float(side), 3) for side in astuple(frame)]


def _first_to_fail(edition: Edition, trails: Sequence[Trail], groups: Collection[str]) -> int:
    """Return the place of the column of these groups that failed first by whatever metric, else of any.

    0 where none failed.
    """
    lives = {
        one.column: ended
        for one in edition.report.judgement.first_failures
        if one.metric and (ended := failed_by_h(one.life)) is not None
    }
    of_column = {column.id: column.group for column in edition.report.study.columns}
    known = [
        (of_column[trail.column] not in groups, lives[trail.column], place)
        for place, trail in enumerate(trails)
        if trail.column in lives
    ]
    return min(known, default=(True, 0.0, 0))[2]
