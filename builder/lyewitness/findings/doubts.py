"""Injections that should perhaps not count: each held against its neighbours on the same column.

In: study, traces, measurements. Out: `DoubtfulInjection`s, each with why, and the line that would leave it
out. Nothing is left out here: a person confirms.
"""

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from math import exp, log
from statistics import median
from typing import TypeVar

from lyewitness.findings.amounts import ONE_FACTOR, of_one_factor, overload, without
from lyewitness.findings.beside import Beside
from lyewitness.findings.displaced import (
    FEWEST,
    NEIGHBOURS,
    OFF,
    REPEATS,
    Doubt,
    hours_of,
    interchanged,
    interchanged_alike,
    misfits_of,
    out_of_order,
    shifts_of,
)
from lyewitness.findings.excursions import dips_of, narrow_of, noisier, spikes_of
from lyewitness.findings.explained import explanation
from lyewitness.findings.few_injections import in_few_injections
from lyewitness.findings.lone_injections import OVENS, alone, off_by_oven
from lyewitness.findings.lone_readings import lone_readings
from lyewitness.findings.misfiled import misfiled, strays_of
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.findings.renewals import neutral_of, renewals_of, stretches
from lyewitness.peaks.records import Measurements, PeakOutline, PeakRow
from lyewitness.store import NO_STORE, Store, digest_of
from lyewitness.study.injections import head_to_add, line_without, lines_exchanged, of_pattern
from lyewitness.study.records import Injection, Study
from lyewitness.traces.records import Trace, trace_key
from lyewitness.traces.sketches import sketches
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import listed, spelled
from lyewitness.words.problems import Problem

Seen = TypeVar("Seen")

OF_THE_SOLVENT = 0.3
"""Share of its usual height below which a hold-up marker is not told from what the solvent does there."""
LATER = 1.015
"""Ratio of retention times: pumps repeat within 0.3 %, columns lose less than 1 % from one to the next."""
OF_THE_SHIFT = 0.5
"""Share of it by which the hold-up time must be off its neighbours' level: it creeps by 1 or 2 % as a bed
ages."""
BY_BOTTLE = 0.03
"""Relative shift that a fresh bottle or a swing of temperature makes of a marker's retention at most."""
VOLUME = 1.25
"""Ratio of areas: injectors repeat within 1 %, and a quarter is far outside what a column does at once."""
MARKERS_FOR_ONE_OFF = 4
"""Markers, the void among them, of which one may be off where all others say the same."""
ONE_AREA = 1.5
"""Ratio of one marker's area to the others'."""
OUT_OF_PLACE = 0.05
"""Relative distance of a marker from where all of its neighbours have it: bottles and ovens that are back at
the next injection move retention by 3 % at most."""
TIME = "retention_time_min"
SHORT = 0.9
"""Length of a trace as a share of the usual."""
FOREIGN = 0.08
"""Height of a foreign peak as a share of the tallest marker: impurities of markers are in every injection."""
OF_A_VIAL = 0.25
"""Height, as a share of the tallest marker, of the peaks that another sample brings."""
MANY = 4
"""Foreign peaks of one trace from which on it is called disturbed: a vial brings one or two more."""
SPIKE = 0.05
"""Height of a spike or depth of a dip as a share of the tallest marker."""


NOISE_FELT = 0.001
"""Noise as a share of the tallest marker from which the foot of peaks, at 5 % of them, is read 2 % off."""


def _truncated(seen: Beside) -> Doubt | None:
    end, usual = seen.trace.end_min, median(trace.end_min for trace in seen.near_traces)
    lost = [marker for marker in seen.usual if marker not in seen.present]
    if end < SHORT * usual and lost:
        return "truncated", f"the trace ends at {rounded(end, 3)} min instead of {rounded(usual, 3)} min"
    return None


def _nothing(seen: Beside) -> Doubt | None:
    """Find an injection that shows none of its retained markers, and nothing in their place."""
    if not seen.retained or any(marker in seen.present for marker in seen.retained):
        return None
    if seen.foreign(OF_A_VIAL):
        return None
    if seen.void and seen.void in seen.usual and seen.rows[seen.void].found:
        if (seen.ratio(seen.void, "peak_height") or 1.0) < OF_THE_SOLVENT:
            only = "nothing but the disturbance by the solvent at the hold-up time"
            return "blank", f"none of {listed(seen.usual)}, {only}"
        return "blank", f"none of {listed(seen.retained)}, and the void alone is seen"
    return "no injection", f"no peak where its neighbours show {listed(seen.usual)}"


def _noisy(seen: Beside) -> Doubt | None:
    """Find a baseline that is far more restless than the neighbours', and so much that peaks show it."""
    times = noisier(seen.trace, seen.near_traces, NOISE_FELT * seen.tallest)
    if times is None:
        return None
    return "baseline noise", (
        f"the baseline is {rounded(times, 2)} times as noisy as that of its neighbours, "
        "as a failing lamp or air in the detector cell makes it"
    )


def _other_vial(seen: Beside) -> Doubt | None:
    """Find another sample: markers lacking or out of place, and strangers as tall as markers."""
    strangers = seen.foreign(OF_A_VIAL)
    lost = [marker for marker in seen.retained if marker not in seen.present]
    if strangers and lost:
        times = listed(f"{rounded(peak.apex_min, 3)} min" for peak in strangers)
        return "swapped vial", f"{listed(lost)} lacking, and peaks of no marker at {times}"
    if displaced := _out_of_place(seen, lost):
        return displaced
    areas = _ratios(seen, "peak_area")
    middle = median(areas.values()) if areas else 1.0
    odd = [m for m, r in areas.items() if abs(log(r / middle)) > log(ONE_AREA)]
    if len(odd) > 1 and len(areas) > 2:
        said = listed(f"{marker} {rounded(areas[marker], 2)} times" for marker in odd)
        return "swapped vial", f"areas in other proportions than the neighbours': {said}"
    return None


def _out_of_place(seen: Beside, lost: Sequence[str]) -> Doubt | None:
    """Find peaks called after markers that stand elsewhere in the injections before and after.

    Of one sample a flow moves all peaks, the void among them, and a bottle or a dying bed moves the retained
    ones one way and leaves none out, or goes on. Where the flow is as it was, some are moved and others are
    gone, or some come early and others late, and the next injection is as before, it is another sample.
    """
    if not seen.is_between or (seen.void in seen.usual and not _flow_as_usual(seen)):
        return None
    found = {m: seen.displaced(m) for m in seen.retained if m in seen.present}
    moved = {marker: shift for marker, shift in found.items() if abs(shift) > OUT_OF_PLACE}
    both_ways = len(moved) > 1 and min(moved.values()) < 0 < max(moved.values())
    # Without a hold-up marker nobody knows the flow: peaks that moved by one factor may be its doing.
    apart = max(moved.values(), default=0.0) - min(moved.values(), default=0.0)
    alike = seen.void not in seen.usual and apart < log(LATER)
    if not moved or alike or not (lost or both_ways):
        return None
    off = {m: 100 * ((seen.ratio(m, "retention_time_min") or exp(shift)) - 1) for m, shift in moved.items()}
    said = listed(f"{m} {rounded(abs(by), 2)} % {'late' if by > 0 else 'early'}" for m, by in off.items())
    lacking = f"{listed(lost)} lacking, and " if lost else ""
    flow = ", at an unchanged hold-up time" if seen.void in seen.usual else ""
    return "swapped vial", f"{lacking}{said} beside the injections before and after{flow}: another sample"


def _flow_as_usual(seen: Beside) -> bool:
    """Return whether the hold-up marker stands where it does in the neighbours."""
    row = seen.rows[seen.void]
    ratio = seen.ratio(seen.void, "retention_time_min") if row.found else None
    return ratio is not None and abs(log(ratio)) < log(LATER)


def _ratios(seen: Beside, metric: str) -> dict[str, float]:
    found = {marker: seen.ratio(marker, metric) for marker in seen.retained if marker in seen.present}
    return {marker: ratio for marker, ratio in found.items() if ratio is not None}


def _volume(seen: Beside) -> Doubt | None:
    times = of_one_factor(_ratios(seen, "peak_area"), VOLUME)
    if times is not None:
        return "volume", f"all areas are {rounded(times, 2)} times those of the neighbours"
    # One of many may have been cut wrongly, or be another compound's, where the peaks are distorted.
    found = {marker: seen.ratio(marker, "peak_area") for marker in seen.usual if marker in seen.present}
    areas = {marker: ratio for marker, ratio in found.items() if ratio is not None}
    if len(areas) < MARKERS_FOR_ONE_OFF:
        return None
    middle = median(areas.values())
    del areas[max(areas, key=lambda marker: abs(log(areas[marker] / middle)))]
    times = of_one_factor(areas, VOLUME)
    said = f"the areas of {listed(areas)} are {rounded(times or 1.0, 2)} times those of the neighbours"
    # Less of most, but not of all, is what a sample lacks that came in two peaks.
    return None if times is None or times < 1 else ("volume", said)


def _overload(seen: Beside) -> Doubt | None:
    return overload(_ratios(seen, "peak_area"), _ratios(seen, "plate_number_half_height"))


def _one_missing(seen: Beside) -> Doubt | None:
    """Find a vial without one of the markers: missing in this injection alone, the others as usual.

    What was under another peak, or came elsewhere, was there.
    """
    lost = [marker for marker in seen.retained if marker not in seen.present]
    others = [marker for marker in seen.usual if marker in seen.present]
    if not lost or not set(others) - {seen.void} or seen.foreign(FOREIGN) or not seen.is_beside(lost):
        return None
    sizes = _ratios(seen, "peak_area").values()
    times = [ratio for m in others if (ratio := seen.ratio(m, "retention_time_min")) is not None]
    as_usual = all(abs(log(ratio)) < log(VOLUME) for ratio in sizes) and all(
        abs(log(ratio)) < OUT_OF_PLACE for ratio in times
    )
    return without(lost, others) if as_usual and not any(seen.may_hide(marker) for marker in lost) else None


def _spiked(seen: Beside) -> Doubt | None:
    """Find spikes of the signal, and one marker with more than its share."""
    spikes = spikes_of(seen.trace, SPIKE * seen.tallest) if seen.tallest else []
    if spikes:
        times = listed(f"{rounded(time, 3)} min" for time in spikes[:3])
        return "spiked", f"spikes of one or two points at {times}"
    areas = _ratios(seen, "peak_area")
    middle = median(areas.values()) if areas else 1.0
    odd = [marker for marker, ratio in areas.items() if ratio / middle > ONE_AREA]
    if len(areas) > 2 and len(odd) == 1 and abs(log(middle)) < log(VOLUME):
        return "spiked", f"{odd[0]} has {rounded(areas[odd[0]], 2)} times its area, the others as usual"
    return None


def _shifted_start(seen: Beside) -> Doubt | None:
    """Find an acquisition that began late, or early: all peaks, the void among them, off by the same time.

    A flow moves them by one factor, an oven leaves the hold-up time alone.
    """
    markers = [marker for marker in seen.usual if marker in seen.present]
    found = [(seen.rows[marker].retention_time_min, seen.ratio(marker, TIME)) for marker in markers]
    off = [time - time / ratio for time, ratio in found if time and ratio]
    if not seen.void or seen.void not in markers or len(off) < max(FEWEST, len(markers)):
        return None
    middle = median(off)
    alike = max(off) - min(off) < max(ONE_FACTOR * abs(middle), REPEATS[TIME] * max(t for t, _ in found if t))
    shift = log(seen.ratio(seen.void, TIME) or 1.0)
    if not alike or abs(shift) < log(LATER) or not _moved(seen, shift):
        return None
    way, began = ("later", "early") if middle > 0 else ("earlier", "late")
    return "shifted start", (
        f"all peaks are {rounded(abs(middle), 2)} min {way}, by the same time: the acquisition began {began}"
    )


def _leak(seen: Beside) -> Doubt | None:
    """Find a flow that was lower than usual: all peaks, the void among them, later by one factor.

    A marker that moves by itself, as a base does from bottle to bottle, may be off by as much as it moves.
    """
    markers = [marker for marker in seen.usual if marker in seen.present]
    found = {marker: seen.ratio(marker, "retention_time_min") for marker in markers}
    logs = {marker: log(ratio) for marker, ratio in found.items() if ratio is not None}
    if len(logs) < 2 or (seen.void in seen.usual and seen.void not in logs):
        return None
    middle = median(logs.values())
    within = max(ONE_FACTOR * abs(middle), 0.004)
    apart = {marker: abs(value - middle) for marker, value in logs.items()}
    alike = [marker for marker in logs if apart[marker] < within]
    if seen.void in logs and (seen.void not in alike or not _moved(seen, middle)):
        return None
    others = [marker for marker in logs if marker not in alike]
    swings = all(
        apart[marker] < max(BY_BOTTLE, OFF * seen.scatter(marker, "retention_time_min")) for marker in others
    )
    if abs(middle) > log(LATER) and len(alike) > max(1, len(others)) and swings:
        # The hold-up marker tells the factor alone: where the others should stand, a decline has its part in.
        percent = 100 * (exp(logs.get(seen.void, middle)) - 1)
        way = "later" if percent > 0 else "earlier"
        return "leak", f"all peaks are {rounded(abs(percent), 2)} % {way}, by one factor"
    return None


def _moved(seen: Beside, shift: float) -> bool:
    """Return whether the hold-up marker itself moved so (ln), and not its neighbours' course alone.

    A bad one among few neighbours tilts their course, and a column that loses retention at first then looks
    as if all of it had moved. What slows the flow moves the hold-up time, which hardly has a course itself.
    """
    level = log(seen.level_ratio(seen.void, "retention_time_min"))
    return level * shift > 0 and abs(level) > OF_THE_SHIFT * abs(shift)


def _bubble(seen: Beside) -> Doubt | None:
    """Find what came through no column: the detector, and neither the vial nor the bed."""
    peaks = seen.foreign(FOREIGN)
    narrow = narrow_of(seen.trace, seen.near_traces, FOREIGN * seen.tallest, seen.narrowest)
    dips = dips_of(seen.trace, seen.near_traces, SPIKE * seen.tallest, seen.narrowest)
    if narrow or dips:
        told = "; ".join([*_narrow_words(narrow), *_dip_words(dips)]) + ", as a bubble makes it"
        return "bubble", "; ".join([told, *(leak[1:2] if (leak := _leak(seen)) else ())])
    if len(peaks) < MANY:
        return None
    times = [peak.apex_min for peak in peaks]
    return "disturbed", (
        f"the signal wanders from {rounded(min(times), 3)} to {rounded(max(times), 3)} min, with "
        f"{spelled(len(peaks))} peaks of no marker that no neighbour has"
    )


def _narrow_words(times: Sequence[float]) -> list[str]:
    if not times:
        return []
    what = "a peak" if len(times) == 1 else f"{spelled(len(times))} peaks"
    return [f"{what} at {_times(times)} less than half as wide as any that comes through the column"]


def _dip_words(times: Sequence[float]) -> list[str]:
    return [f"the signal falls below its baseline at {_times(times)}"] if times else []


def _times(times: Sequence[float]) -> str:
    """Return up to three of the times."""
    return listed(f"{rounded(time, 3)} min" for time in times[:3])


def _foreign(seen: Beside) -> Doubt | None:
    strangers = seen.foreign(FOREIGN)
    if not strangers:
        return None
    times = listed(f"{rounded(peak.apex_min, 3)} min" for peak in strangers)
    return "foreign peak", f"a peak of no marker at {times}, which no neighbour has"


TOGETHER = 25
"""Injections of a column that are looked at in one go: one more leaves the doubts about the others alone."""
BY_CONDITIONS = ("leak", "retention", *OVENS)
"""Kinds of doubt that the oven, the pump or the bottle can be the cause of, so that the log may show it."""

BY_COLUMN = ("peak shape",)
"""Kinds of doubt of which the column itself may be the cause, as its log or an event shows."""

CHECKS: tuple[Callable[[Beside], Doubt | None], ...] = (
    _truncated,
    _nothing,
    _noisy,
    _bubble,
    _overload,
    _shifted_start,
    _other_vial,
    _leak,
    _volume,
    _spiked,
    _foreign,
    _one_missing,
)
"""In this order: what explains most comes first, and one kind is told of an injection."""


def doubtful_injections(
    study: Study, traces: Mapping[str, Trace], measurements: Measurements, store: Store = NO_STORE
) -> tuple[DoubtfulInjection, ...]:
    """Return the counted injections that differ from their neighbours, and nothing of the column explains."""
    return tuple(one for one in odd_injections(study, traces, measurements, store) if not one.explained)


def odd_injections(
    study: Study, traces: Mapping[str, Trace], measurements: Measurements, store: Store = NO_STORE
) -> tuple[DoubtfulInjection, ...]:
    """Return the counted injections that differ from their neighbours, in the folder's order.

    What a column's injections say of each other comes from `store` where they were looked at before.
    """
    rows: dict[str, dict[str, PeakRow]] = {}
    for row in measurements.rows:
        rows.setdefault(row.injection, {})[row.marker] = row
    known = [one for one in study.injections if one.used and one.id in rows and one.id in traces]
    used = {
        column.id: sorted(
            (one for one in known if one.column == column.id), key=lambda i: hours_of(rows[i.id])
        )
        for column in study.columns
    }
    groups = {column.id: column.group for column in study.columns}
    void, strangers = study.void_marker.id if study.void_marker else "", measurements.unassigned
    columns = {
        name: [_Told(one, rows[one.id], strangers.get(one.id, ())) for one in own]
        for name, own in used.items()
    }
    keys = {
        name: digest_of(void, told, [trace_key(traces[one.injection.id]) for one in told])
        for name, told in columns.items()
    }

    def of_each(what: str, look: Callable[[str], Seen]) -> dict[str, Seen]:
        return {name: store.made(what, (key,), partial(look, name)) for name, key in keys.items()}

    odd = of_each("strays", lambda name: strays_of(name, used[name], rows, strangers))
    ovens = {name: off_by_oven(used[name], rows) for name, names in odd.items() if names}
    found = misfiled(used, rows, strangers, groups, odd, ovens)
    found = interchanged(used, rows, of_each("misfits", lambda name: misfits_of(used[name], rows))) | found
    shifts = of_each("shifts", lambda name: shifts_of(used[name], rows))
    found = interchanged_alike(used, rows, shifts, groups, found) | found
    neutral = neutral_of(study)

    known_parts: dict[tuple[str, ...], list[Sequence[Injection]]] = {}

    def parted(own: Sequence[Injection]) -> list[Sequence[Injection]]:
        sound = [one for one in own if one.id not in found]
        names = tuple(one.id for one in sound)
        if names not in known_parts:
            known_parts[names] = stretches(sound, renewals_of(sound, rows, neutral))
        return known_parts[names]

    anew = {name: [part[0].id for part in parted(own)[1:]] for name, own in used.items()}
    beside = {
        name: store.made(
            "doubts",
            (key, anew[name]),
            partial(_beside_neighbours, columns[name], traces, void, anew[name], store),
        )
        for name, key in keys.items()
    }
    for name, own in used.items():
        found = beside[name] | found
        for part in parted(own):
            source = (keys[name], [injection.id for injection in part])
            found |= store.made("out of order", source, partial(out_of_order, part, rows))
        for part in parted(own):
            source = (keys[name], [injection.id for injection in part])
            found |= store.made("alone", source, partial(alone, part, rows))
    found = in_few_injections(used, rows, strangers, found)
    by_id = {injection.id: injection for injection in study.injections}
    read = {one.injection: one.size for one in lone_readings(study)}
    for name, doubt in found.items():
        if doubt[0] in BY_CONDITIONS and name in read:
            why = f"{doubt[1]}; the log has {read[name]} there, as at no other reading of the column"
            found[name] = doubt[0], why
    explained = {
        name: explanation(study, used[by_id[name].column], rows, name)
        for name, doubt in found.items()
        if doubt[0] in BY_COLUMN
    }
    return tuple(
        replace(
            _doubtful(study, injection, found[injection.id], by_id),
            explained=explained.get(injection.id, ""),
        )
        for injection in study.injections
        if injection.id in found
    )


def _doubtful(
    study: Study, injection: Injection, doubt: Doubt, by_id: Mapping[str, Injection]
) -> DoubtfulInjection:
    """Return a doubt with the line that leaves the injection out, and those that put two back in place."""
    kind, why = doubt[:2]
    partner = by_id.get(doubt[2]) if len(doubt) > 2 else None
    return DoubtfulInjection(
        injection.id,
        kind,
        why,
        line_without(study, injection, f"{kind}: {why}"),
        lines_exchanged(study, injection, partner) if partner is not None else (),
    )


@dataclass(frozen=True, slots=True)
class _Told:
    """One injection with what was measured of it."""

    injection: Injection
    rows: Mapping[str, PeakRow]
    """By marker."""
    strangers: tuple[PeakOutline, ...]


def _beside_neighbours(
    used: Sequence[_Told], traces: Mapping[str, Trace], void: str, anew: Sequence[str], store: Store
) -> dict[str, Doubt]:
    """Return what is to be doubted of the injections of a column, each beside its neighbours.

    Where the column began anew with one of them, those before it are no neighbours, if others are enough.
    """
    found: dict[str, Doubt] = {}
    places = [place for place, one in enumerate(used) if one.injection.id in anew]
    for begin, end in pairwise((0, *places, len(used))):
        alone = end - begin > FEWEST
        own = used[begin:end] if alone else used
        first, last = (0, end - begin) if alone else (begin, end)
        for start in range(first, last, TOGETHER):
            found |= _of_some(own, range(start, min(start + TOGETHER, last)), traces, void, store)
    return found


def _of_some(
    used: Sequence[_Told], places: range, traces: Mapping[str, Trace], void: str, store: Store
) -> dict[str, Doubt]:
    """Return the doubts about some injections of `used`; handed are they and their neighbours alone."""
    first = max(0, places.start - NEIGHBOURS)
    seen = used[first : places.stop + NEIGHBOURS]
    own = range(places.start - first, places.stop - first)

    def look() -> dict[str, Doubt]:
        found: dict[str, Doubt] = {}
        for place in own:
            beside = _beside(place, seen, traces, void)
            doubt = next((d for check in CHECKS if (d := check(beside))), None) if beside else None
            if doubt is not None:
                found[seen[place].injection.id] = doubt
        return found

    told = [(trace_key(traces[one.injection.id]), one) for one in seen]
    return store.made("beside neighbours", (void, own.start, own.stop, told), look)


def _beside(place: int, used: Sequence[_Told], traces: Mapping[str, Trace], void: str) -> Beside | None:
    """Return one injection beside its nearest neighbours in `used`, None where there are too few."""
    near = range(max(0, place - NEIGHBOURS), min(len(used), place + NEIGHBOURS + 1))
    others = [used[at] for at in sorted(near, key=lambda at: abs(at - place)) if at != place][:NEIGHBOURS]
    if len(others) < FEWEST:
        return None
    own = used[place]
    return Beside(
        own.injection,
        own.rows,
        tuple(other.rows for other in others),
        own.strangers,
        tuple(other.strangers for other in others),
        traces[own.injection.id],
        tuple(traces[other.injection.id] for other in others),
        void,
    )


def _sketch(study: Study, name: str, doubtful: Set[str], traces: Mapping[str, Trace]) -> tuple[str, ...]:
    """Return an injection below the nearest one before it on its column that nobody doubts, else after it."""
    column = next(injection.column for injection in study.injections if injection.id == name)
    own = [one for one in study.injections if one.column == column and one.used and one.id in traces]
    own.sort(key=lambda one: one.exposure_h or 0.0)
    place = next((number for number, one in enumerate(own) if one.id == name), 0)
    near = next((one for one in (*own[:place][::-1], *own[place:]) if one.id not in doubtful), None)
    return sketches({one: traces[one] for one in (near.id if near else name, name) if one in traces})


def _exchange_words(one: DoubtfulInjection) -> str:
    """Return what to put in place of two rows whose files were exchanged; empty where that is not seen."""
    if not one.exchange:
        return ""
    rows = "\n".join(one.exchange)
    return f"\nOr, if the two were exchanged, keep both by putting these in their places:\n{rows}"


def doubt_problems(
    study: Study, doubtful: Sequence[DoubtfulInjection], traces: Mapping[str, Trace]
) -> tuple[Problem, ...]:
    """Return a caution for each doubtful injection, with its sketch and the line that would leave it out."""
    places = {
        injection.id: ("study.toml", "", injection.place)
        if of_pattern(injection)
        else injection.place.rpartition(", ")
        for injection in study.injections
    }
    lacking = head_to_add(study) if doubtful else ""
    first = f"add '{lacking}' to the end of the first line, and " if lacking else ""
    into = {
        injection.id: "put this below [injections]"
        if of_pattern(injection)
        else f"{first}put this in its place"
        for injection in study.injections
    }
    return tuple(
        Problem(
            "caution",
            places[one.injection][0] or "injections.csv",
            places[one.injection][2],
            f"'{one.injection}', which differs from its neighbours ({one.named}): {one.why}",
            "an injection like those before and after it",
            f"It is counted. Look at it; to leave it out, {into[one.injection]}:\n{one.line}"
            + _exchange_words(one),
            _sketch(study, one.injection, {other.injection for other in doubtful}, traces),
        )
        for one in doubtful
    )
