"""Audit of the markers: are they well chosen, and their references, hold-up time and areas repeatable?

In: `Evidence`. Out: `Point`s, and the pharmacopoeia's formula for the largest allowed scatter.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import sqrt
from statistics import fmean, stdev

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.decline.declines import references_of
from lyewitness.decline.method_notes import held_where_errors_last
from lyewitness.findings.audit.events import area_step
from lyewitness.findings.audit.points import (
    Asked,
    Point,
    all_pairs,
    groups_of,
    pairs_with,
    subject_of,
)
from lyewitness.findings.changes import Change, change_of, change_over_markers
from lyewitness.findings.evidence import Evidence
from lyewitness.study.placing import before_start
from lyewitness.study.records import Limit, MarkerRole
from lyewitness.words.arrays import FloatArray
from lyewitness.words.metrics import metric_of_marker, the_metric
from lyewitness.words.numbers import fixed, with_unit
from lyewitness.words.phrases import (
    counted,
    hours,
    listed,
    mid_sentence,
    percent,
    sentence,
    share_of,
    spelled,
)

CHOICE = Asked(
    "marker-choice",
    "Can the markers tell loss of bonded phase from uncovered silanols and from a void?",
    "What the markers do not show cannot be named as the cause.",
    "Add the missing kind of marker to the next study.",
)

TELLS: tuple[tuple[MarkerRole, str], ...] = (
    ("void", "without a hold-up marker there is no retention factor, and flow cannot be told from retention"),
    (
        "neutral",
        "without a neutral marker loss of bonded phase cannot be told from a change of pH or of silanols",
    ),
    ("base", "without a base uncovered silanols are not seen"),
)


def choice_of_markers(evidence: Evidence) -> Iterator[Point]:
    """Ask for a hold-up marker, a neutral and a base; a hold-up marker alone is too little."""
    roles = {marker.role for marker in evidence.study.markers}
    lacking = [words for role, words in TELLS if role not in roles]
    named = listed(f"{marker.id} ({marker.role})" for marker in evidence.study.markers)
    if roles <= {"void"}:
        yield CHOICE.says(
            "problem",
            f"no marker is retained: {named}" if named else "there is no marker",
            bound="not settled",
            pairs=all_pairs(evidence.study),
            groups=evidence.study.groups,
            bearing="A hold-up marker sees the bed’s volume and packing, and nothing of the bonded phase.",
        )
    elif lacking:
        yield CHOICE.says(
            "caution", f"{'; '.join(lacking)}; the markers: {named}", pairs=all_pairs(evidence.study)
        )
    else:
        yield CHOICE.good(named)


LARGEST_B_PERCENT = 2.0
"""B of the pharmacopoeia's formula: how far the assay's upper limit lies above 100 %."""


def largest_rsd_percent(b_percent: float, injections: int) -> float:
    """Return RSDmax = 0.349 · B · √n ÷ t(90 %, n − 1), % (Ph. Eur. 2.2.46, repeatability; from memory).

    t is Student's t at a two-sided 90 % with n − 1 degrees of freedom. ValueError for n below 2.
    """
    if injections < 2:
        raise ValueError("repeatability needs two injections at least")
    t_90 = float(stats.t.ppf(0.95, injections - 1))
    return 0.349 * b_percent * sqrt(injections) / t_90


AREAS_REPEAT = Asked(
    "reference-repeatability",
    "Do the reference injections repeat (areas, the pharmacopoeia’s largest allowed RSD)?",
    "What the injections scatter by themselves can hide a decline or look like one.",
    "Look to the injector and the sample, and inject more references.",
)


def areas_repeat(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the areas of the reference injections scatter less than the pharmacopoeia allows."""
    study = evidence.study
    first = study.choices.reference_injections
    found: dict[tuple[str, str], tuple[float, float, int]] = {}
    for column in study.columns:
        for marker in study.markers:
            areas = evidence.values(column.id, marker.id, "peak_area")[:first]
            if len(areas) >= 2 and fmean(areas) > 0:
                allowed = largest_rsd_percent(LARGEST_B_PERCENT, len(areas))
                found[column.id, marker.id] = (100 * stdev(areas) / fmean(areas), allowed, len(areas))
    if not found:
        yield AREAS_REPEAT.says("not possible", "there are fewer than two reference injections with an area")
        return
    wide = {key: value for key, value in found.items() if value[0] > value[1]}
    worst = max(found, key=lambda key: found[key][0] / found[key][1])
    rsd, allowed, number = found[worst]
    detail = (
        f"the widest: {worst[1]} on {worst[0]}, RSD {percent(rsd)}; {percent(allowed)} is allowed "
        f"for {counted(number, 'injection')}"
    )
    if not wide:
        yield AREAS_REPEAT.good(detail)
        return
    columns = [column for column, _ in wide]
    groups = groups_of(evidence, columns)
    yield AREAS_REPEAT.says(
        "caution",
        f"peak areas scatter more than allowed in {share_of(len(wide), len(found), 'set')} of reference "
        f"injections; {detail}",
        subject_of(evidence, columns),
        pairs=pairs_with(study, groups),
        groups=groups,
    )


REFERENCE = Asked(
    "reference-scatter",
    "Is the reference of the deciding metric known well enough for its limit?",
    "Every value is a percentage of the reference: where the reference is loose, so is the life.",
    "Inject more references before the stress begins.",
)


def reference_scatter(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the mean reference is known to a fifth of the way from it to the limit."""
    marker, metric = evidence.judgement.deciding
    loose: dict[str, tuple[float, float]] = {}
    known: list[tuple[float, float]] = []
    few: list[str] = []
    for column in evidence.study.columns:
        decline = evidence.decline(column.id, marker, metric)
        if decline is None or decline.limit_percent is None or not decline.reference_value:
            continue
        if decline.reference_n < 2 or decline.reference_sd is None:
            few.append(column.id)
            continue
        error = 100 * decline.reference_sd / abs(decline.reference_value) / sqrt(decline.reference_n)
        way = abs(100 - decline.limit_percent)
        known.append((error, way))
        if error > way / 5:
            loose[column.id] = (error, way)
    if few:
        groups = groups_of(evidence, few)
        yield REFERENCE.says(
            "problem", f"there is a single reference injection on {listed(few)}", subject_of(evidence, few),
            bound="indicated", pairs=pairs_with(evidence.study, groups), groups=groups,
        )  # fmt: skip
    elif loose:
        groups = groups_of(evidence, loose)
        said = listed(
            f"± {percent(error)} on {column}, where the limit lies {percent(way)} away"
            for column, (error, way) in loose.items()
        )
        grave = any(error > way / 2 for error, way in loose.values())
        yield REFERENCE.says(
            "problem" if grave else "caution",
            f"the reference of the {metric_of_marker(marker, metric)} is known no better than {said}",
            subject_of(evidence, loose),
            bound="not settled" if grave else "indicated",
            pairs=pairs_with(evidence.study, groups),
            groups=groups,
        )
    elif known:
        error, way = max(known, key=lambda found: found[0] / found[1] if found[1] else 0.0)
        yield REFERENCE.good(
            f"{metric_of_marker(marker, metric)}: reference known to ± {percent(error)} or better, "
            f"limit {percent(way)} away"
        )


FRESH = Asked(
    "reference-fresh",
    "Were the references taken on fresh columns?",
    "A life is read against its reference: one that moved while it was taken makes the life wrong, too long "
    "where the column aged in it, too short where it had not settled.",
    "Inject the references before the stress begins.",
)
LATE_SHARE, MUCH_TOO_LATE_SHARE = 0.05, 0.2
"""Shares of the exposure beyond which references are late, and so late that a life by them is doubtful."""


@dataclass(frozen=True, slots=True)
class Late:
    """How far the references of one column reach into its exposure."""

    share: float
    words: str
    grave: bool
    """Whether they cover much of it, or the deciding metric moved over them."""
    spent: bool = False
    """Whether the deciding metric lost over them all that the limit allows: no life follows from such."""


def reference_fresh(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the references stand within the first 5 % of the exposure and were still alike."""
    late = late_references(evidence)
    first = evidence.study.choices.reference_injections
    early, few = _before_start(evidence), {}
    if not evidence.study.running and (few := _fewer_than_asked(evidence)):
        groups = groups_of(evidence, few)
        said = listed(f"on {name} the first {spelled(n)} of {many}" for name, (n, many) in few.items())
        yield FRESH.says(
            "problem",
            f"there are no more injections than the {spelled(first)} that are to be the reference: so that "
            f"some are left to hold against it, it is {said}",
            subject_of(evidence, few),
            bound="not settled",
            pairs=pairs_with(evidence.study, groups),
            groups=groups,
            cure="Inject more, or state fewer in ‘reference_injections’.",
        )
    if not late:
        if early:
            columns = list(early)
            groups = groups_of(evidence, columns)
            yield FRESH.says(
                "caution",
                "by the clock references stand before the stress began, and count at its start: "
                + listed(f"{column} by up to {hours(most)}" for column, most in early.items()),
                subject_of(evidence, columns),
                bound="shown",
                pairs=pairs_with(evidence.study, groups),
                groups=groups,
                cure="Where the clock is that of another zone, lives are too short by as much: state "
                "[exports] clock, or correct exposure_start.",
            )
        elif not few and any(evidence.hours(column.id) for column in evidence.study.columns):
            yield FRESH.good(f"the first {counted(first, 'injection')} of each column stand at its start")
        return
    groups = groups_of(evidence, late)
    grave = any(found.grave for found in late.values())
    whole = any(found.share >= 1 or found.spent for found in late.values())
    said = listed(f"{column} {found.words}" for column, found in late.items())
    before, over, after = said.partition(
        f", over which the {metric_of_marker(*evidence.judgement.deciding)} "
    )
    said = before + over + after.replace(over, ", over which it ") if over else said
    yield FRESH.says(
        "problem" if grave else "caution",
        f"the reference reaches into the exposure: {said}",
        subject_of(evidence, late),
        bound="not settled" if whole else "indicated" if grave else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
        cure="Repeat with the references injected before the stress begins, or state fewer of them in "
        "‘reference_injections’.",
    )


def late_references(evidence: Evidence) -> dict[str, Late]:
    """Return of each column whose references do not stand at its start how late they are."""
    return {column.id: found for column in evidence.study.columns if (found := _late(evidence, column.id))}


def _fewer_than_asked(evidence: Evidence) -> dict[str, tuple[int, int]]:
    """Return of each column whose injections would all be references how many are, and how many there are."""
    asked, found = evidence.study.choices.reference_injections, {}
    for column in evidence.study.columns:
        exposures = _exposures(evidence, column.id)
        if len(exposures) and references_of(exposures, asked) < min(asked, len(exposures)):
            found[column.id] = (references_of(exposures, asked), len(exposures))
    return found


def _exposures(evidence: Evidence, column: str) -> FloatArray:
    """Return when the counted injections of a column were made, in hours, in order."""
    return np.array(sorted(h for i in evidence.used(column) if (h := evidence.exposure_h(i)) is not None))


def _before_start(evidence: Evidence) -> dict[str, float]:
    """Return by how many hours, at most, the clock puts counted injections before the start, by column."""
    study, found = evidence.study, {}
    for column in study.columns:
        dated = [(one.at, one) for one in study.injections if one.column == column.id and one.used and one.at]
        most = max((hours for hours, _ in before_start(column, dated, study.events)), default=0.0)
        if most:
            found[column.id] = most
    return found


def _late(evidence: Evidence, column: str) -> Late | None:
    """Return how late the references of a column are; None where they stand at its start."""
    exposures = _exposures(evidence, column)
    if not len(exposures) or exposures[-1] <= 0:
        return None
    end = float(exposures[references_of(exposures, evidence.study.choices.reference_injections) - 1])
    share = (end - exposures[0]) / exposures[-1]
    decline = evidence.decline(column, *evidence.judgement.deciding)
    if decline is not None and decline.limit is not None and _is_absolute(decline.limit):
        # A life by such a limit rests on no reference; those by others may.
        words = f"up to {hours(end)} of {hours(exposures[-1])}, though the limit that decides rests on none"
        return Late(share, words, False) if share > LATE_SHARE else None
    moved = _moved_over_references(evidence, column) if share > 0.01 else ""
    if share <= LATE_SHARE and not moved:
        return None
    words = f"up to {hours(end)} of {hours(exposures[-1])}{moved}"
    return Late(share, words, share > MUCH_TOO_LATE_SHARE or bool(moved), _is_spent(evidence, column))


def _is_absolute(limit: Limit) -> bool:
    """Return whether a limit is stated in the metric's own unit."""
    return limit.at_least is not None or limit.at_most is not None


def _is_spent(evidence: Evidence, column: str) -> bool:
    """Return whether the deciding metric went all the way to its limit within the references."""
    decline = evidence.decline(column, *evidence.judgement.deciding)
    if decline is None or decline.limit_percent is None or decline.reference_n < 2:
        return False
    first, last = decline.percent[0], decline.percent[decline.reference_n - 1]
    allowed = decline.limit_percent - 100
    return bool((last - first) / allowed >= 1) if allowed else False


def _moved_over_references(evidence: Evidence, column: str) -> str:
    """Return how far the deciding metric moved from first to last reference, where that is much.

    Much is a fifth of the way to the limit, as for the scatter of the references.
    """
    marker, metric = evidence.judgement.deciding
    decline = evidence.decline(column, marker, metric)
    if decline is None or decline.limit_percent is None or decline.reference_n < 2:
        return ""
    values = decline.percent[: decline.reference_n]
    change = float(values[-1] - values[0])
    if abs(change) <= abs(100 - decline.limit_percent) / 5:
        return ""
    verb = "fell" if change < 0 else "rose"
    # Of the first of them: of their mean a metric could fall by more than all of it.
    moved = percent(100 * abs(change) / float(values[0]))
    return f", over which the {metric_of_marker(marker, metric)} {verb} by {moved}"


ALIKE = "all columns alike"
HOLD_UP = Asked(
    "hold-up-steady",
    "Was the hold-up time steady?",
    "Hold-up time follows the flow and the volume of the bed: where it moves, one of them did, and retention "
    "times move with it.",
    "Check the flow by weighing; where only one column moved, look at its bed.",
)


def hold_up_steady(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the hold-up time of each column stayed within 3 %."""
    changes = _changes(evidence, evidence.roles("void"), "hold_up_time_min")
    without = _why_not(evidence, evidence.roles("void"), "hold_up_time_min", "no hold-up marker was injected")
    point = _judged(evidence, HOLD_UP, changes, 3.0, 10.0, without, ("the hold-up time", "the flow"))
    moved = {c: change for c, change in changes.items() if change is not None and abs(change.percent) > 3.0}
    yield _weighed(evidence, point, moved) if moved else _but_leaks(evidence, point)


def _but_leaks(evidence: Evidence, point: Point) -> Point:
    """Return the point with what stands off by itself: a change from first to last passes over it."""
    leaks = [one.injection for one in evidence.doubtful if one.kind == "leak"]
    if not leaks or point.check.result != "good":
        return point
    verb = "stands" if len(leaks) == 1 else "stand"
    said = (
        f"{point.check.detail.rstrip('.')}; {listed(leaks[:6])} {verb} off all the same, as a leak makes it"
    )
    return replace(point, check=replace(point.check, detail=sentence(said)))


def _weighed(evidence: Evidence, point: Point, moved: Mapping[str, Change]) -> Point:
    """Return the point with how far the deciding metric could be an artefact of the hold-up time.

    What goes along with the failing of columns is what failing columns do: a void holds more mobile phase. It
    weakens the answer only where it could have made half of the way to the limit by itself.
    """
    marker, metric = evidence.judgement.deciding
    failed = {first.column for first in evidence.judgement.first_failures if first.metric}
    # What moves all columns of all groups is first the one pump that they share.
    along = set(moved) <= failed and len(moved) > 1 and ALIKE not in point.check.detail
    shares = []
    for column, change in moved.items():
        decline = evidence.decline(column, marker, metric)
        if decline is not None and decline.limit_percent is not None:
            way = abs(100 - decline.limit_percent)
            artefact = _artefact_percent(evidence, column, marker, metric, abs(change.percent), along)
            shares.append(artefact / way if way else 0.0)
    grave = max(shares, default=1.0 if metric else 0.0) > GRAVE_SHARE
    words = f"{the_metric(marker, metric)}" if metric else "the answer"
    weight = (
        f"it could have moved {words} by half of the way to its limit or more"
        if grave
        else f"it could not have taken {words} to its limit"
    )
    with_failing = "; all of these failed, and a void in the bed does this" if along else ""
    return replace(
        point,
        bound="indicated" if grave else "shown",
        check=replace(
            point.check,
            result="problem" if grave else "caution",
            detail=sentence(f"{point.check.detail.rstrip('.')}{with_failing}; {weight}"),
        ),
    )


GRAVE_SHARE = 0.5
"""Share of the way to the limit beyond which an artefact leaves a life in doubt, as for loose references."""


def _artefact_percent(
    evidence: Evidence, column: str, marker: str, metric: str, moved: float, along: bool
) -> float:
    """Return by how much a hold-up time wrong by `moved` % moves a metric, % of its reference, at most.

    k = tR ÷ t0 − 1, so that k moves by (1 + k) ÷ k as much. Times move as much as the flow; plates no more
    than it, for H is at most proportional to it (van Deemter), and not at all where the bed itself holds
    more. Widths and their ratios scale with the flow, so that symmetry and resolution stay.
    """
    if metric == "retention_factor":
        known = evidence.decline(column, marker, metric)
        k = known.reference_value if known is not None else None
        return moved * (1 + k) / k if k else float("inf")
    if metric.startswith("plate_number"):
        return 0.0 if along else moved
    return 0.0 if metric in ("symmetry_factor", "asymmetry_10", "resolution") else moved


AREAS = Asked(
    "areas-conserved",
    "Were the peak areas conserved?",
    "What is injected must come out: a falling area speaks of sample decay, a leak or loss on the column.",
    "Inject freshly made markers, without a column as well, and look for leaks.",
)


def areas_conserved(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the mean area of all markers on each column stayed within 10 %."""
    markers = tuple(marker.id for marker in evidence.study.markers)
    changes = _changes(evidence, markers, "peak_area")
    without = _why_not(evidence, markers, "peak_area", "no area was measured")
    step = area_step(evidence, markers)
    if step is not None:
        # What a lamp or a loop does to all areas is no loss of sample: before and after are told apart.
        changes = {column: step.left.get(column, change) for column, change in changes.items()}
    point = _judged(evidence, AREAS, changes, 10.0, 25.0, without, ("the area", "the sample"))
    if step is not None:
        rest = mid_sentence(point.check.detail.rstrip("."))
        said = f"{step.words}, which points to what was done then; beside that, {rest}"
        point = replace(point, check=replace(point.check, detail=sentence(said)))
    yield point


def _why_not(evidence: Evidence, markers: tuple[str, ...], metric: str, none: str) -> str:
    """Return why no change is known: nothing was measured, or nothing after the reference."""
    seen = any(
        evidence.values(column.id, marker, metric) for column in evidence.study.columns for marker in markers
    )
    return "there are too few injections after the reference to tell" if seen else none


def _changes(evidence: Evidence, markers: tuple[str, ...], metric: str) -> dict[str, Change | None]:
    """Return the change of `metric` by column, over the markers together."""
    single = markers[0] if len(markers) == 1 else None
    return {
        column.id: change_of(evidence, column.id, single, metric)
        if single
        else change_over_markers(evidence, column.id, markers, metric)
        for column in evidence.study.columns
    }


def _judged(
    evidence: Evidence,
    asked: Asked,
    changes: Mapping[str, Change | None],
    allowed: float,
    grave: float,
    without: str,
    named: tuple[str, str],
) -> Point:
    """Judge changes that should be nought: beyond `allowed` per cent a caution, `grave` a problem."""
    known = {column: change for column, change in changes.items() if change is not None}
    if not known:
        return asked.says("not possible", without, pairs=all_pairs(evidence.study))
    moved = {c: change for c, change in known.items() if abs(change.percent) > allowed}
    if not moved:
        largest = max(known, key=lambda column: abs(known[column].percent))
        return asked.good(f"the largest change: {largest} {known[largest]}")
    groups = groups_of(evidence, moved)
    one_way = len({change.percent > 0 for change in moved.values()}) == 1
    # What moves every column of a single group may as well be the columns.
    every = len(moved) == len(known) == len(evidence.study.columns)
    alike = every and one_way and len(evidence.study.groups) > 1
    quantity, common_cause = named
    said = _moved_words(moved)
    surely_grave = any(
        min(abs(ch.low), abs(ch.high)) > grave and ch.low * ch.high > 0 for ch in moved.values()
    )
    return asked.says(
        "problem" if surely_grave else "caution",
        f"{quantity} {said}: {ALIKE}, which points to {common_cause}" if alike else f"{quantity} {said}",
        subject_of(evidence, moved),
        bound="indicated" if surely_grave else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


def _moved_words(moved: Mapping[str, Change]) -> str:
    """Return `rose on six columns, by 5 to 13 %`, `fell on S1 by 9 %`."""
    ways = {
        "rose": [c for c, ch in moved.items() if ch.percent > 0],
        "fell": [c for c, ch in moved.items() if ch.percent < 0],
    }
    return listed(_moved_by(verb, columns, moved) for verb, columns in ways.items() if columns)


def _moved_by(verb: str, columns: list[str], moved: Mapping[str, Change]) -> str:
    sizes = [fixed(size, 0) for size in sorted(abs(moved[column].percent) for column in columns)]
    where = listed(columns) if len(columns) < 3 else counted(len(columns), "column")
    by = " to ".join(dict.fromkeys((sizes[0], sizes[-1])))
    return f"{verb} on {where}{', by' if ' ' in by else ' by'} {with_unit(by, '%')}"


LAST = Asked(
    "errors-last",
    "Is the error of every injection its own?",
    "Errors that last for days, or wander, look like bends of the decline: nobody can tell one column’s from "
    "its own decline, and its life is less sure than the interval says.",
    "Inject a column that is not stressed along with the others: what moves there, too, is no decline.",
)
FEWEST_TO_LAST = 32
"""Injections of a column: of 24, errors that fade over a few injections look the same as those that last."""
LASTS = 0.4
"""Mean chance over the columns. Above it lay one in sixteen simulated studies of 48 injections with errors
that are new or fade, most with errors of days and half of those with a wander."""


DRIFT_TELLS = 1.25
"""A drift matters where it would make the interval of the life wider by a quarter: less hardly shows."""


def _if_drifting(evidence: Evidence) -> Iterator[Point]:
    """Say of a column that has none beside it what a drift of the instrument would make of its life."""
    for one in evidence.judgement.declines:
        own, drifted = one.life.hours, one.if_drifting
        followed = (one.series.marker, one.series.metric) == evidence.judgement.deciding
        if not followed or one.life.state != "reached" or own.high is None or drifted.low is None:
            continue
        low, high = min(own.low or 0.0, drifted.low), max(own.high, drifted.high or one.end_h or own.high)
        if high - low < DRIFT_TELLS * (own.high - (own.low or 0.0)):
            continue
        until = hours(high) if drifted.high is not None else "after the test"
        yield LAST.says(
            "caution",
            f"cannot tell: no other column shows what the instrument did beside {one.series.column}; had it "
            f"drifted as far as its {len(one.series.value)} injections allow, its life would lie between "
            f"{hours(low)} and {until}",
            one.series.column,
            bound="indicated",
            pairs=pairs_with(evidence.study, groups_of(evidence, [one.series.column])),
            groups=groups_of(evidence, [one.series.column]),
        )


def errors_last(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the errors of the deciding metric are new with every injection."""
    marker, metric = evidence.judgement.deciding
    yield from _if_drifting(evidence)
    chances = {
        one.series.column: one.errors_last
        for one in evidence.judgement.declines
        if (one.series.marker, one.series.metric) == (marker, metric)
        and len(one.series.value) >= FEWEST_TO_LAST
        and one.errors_last is not None
    }
    if not chances:
        return
    chance = fmean(chances.values())
    said = f"errors of {the_metric(marker, metric)} last with a chance of {percent(100 * chance)}"
    if chance < LASTS:
        yield LAST.good(said)
        return
    held = held_where_errors_last(FEWEST_TO_LAST)
    simulated = (
        f"; in simulated studies with such errors intervals of 95 % held {percent(held)}" if held else ""
    )
    yield LAST.says("caution", f"{said}{simulated}", subject_of(evidence, list(chances)))
