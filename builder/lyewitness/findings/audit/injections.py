"""Audit of the injections: blank, copies, peaks that were not found, what was left out.

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Container, Iterator, Mapping
from statistics import median

from lyewitness.decline.doubted import left_out_words
from lyewitness.decline.records import Decline
from lyewitness.findings.audit.points import (
    Asked,
    Point,
    groups_of,
    pairs_with,
    subject_of,
)
from lyewitness.findings.doubts import OF_THE_SOLVENT
from lyewitness.findings.evidence import Evidence
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Injection
from lyewitness.traces.collecting import entered_twice
from lyewitness.words.lives import tell
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.phrases import counted, listed, quoted, spelled

BLANK = Asked(
    "blank",
    "Is there a blank?",
    "Without a blank a peak of the solvent or of the buffer could pass for a marker, or for part of one.",
    "Inject the solvent alone on one column at least, and enter it with use = no and why = blank.",
)


def blank(evidence: Evidence) -> Iterator[Point]:
    """Ask for an injection that its name, file or reason calls a blank."""
    blanks = [injection for injection in evidence.study.injections if is_blank(injection)]
    if not blanks:
        yield BLANK.says("not possible", "no injection is entered as a blank")
        return
    peaks = {
        injection.id: [
            r.marker
            for r in evidence.measurements.rows
            if r.injection == injection.id and r.found and not is_disturbance(evidence, r)
        ]
        for injection in blanks
    }
    seen = {injection: markers for injection, markers in peaks.items() if markers}
    if seen:
        said = listed(f"{injection} shows {listed(markers)}" for injection, markers in seen.items())
        yield BLANK.says(
            "caution", said, bearing="What the blank shows adds to the markers’ peaks.",
            cure="Find out where it comes from: carry-over, solvent or buffer.",
        )  # fmt: skip
    else:
        yield BLANK.good(f"{listed(injection.id for injection in blanks)}: no marker found in it")


def is_disturbance(evidence: Evidence, row: PeakRow) -> bool:
    """Return whether the hold-up marker of an injection is no more than the disturbance by the solvent."""
    if row.marker not in evidence.roles("void") or row.peak_height is None:
        return False
    usual = [v for v in evidence.values(row.column, row.marker, "peak_height") if v > 0]
    return bool(usual) and row.peak_height < OF_THE_SOLVENT * median(usual)


def is_blank(injection: Injection) -> bool:
    """Return whether name, file or reason of an injection calls it a blank."""
    return any("blank" in text.lower() for text in (injection.id, injection.file, injection.why))


COPIES = Asked(
    "no-copies",
    "Are all chromatograms different?",
    "One chromatogram entered twice is one measurement counted twice.",
    "Put the right file in its place, or leave the copy out.",
)


def copies(evidence: Evidence) -> Iterator[Point]:
    """Ask whether two used injections rest on the same bytes and the same trace."""
    counts = [one for one in evidence.study.injections if one.used and one.id in evidence.traces]
    twice = [[one.id for one in ones] for ones in entered_twice(evidence.study, evidence.traces)]
    if not counts:
        return
    if not twice:
        yield COPIES.good(counted(len(counts), "different chromatogram"))
        return
    touched = {injection for ids in twice for injection in ids}
    columns = [found.column for found in evidence.study.injections if found.id in touched]
    groups = groups_of(evidence, columns)
    yield COPIES.says(
        "problem",
        f"{'; '.join(listed(ids) for ids in twice)} are the same chromatogram",
        subject_of(evidence, columns),
        bound="indicated",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


PEAKS = Asked(
    "peaks-found",
    "Was every marker found in every injection?",
    "A peak that is not found is not measured: a decline to nothing then looks like missing data.",
    "Look at these chromatograms; correct ‘retention_min’, or say why the peak is gone.",
)


def peaks_found(evidence: Evidence) -> Iterator[Point]:
    """Ask which peaks of used injections were not found."""
    rows = [row for row in evidence.measurements.rows if row.used]
    lost = [row for row in rows if not row.found]
    if not rows:
        return
    if not lost:
        yield PEAKS.good(f"all {len(rows)} peaks were found")
        return
    # What a short trace, a blank or another vial lacks is told of that injection, and says nothing of peaks.
    doubtful = {one.injection for one in evidence.doubtful}
    told = [row for row in lost if row.injection in doubtful]
    lost = [row for row in lost if row.injection not in doubtful]
    if not lost:
        lack = "one that is lacking in a doubtful injection"
        if len(told) > 1:
            lack = f"{spelled(len(told))} that are lacking in doubtful injections"
        yield PEAKS.good(f"all of {len(rows)} peaks were found but {lack}")
        return
    columns = list(dict.fromkeys(row.column for row in lost))
    by_marker = {
        marker: sum(row.marker == marker for row in lost) for marker in dict.fromkeys(r.marker for r in lost)
    }
    said = listed(f"{marker} in {counted(number, 'injection')}" for marker, number in by_marker.items())
    groups = groups_of(evidence, columns)
    many = any(
        sum(row.column == column for row in lost) > 0.1 * sum(row.column == column for row in rows)
        for column in columns
    )
    yield PEAKS.says(
        "caution",
        f"peaks were not found: {said} ({listed(columns)})",
        subject_of(evidence, columns),
        bound="indicated" if many else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


FLAGGED = Asked(
    "peaks-sound",
    "Were the peaks measured without doubt?",
    "Flagged values are kept in the computation; where many are flagged the metric itself is doubtful.",
    "Look at the flagged peaks on the injection pages.",
)
DOUBTED: Mapping[str, str] = {
    "saturated": "reach the end of the detector’s range",
    "merged": "overlap a neighbour and were separated by a fit",
    "overlap": "stand on a valley higher than a tenth of their height",
    "doubtful": "could be another marker as well",
    "edge": "touch the start or the end of the trace",
    "few-points": "have fewer than eight points above half height",
    "low-signal": "have a signal-to-noise ratio below 10",
    "baseline": "stand on a baseline in doubt",
    "disturbed": "bear a bubble, a step or a dip",
    "inconsistent": "have plate numbers that contradict each other",
    "uncertain": "have a standard error above 3 %",
    "stranger": "hold more than the marker",
}
"""Flags that speak of the measuring, in words; `split` speaks of the column and is left to the signs."""


def _verb(flag: str, number: int) -> str:
    """Return `have a standard error above 3 %`, of one peak `has …`."""
    verb, _, rest = DOUBTED[flag].partition(" ")
    of_one = {"have": "has", "could": "could", "touch": "touches"}.get(verb, f"{verb}s")
    return f"{of_one if number == 1 else verb} {rest}"


def peaks_sound(evidence: Evidence) -> Iterator[Point]:
    """Ask how many peaks of the used injections bear a flag that makes their values doubtful."""
    rows = [row for row in evidence.measurements.rows if row.used and row.found]
    number = {flag: sum(flag in row.flags for row in rows) for flag in DOUBTED}
    raised = {flag: count for flag, count in number.items() if count}
    if not rows:
        return
    if not raised:
        yield FLAGGED.good(f"none of {len(rows)} peaks bears a flag of doubt")
        return
    worst = max(raised, key=lambda flag: raised[flag])
    flags = sorted(raised, key=lambda flag: -raised[flag])
    total = f"{len(rows)} peaks"
    said = listed(
        f"{spelled(raised[flag])} {f'of {total} ' if flag == worst else ''}{_verb(flag, raised[flag])}"
        for flag in flags
    )
    void = evidence.roles("void")
    if {row.marker for row in rows if set(DOUBTED) & set(row.flags)} <= set(void):
        yield FLAGGED.good(f"{said}, all of them of the void marker, so that the answer is not touched")
        return
    if raised[worst] <= 0.05 * len(rows):
        yield FLAGGED.good(said)
        return
    detail = said
    columns = [row.column for row in rows if worst in row.flags]
    groups = groups_of(evidence, columns)
    yield FLAGGED.says(
        "caution",
        detail,
        subject_of(evidence, columns),
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


UNDER_LIVES = Asked(
    "lives-on-sound-peaks",
    "Do the lives rest on peaks without doubt?",
    "Where a flag says that a value may be off by more than its error, so may a life that rests on it.",
    "Mend what the flag names and repeat the injections around the limit; till then the life is a hint.",
)
GRAVE = ("saturated", "stranger", "baseline", "disturbed", "inconsistent", "edge", "few-points")
"""Flags under which a value may be off by more than its standard error says. `low-signal` is not among them,
for its error is honest; `split` speaks of the column."""
MOST_GRAVE = 0.5
"""A life rests on flagged peaks where more than this share of a column's bear such a flag: the median then
may be one of them."""


def lives_on_sound_peaks(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the deciding lives rest on peaks whose values may be off by more than their errors say.

    They do where most of a column's peaks of that marker are flagged, or one of the two injections between
    which it passed the limit: a product that grows beside a marker, or a detector at its end, would else
    pass for a failure of the column.
    """
    marker, metric = evidence.judgement.deciding
    if not metric or not marker:
        return
    resting: dict[str, set[str]] = {}
    for column in evidence.study.columns:
        rows = [
            row
            for row in evidence.measurements.rows
            if row.used and row.found and (row.column, row.marker) == (column.id, marker)
        ]
        flagged = [row for row in rows if set(GRAVE) & set(row.flags)]
        decline = evidence.decline(column.id, marker, metric)
        left_out = () if decline is None else decline.doubted
        flagged = [row for row in flagged if row.injection not in left_out]
        ends = set() if decline is None else {end for end in decline.life.bracket_h if end is not None}
        if len(flagged) > MOST_GRAVE * len(rows) or any(row.exposure_h in ends for row in flagged):
            resting[column.id] = {flag for row in flagged for flag in row.flags if flag in GRAVE}
    if not resting:
        yield UNDER_LIVES.good(f"no deciding life rests on flagged peaks of {marker}")
        return
    groups = groups_of(evidence, resting)
    flags = [flag for flag in GRAVE if any(flag in found for found in resting.values())]
    yield UNDER_LIVES.says(
        "problem",
        f"peaks of {marker} on {listed(resting)} {listed(DOUBTED[flag] for flag in flags)}",
        subject_of(evidence, resting),
        bound="indicated",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


DOUBTED_PEAKS = Asked(
    "doubted-peaks",
    "Which measured peaks were left out of a life as doubtful?",
    "What is likelier cut wrongly, or another compound’s, than right tells nothing of the column.",
    "Look at these chromatograms, mend what their flags name and repeat the injections.",
)


def doubted_peaks(evidence: Evidence) -> Iterator[Point]:
    """Name the doubtful peaks that deciding lives are without; a life that hangs on them is bounded."""
    marker, metric = evidence.judgement.deciding
    found = [
        decline
        for decline in evidence.judgement.declines
        if (decline.series.marker, decline.series.metric) == (marker, metric) and decline.doubted
    ]
    if not found:
        return
    hang = [one.series.column for one in found if _is_another(one)]
    said = "; ".join(
        f"{one.series.column} {tell(one.life)}, {left_out_words(one)}"
        + (f" (counted: {tell(one.with_doubted)})" if one.with_doubted is not None else "")
        for one in found
    )
    groups = groups_of(evidence, hang)
    yield DOUBTED_PEAKS.says(
        "problem" if hang else "caution",
        f"lives by the {metric_of_marker(marker, metric)} do without doubtful peaks: {said}",
        subject_of(evidence, [one.series.column for one in found]),
        bound="indicated" if hang else "shown",
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


def _is_another(decline: Decline) -> bool:
    """Return whether the life with the doubtful peaks counted is of another state, or lies apart from it."""
    life, other = decline.life, decline.with_doubted
    if other is None or life.state != other.state:
        return other is not None
    lows, highs = ([getattr(one.hours, end) for one in (life, other)] for end in ("low", "high"))
    if life.state != "reached" or None in (*lows, *highs):
        return False
    return bool(max(lows) > min(highs))


LEFT_OUT = Asked(
    "left-out",
    "Which injections were left out, and why?",
    "What is left out cannot speak against the answer.",
    "Leave out only for a cause known from outside the chromatogram, and write it down.",
)


def left_out(evidence: Evidence) -> Iterator[Point]:
    """Name the injections that were left out, with their reasons; blanks are no injections of markers."""
    out = [i for i in evidence.study.injections if not i.used and not is_blank(i)]
    total = sum(not is_blank(injection) for injection in evidence.study.injections)
    if not out:
        yield LEFT_OUT.good(f"none of {total} was left out")
        return
    by_reason: dict[str, list[str]] = {}
    for injection in out[:5]:
        by_reason.setdefault(quoted(injection.why), []).append(injection.id)
    said = "; ".join(f"{', '.join(ids)}: {why}" for why, ids in by_reason.items())
    columns = [injection.column for injection in out]
    yield LEFT_OUT.says(
        "caution" if len(out) > 0.1 * total else "good",
        f"{len(out)} of {total} injections were left out: {said}" + (" and more" if len(out) > 5 else ""),
        subject_of(evidence, columns),
        pairs=pairs_with(evidence.study, groups_of(evidence, columns)),
    )


DOUBTFUL = Asked(
    "doubtful-injections",
    "Does any counted injection differ from its neighbours?",
    "A life may rest on an injection that should not count.",
    "Leave each out by the line that ‘lyewitness check’ gives, or say in a note why it counts.",
)


MOST_OUTLYING = 4
"""Injections with single outlying values that are named."""


def doubtful(evidence: Evidence) -> Iterator[Point]:
    """Name the counted injections that differ from those before and after them."""
    found = evidence.doubtful
    outlying = _outlying_words(evidence, {one.injection for one in (*found, *evidence.explained)})
    explained = "; ".join(
        f"{one.injection} is off those beside it ({one.why}), and shows the column as it was: {one.explained}"
        for one in evidence.explained
    )
    beside = "; ".join(part for part in (explained, outlying) if part)
    if not found:
        yield DOUBTFUL.good(beside or "each resembles those before and after it")
        return
    names = {one.injection for one in found}
    columns = [injection.column for injection in evidence.study.injections if injection.id in names]
    groups = groups_of(evidence, columns)
    said = "; ".join(f"{one.injection} ({one.named}: {one.why})" for one in found[:6])
    yield DOUBTFUL.says(
        "caution",
        f"{counted(len(names), 'injection')} {'differs' if len(names) == 1 else 'differ'} from those beside "
        f"{'it' if len(names) == 1 else 'them'}: {said}"
        + (f"; and {len(found) - 6} more" if len(found) > 6 else "")
        + (f"; beside these {beside}" if beside else ""),
        subject_of(evidence, columns),
        pairs=pairs_with(evidence.study, groups),
        groups=groups,
    )


def _outlying_words(evidence: Evidence, told: Container[str]) -> str:
    """Return the injections of which single values lie off their course, as a clause; empty for none.

    Those that are `told` as doubtful, and peaks that were left out as such, are told elsewhere.
    """
    found: dict[str, str] = {}
    for decline in evidence.judgement.declines:
        series = decline.series
        for name in decline.outlying if series.marker else ():
            if name not in told and name not in decline.doubted:
                found.setdefault(name, f"{name} ({metric_of_marker(series.marker, series.metric)})")
    if not found:
        return ""
    named = ", ".join([*found.values()][:MOST_OUTLYING])
    more = f" and {len(found) - MOST_OUTLYING} more" if len(found) > MOST_OUTLYING else ""
    values = "a single value lies" if len(found) == 1 else "single values lie"
    return f"{values} off the course of the column, and its curve is drawn without: {named}{more}"
