"""What a study states and can hardly mean, and statements of it that contradict each other.

In: study.toml as records, injections and log, each row placed. Out: problems: errors where the report would
be wrong, cautions with what was probably meant elsewhere.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import pairwise
from math import isclose, pi
from statistics import fmean

from lyewitness.study.events import MINUTES_PER_HOUR
from lyewitness.study.metadata import Metadata
from lyewitness.study.placing import comparable, hours_by_clock
from lyewitness.study.records import (
    Column,
    Conditions,
    Event,
    Injection,
    Limit,
    LoggedCondition,
    Marker,
    Moment,
)
from lyewitness.study.setpoints import SETPOINTS, TEMPERATURE, departure_words, departures
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.problems import Problem, listed

PERCENT_NOT_FRACTION = 1.5
"""Percent limits up to here are taken for fractions: no column is judged at 1 % of its reference."""
LEAST_BUFFER_MM = 0.1
"""mmol/L: below it a buffer holds no pH, and mol/L was probably meant."""
HOTTEST_C = 150.0
"""°C: no aqueous mobile phase is run hotter (common practice); a log above it is in another unit."""
HIGHEST_BAR = 2000.0
"""Bar: no instrument pumps against more (common practice)."""
FEW = 3
"""Injections, as many as are a reference where nothing is stated: a study that begins holds no more."""
BELIEVABLE_BEDS = {"length_mm": (10.0, 500.0), "particle_um": (0.5, 50.0)}
"""Packed analytical columns are 20 to 300 mm long, their particles 1.5 to 20 µm wide (common practice)."""
BELIEVABLE_VELOCITY_MM_S = (0.02, 15.0)
"""Flow ÷ empty cross-section of the tube; columns are run at 0.2 to 5 mm/s (common practice)."""
SAME_EXPOSURE = 0.02
"""Relative difference within which two exposures of one row say the same."""
SAME_SPAN = 1.5
"""Log and injections whose ends differ by more than this factor do not describe one stress."""
SAME_RETENTION = 0.005
"""Relative: markers stated nearer than this are resolved by 0.2 even at 20,000 plates: one peak."""


def implausible(
    metadata: Metadata, injections: Sequence[Injection], conditions: Sequence[LoggedCondition]
) -> tuple[Problem, ...]:
    """Return what is hardly meant, errors where the report would be wrong, cautions elsewhere."""
    return (
        *(problem for limit in metadata.limits for problem in _fractions(limit)),
        *_weak_buffer("stress", metadata.stress),
        *(_weak_buffer("test", metadata.test) if metadata.test != metadata.stress else ()),
        *(problem for column in metadata.columns for problem in _velocity(column, metadata.stress)),
        *_without_hours(injections, metadata.stress),
        *_two_exposures(injections, metadata.stress),
        *_twice(injections),
        *_other_span(injections, conditions),
        *_after_the_end(metadata.columns, injections),
        *_replaced(metadata.columns, injections),
    )


def contradictory(
    metadata: Metadata, injections: Sequence[Injection], conditions: Sequence[LoggedCondition]
) -> tuple[Problem, ...]:
    """Return statements that do not go together, in metadata without mistakes: else these are told twice."""
    return (
        *(problem for column in metadata.columns for problem in _dimensions(column)),
        *_nothing_to_judge(metadata, injections),
        *_pieces(metadata.columns),
        *_mistakable_groups(metadata.columns),
        *_blocks(metadata),
        *_zones(metadata.columns),
        *_together(metadata.columns, metadata.markers),
        *_plan(metadata, injections),
        *_events(metadata, injections),
        *_decides_nothing(metadata),
        *_log_units(conditions),
        *_off_the_plan(metadata, conditions),
        *_off_throughout(metadata, conditions),
    )


def _fractions(limit: Limit) -> Iterator[Problem]:
    """Yield an error for a percentage that is written as a fraction."""
    for name in ("at_least_percent", "at_most_percent"):
        bound = getattr(limit, name)
        if bound is not None and bound <= PERCENT_NOT_FRACTION:
            yield Problem(
                "error",
                "study.toml",
                f"limits.{limit.metric}",
                f"{name} = {bound:g}",
                "percent of the reference",
                f"Write {name} = {bound * 100:g}, if that is meant.",
            )


def _weak_buffer(section: str, conditions: Conditions) -> Iterator[Problem]:
    """Yield a caution for a buffer in mol/L and for a solvent share as a fraction."""
    if conditions.buffer_mM is not None and 0 < conditions.buffer_mM < LEAST_BUFFER_MM:
        cure = f"Write buffer_mM = {conditions.buffer_mM * 1000:g}, if mol/L was meant."
        found = f"buffer_mM = {conditions.buffer_mM:g}"
        yield Problem("caution", "study.toml", f"{section}.buffer_mM", found, "mmol/L", cure)
    if conditions.organic_percent is not None and 0 < conditions.organic_percent < 1:
        cure = f"Write organic_percent = {conditions.organic_percent * 100:g}, if a fraction was meant."
        found = f"organic_percent = {conditions.organic_percent:g}"
        yield Problem("caution", "study.toml", f"{section}.organic_percent", found, "percent by volume", cure)
    if conditions.organic.lower() in ("", "none", "water") and conditions.organic_percent:
        found = f"{conditions.organic_percent:g} % of '{conditions.organic}'"
        cure = "Name the solvent, or write organic_percent = 0."
        yield Problem("caution", "study.toml", f"{section}.organic", found, "the name of the solvent", cure)


def _velocity(column: Column, stress: Conditions) -> Iterator[Problem]:
    """Yield a caution where flow and inner diameter do not go together."""
    if not column.inner_diameter_mm or not stress.flow_mL_min:
        return
    area_mm2 = pi / 4 * column.inner_diameter_mm**2
    velocity = stress.flow_mL_min * 1000 / 60 / area_mm2
    low, high = BELIEVABLE_VELOCITY_MM_S
    if not low <= velocity <= high:
        yield Problem(
            "caution",
            "study.toml",
            f"column '{column.id}', inner_diameter_mm",
            f"{column.inner_diameter_mm:g} mm at {stress.flow_mL_min:g} mL/min, which is {velocity:.3g} mm/s",
            f"{low:g} to {high:g} mm/s",
            "Check the decimal point of the inner diameter and of the flow.",
        )


def _dimensions(column: Column) -> Iterator[Problem]:
    """Yield a caution for a bed that no analytical column has."""
    for key, (low, high) in BELIEVABLE_BEDS.items():
        stated = getattr(column, key)
        if stated is not None and not low <= stated <= high:
            expected = f"{low:g} to {high:g}, as analytical columns have"
            cure = "Check the unit, which the key names."
            yield _said(f"column '{column.id}', {key}", f"{stated:g}", expected, cure)


def _without_hours(injections: Sequence[Injection], stress: Conditions) -> Iterator[Problem]:
    """Yield an error for each injection placed by volume where no flow turns that into hours."""
    if stress.flow_mL_min:
        return
    for one in injections:
        if one.exposure_h is None and one.at is None and (one.exposure_mL, one.exposure_cv) != (None, None):
            yield Problem(
                "error",
                "injections.csv",
                one.place.rpartition(", ")[2],
                "an exposure by volume, and no flow",
                "flow_mL_min in [stress], which turns it into hours",
                "Add 'flow_mL_min = …' below [stress].",
            )


def _two_exposures(injections: Sequence[Injection], stress: Conditions) -> Iterator[Problem]:
    """Yield an error for each row whose hours and millilitres contradict each other."""
    if not stress.flow_mL_min:
        return
    for one in injections:
        if one.exposure_h is None or one.exposure_mL is None:
            continue
        hours = one.exposure_mL / (stress.flow_mL_min * MINUTES_PER_HOUR)
        if not isclose(hours, one.exposure_h, rel_tol=SAME_EXPOSURE, abs_tol=0.05):
            yield Problem(
                "error",
                "injections.csv",
                one.place.rpartition(", ")[2],
                f"{one.exposure_h:g} h and {one.exposure_mL:g} mL, which is {hours:.3g} h at the stated flow",
                "one exposure, or two that agree",
                "Leave the wrong one empty.",
            )


MOST_SHARING = 20
"""Injections that name one file by mistake; a table in which more do is not the one that was meant."""


def _twice(injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for an export that several injections name, an error where very many do."""
    sharing: dict[tuple[str, str], list[Injection]] = {}
    for one in injections:
        sharing.setdefault((one.file, one.trace), []).append(one)
    for (file, _), several in sharing.items():
        if len({one.id for one in several}) < 2:
            continue
        others = listed(one.id for one in several[1:])
        yield Problem(
            "caution" if len(several) <= MOST_SHARING else "error",
            "injections.csv",
            several[1].place.rpartition(", ")[2],
            f"the file of {others} is that of '{several[0].id}': {file}",
            "a file for each injection",
            "Correct one of the two." if len(several) == 2 else "Give each injection the file of its own.",
        )


def _other_span(injections: Sequence[Injection], conditions: Sequence[LoggedCondition]) -> Iterator[Problem]:
    """Yield a caution where the log and the injections describe stresses of different length."""
    for name in ("exposure_h", "exposure_mL", "exposure_cv"):
        ends = [
            max((value for one in placed if (value := getattr(one, name)) is not None), default=0.0)
            for placed in (injections, conditions)
        ]
        if min(ends) > 0 and not 1 / SAME_SPAN <= ends[0] / ends[1] <= SAME_SPAN:
            yield Problem(
                "caution",
                "conditions.csv",
                name,
                f"a log up to {ends[1]:g} beside injections up to {ends[0]:g}",
                "one and the same stress in both",
                "Check the unit and the heading of this column in both tables.",
            )


def _after_the_end(columns: Sequence[Column], injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for injections on a column after its stress was ended."""
    for column in columns:
        own = [one for one in injections if one.column == column.id and one.used]
        late = [one for one in own if _is_after(one, column.ended)]
        if late:
            said = (
                f"{column.ended:g} h" if isinstance(column.ended, float) else f"{column.ended:%Y-%m-%d %H:%M}"
            )
            yield Problem(
                "caution",
                "study.toml",
                f"column '{column.id}', ended",
                f"{said}, and injections after it, such as '{late[0].id}'",
                "an end after the last injection",
                "Correct the end, or leave these injections out with use = no and why.",
            )


def _is_after(injection: Injection, end: Moment | None) -> bool:
    """Return whether an injection was surely made after `end`."""
    if isinstance(end, datetime):
        at = injection.at
        return at is not None and (at.tzinfo is None) == (end.tzinfo is None) and at > end
    return (
        end is not None
        and injection.exposure_h is not None
        and injection.exposure_h > end * (1 + SAME_EXPOSURE)
    )


def _replaced(columns: Sequence[Column], injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield an error for a column whose exposure goes on where that of the one before it ended."""
    hours: dict[str, list[float]] = {}
    for one in injections:
        if one.exposure_h is not None and one.used:
            hours.setdefault(one.column, []).append(one.exposure_h)
    for column in columns:
        own, before = hours.get(column.id), hours.get(column.replaces)
        if column.replaces and own and before and min(own) >= max(before) > 1.0:
            yield Problem(
                "error",
                "injections.csv",
                f"column '{column.id}'",
                f"exposures from {min(own):g} h on, after those of '{column.replaces}', which it replaced",
                "exposures of its own, from 0 h on",
                f"Take the hours off that '{column.replaces}' had seen.",
            )


def _said(place: str, found: str, expected: str, cure: str) -> Problem:
    """Return a caution about study.toml."""
    return Problem("caution", "study.toml", place, found, expected, cure)


def _nothing_to_judge(metadata: Metadata, injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for a column that has no counted injection, or none behind its reference."""
    asked = metadata.choices.reference_injections
    counted = Counter(one.column for one in injections if one.used)
    short = [column.id for column in metadata.columns if 0 < counted[column.id] <= asked]
    left_out = Counter(one.column for one in injections if not one.used)
    for column in metadata.columns:
        if not counted[column.id] and left_out[column.id] >= FEW:
            found = f"no counted injection on column '{column.id}': use = no stands in every row"
            cure = "Write use = yes where one counts, or take the column out of study.toml."
            yield Problem("caution", "injections.csv", "use", found, "some that count", cure)
    # A study that begins holds no more than a reference, and nothing is wrong with it.
    many = max((counted[one] for one in short), default=0)
    if short and not metadata.running and max(asked - 1, many) >= FEW:
        yield _said(
            "choices.reference_injections",
            f"no more than {many} counted injections on {listed(short)}, for a reference of {asked}",
            "injections after the reference, which are held against it",
            "State fewer in 'reference_injections' of [choices]; until then those at the start are taken, "
            "the first at least.",
        )


def _pieces(columns: Sequence[Column]) -> Iterator[Problem]:
    """Yield a caution for a piece that is entered as several columns, for a label that names several, and an
    error for columns that replaced each other."""
    pieces: dict[tuple[str, ...], list[str]] = {}
    labels: dict[str, list[str]] = {}
    for column in columns:
        if column.serial:
            pieces.setdefault((column.lot or column.group, column.serial), []).append(column.id)
        labels.setdefault(column.label, []).append(column.id)
    for (_, serial), ids in pieces.items():
        if len(ids) > 1:
            found = f"the serial number '{serial}' on {listed(ids)}"
            expected = "a number for each piece: one piece is counted as several columns"
            yield _said(f"column '{ids[1]}', serial", found, expected, "Correct it, or enter the piece once.")
    for label, ids in labels.items():
        if len(ids) > 1:
            found = f"the label '{label}' on {listed(ids)}"
            yield _said(f"column '{ids[1]}', label", found, "a label for each column", "Tell them apart.")
    before = {column.id: column.replaces for column in columns if column.replaces}
    for one in before:
        passed = [one]
        while (last := before.get(passed[-1])) and last not in passed:
            passed.append(last)
        if last == one:
            found = f"{listed(passed)}, each in the place of another"
            expected = "a column that was there first"
            cure = "Take 'replaces' out of that one."
            yield Problem("error", "study.toml", f"column '{one}', replaces", found, expected, cure)
            return


def _mistakable_groups(columns: Sequence[Column]) -> Iterator[Problem]:
    """Yield a caution for names of groups that differ in nothing but capitals and blanks."""
    spelt: dict[str, list[str]] = {}
    for group in dict.fromkeys(column.group for column in columns):
        spelt.setdefault("".join(group.casefold().split()), []).append(group)
    for names in spelt.values():
        if len(names) > 1:
            found = " and ".join(f"'{name}'" for name in names)
            expected = "names that differ in more than capitals and blanks"
            cure = "Write both alike, if one type is meant."
            yield _said("column, group", f"the groups {found}", expected, cure)


def _blocks(metadata: Metadata) -> Iterator[Problem]:
    """Yield a caution for a comparison in blocks of columns that stand in none."""
    without = [column.id for column in metadata.columns if not column.block]
    if metadata.choices.paired_blocks and without:
        found = f"paired_blocks = true, and no block for {listed(without)}"
        cure = "Add 'block = …' to each of these, or take paired_blocks out."
        yield _said("choices.paired_blocks", found, "a block for every column", cure)


def _zones(columns: Sequence[Column]) -> Iterator[Problem]:
    """Yield a caution for starts of which some bear a zone and others do not."""
    starts = [column for column in columns if column.exposure_start]
    unlike = [one for one in starts if not comparable(one.exposure_start, starts[0].exposure_start)]
    if unlike:
        first, other = starts[0], unlike[0]
        found = f"{first.exposure_start} on '{first.id}' and {other.exposure_start} on '{other.id}'"
        expected = "starts with a zone everywhere, or nowhere"
        cure = "Add the zone, such as +01:00, to the ones that lack it."
        yield _said(f"column '{unlike[0].id}', exposure_start", found, expected, cure)


def _together(columns: Sequence[Column], markers: Sequence[Marker]) -> Iterator[Problem]:
    """Yield a caution for markers stated at one retention, and for a hold-up marker behind the others."""
    for column in columns[:1]:
        placed = [(at, one) for one in markers if (at := one.expected_retention(column)) is not None]
        placed.sort(key=lambda pair: pair[0])
        for (at, one), (then, other) in pairwise(placed):
            if isclose(at, then, rel_tol=SAME_RETENTION):
                yield _said(
                    f"marker '{other.id}', retention_min",
                    f"{then:g} min, where '{one.id}' is expected too",
                    "a retention of its own for each marker",
                    "Correct one of them; what is not resolved cannot be followed as two markers.",
                )
        voids = [(at, one) for at, one in placed if one.role == "void"]
        if voids and placed[0][0] < voids[0][0] * (1 - SAME_RETENTION):
            yield _said(
                f"marker '{voids[0][1].id}', retention_min",
                f"{voids[0][0]:g} min for the hold-up marker, behind '{placed[0][1].id}'",
                "a hold-up marker before all others",
                "Correct its retention, or its role: retention factors are reckoned from it.",
            )


def _plan(metadata: Metadata, injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for a planned end, or looks, that what was run contradicts."""
    plan = metadata.plan
    last = max((one.exposure_h for one in injections if one.exposure_h is not None and one.used), default=0.0)
    if plan.ends_h is not None and last > plan.ends_h * SAME_SPAN:
        found = f"{plan.ends_h:g} h, and injections up to {last:g} h"
        cure = "Correct it, or the exposures: by the plan it is decided when a difference counts."
        yield _said("test.ends_h", found, "the exposure at which the stress was to end", cure)
    late = [look for look in plan.looks_h if plan.ends_h is not None and look > plan.ends_h]
    if late:
        found = f"a look at {late[0]:g} h, after the end at {plan.ends_h:g} h"
        yield _said("test.looks_h", found, "looks up to the end", "Correct one of the two.")


def _events(metadata: Metadata, injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for an event that lies far before or behind all that was run."""
    last: dict[str, float] = {}
    for one in injections:
        if one.exposure_h is not None:
            last[one.column] = max(one.exposure_h, last.get(one.column, 0.0))
    for number, event in enumerate(metadata.events, start=1):
        touched = [column for column in metadata.columns if event.touches(column.id) and last.get(column.id)]
        far = [_is_far(event, column, last[column.id], metadata.events) for column in touched]
        if far and all(far):
            begin = event.begin
            said = f"{begin:%Y-%m-%d %H:%M}" if isinstance(begin, datetime) else f"{begin:g} h"
            name = "an event" if event.kind == "other" else f"a {event.kind}"
            found = f"{name} at {said}, far from all that was run"
            cure = "Correct the time, if it belongs to this study."
            yield _said(f"event[{number}]", found, "a moment between the start and the last injection", cure)


def _is_far(event: Event, column: Column, last: float, events: Sequence[Event]) -> bool:
    """Return whether an event lies before or behind a column's stress by more than this took."""
    if not isinstance(event.begin, datetime):
        return event.begin > 2 * last
    hours = hours_by_clock(column, event.begin, events)
    return hours is not None and not -last <= hours <= 2 * last


def _decides_nothing(metadata: Metadata) -> Iterator[Problem]:
    """Yield a caution for a metric that is to decide and bears no limit, or that its marker has not."""
    roles = {marker.id: marker.role for marker in metadata.markers}
    for question in metadata.questions:
        marker, metric = question.deciding
        limited = [one for one in metadata.limits if one.metric == metric]
        own = [one for one in limited if not (marker and one.markers) or marker in one.markers]
        place = f"question '{question.id}', decides"
        if metric and not own:
            cure = "Add it to [limits], or let another metric decide: without a limit it has no life."
            yield _said(place, f"'{question.decides}'", "a metric that bears a limit", cure)
        elif metric == "retention_factor" and roles.get(marker) == "void":
            cure = "Name a retained marker: that of the hold-up marker is nothing by definition."
            yield _said(place, f"'{question.decides}'", "the retention factor of a retained marker", cure)


def _log_units(conditions: Sequence[LoggedCondition]) -> Iterator[Problem]:
    """Yield a caution for readings of the log that are in another unit than their heading says."""
    for name, most, cure in (
        ("temperature_C", HOTTEST_C, "If these are kelvin, take 273.15 off."),
        ("pressure_bar", HIGHEST_BAR, "If these are psi, divide by 14.504; if kPa, by 100."),
    ):
        beyond = [value for one in conditions if (value := getattr(one, name)) is not None and value > most]
        if beyond:
            found, expected = f"{beyond[0]:g}", f"readings up to {most:g}, in the unit that the heading names"
            yield Problem("caution", "conditions.csv", name, found, expected, cure)


def _off_the_plan(metadata: Metadata, conditions: Sequence[LoggedCondition]) -> Iterator[Problem]:
    """Yield a caution for each logged condition so far from the plan that no life belongs to the plan."""
    for setpoint in SETPOINTS:
        far: dict[float, dict[str, float]] = {}
        for column in metadata.columns:
            plan = setpoint.planned(metadata.stress, column)
            logged = (getattr(one, setpoint.quantity) for one in conditions if one.column == column.id)
            readings = [value for value in logged if value is not None]
            if plan is None or not readings or _in_another_unit(setpoint.quantity, readings):
                continue
            if setpoint.off(plan, readings) > setpoint.grave:
                far.setdefault(plan, {})[column.id] = fmean(readings)
        for plan, means in far.items():
            low, high = (fixed(bound(means.values()), setpoint.places) for bound in (min, max))
            logged_at = with_unit(low if low == high else f"{low} to {high}", setpoint.unit)
            yield Problem(
                "caution",
                "conditions.csv",
                setpoint.quantity,
                f"a mean {setpoint.name} of {logged_at} on {listed(means)}",
                f"about {with_unit(stated(plan), setpoint.unit)}, as study.toml plans it",
                "Check the unit and heading of the log, or correct the plan: lives belong to what was.",
            )


def _off_throughout(metadata: Metadata, conditions: Sequence[LoggedCondition]) -> Iterator[Problem]:
    """Yield a caution for a column whose oven was steady and off the plan, with the line that says so.

    What lies so far off that its unit is in doubt is told by `_off_the_plan`.
    """
    found = [
        one
        for one in departures(metadata.stress, metadata.columns, conditions, TEMPERATURE)
        if abs(one.mean - one.plan) <= TEMPERATURE.grave
    ]
    logged = {row.column for row in conditions if row.temperature_C is not None}
    for line in dict.fromkeys(one.line for one in found):
        own = [one for one in found if one.line == line]
        # What all ran at is the stress of the study; what one ran at makes it no replicate of the others.
        where = (
            "[stress]"
            if len(own) == len(logged) > 1
            else f"the [[column]] of {listed(o.column for o in own)}"
        )
        yield Problem(
            "caution",
            "conditions.csv",
            TEMPERATURE.quantity,
            "; ".join(departure_words(own)),
            f"about {with_unit(stated(own[0].plan), TEMPERATURE.unit)}, as study.toml plans it",
            f"If the log is right, put ‘{line}’ into {where}: lives belong to what was.",
        )


def _in_another_unit(quantity: str, readings: Sequence[float]) -> bool:
    """Return whether `_log_units` tells of these readings."""
    return quantity == "temperature_C" and max(readings) > HOTTEST_C
