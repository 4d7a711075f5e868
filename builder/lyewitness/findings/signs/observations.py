"""What can be observed on one column, by the names that the rules of failure use.

In: `Evidence` and a column. Out: `Observed`. A picture counts by what its caption says, and no further.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import exp, floor, log10
from statistics import fmean

import numpy as np

from lyewitness.chemistry.bed import CARBON, WITHOUT_SILICA
from lyewitness.decline.records import Decline
from lyewitness.findings.bottles import bottle_on
from lyewitness.findings.changes import (
    Change,
    change_between,
    change_of,
    change_over_markers,
    course_words,
    fitted_change,
    logged_change,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.common_steps import CommonStep, logs_off
from lyewitness.findings.medium.markers import charged_share
from lyewitness.findings.medium.swings import followed_in, steps_in
from lyewitness.findings.mended import mended
from lyewitness.findings.shared_courses import course_on
from lyewitness.findings.signs.sudden_losses import is_known, lost_by_degrees, sudden_losses
from lyewitness.study.records import MarkerRole, StudyImage
from lyewitness.study.setpoints import PH
from lyewitness.words.numbers import fixed, stated, with_unit
from lyewitness.words.phrases import listed, percent, percent_span, quoted, spelled


@dataclass(frozen=True, slots=True)
class Observed:
    """One observable on one column."""

    change: Change | None = None
    """For what is measured in per cent."""
    seen: bool | None = None
    """For what is there or not; None where it cannot be known."""
    words: str = ""
    """What was observed, with numbers."""


Observe = Callable[[Evidence, str], Observed]


def _change(metric: str, *roles: MarkerRole) -> Observe:
    def observe(evidence: Evidence, column: str) -> Observed:
        markers = evidence.roles(*roles)
        change = change_over_markers(evidence, column, markers, metric)
        steps = [step for step in steps_in(evidence) if step.metric == metric and step.marker in markers]
        if change is None or not steps:
            return Observed(change=change, words=change.of_reference if change else "")
        freed = _without(change, steps, column, evidence.hours(column)[-1:], len(markers))
        at = listed(dict.fromkeys(f"the {step.event.kind}" for step in steps))
        return Observed(change=freed, words=f"{freed.of_reference}, without the step of all columns at {at}")

    return observe


def _without(
    change: Change, steps: Sequence[CommonStep], column: str, last: Sequence[float], markers: int
) -> Change:
    """Return the mean change over so many markers without what their `steps` did to it up to the `last` hour.

    What a column did by itself speaks of the column; its ends hold the error of the step.
    """
    hours = np.array(last)
    size, low, high = (
        float(logs_off(column, hours, steps, end).sum()) / markers for end in ("size", "low", "high")
    )
    ends = (change.percent, size), (change.low, high), (change.high, low)
    return Change(*(100.0 * ((1.0 + percent / 100.0) * exp(-off) - 1.0) for percent, off in ends))


def _all_at_once(evidence: Evidence, column: str) -> Observed:
    """Observe whether the plates of all markers fell together within a short part of the exposure.

    Of what all lost alike in a longer time it is not known whether a bed gave way.
    """
    loss = sudden_losses(evidence).get(column)
    if loss is not None:
        return Observed(seen=True, words=f"{loss.words}, {loss.markers_words}")
    if slow := lost_by_degrees(evidence, column):
        return Observed(seen=None, words=slow)
    return Observed(seen=False if is_known(evidence, column) else None)


def _alike(metric: str, *roles: MarkerRole) -> Observe:
    """Observe whether `metric` moved the same way and about as far on the columns of every group."""

    def observe(evidence: Evidence, column: str) -> Observed:
        if len(evidence.study.groups) < 2:
            return Observed()
        columns = [found.id for found in evidence.study.columns]
        changes = [change_over_markers(evidence, c, evidence.roles(*roles), metric) for c in columns]
        known = {c: change for c, change in zip(columns, changes, strict=True) if change is not None}
        if len(known) < len(columns):
            return Observed()
        told = {str(change) for change in known.values()}
        each = f"each of the {spelled(len(known))} columns {told.pop()}" if len(told) == 1 else ""
        words = each or listed(f"{c} {change}" for c, change in known.items())
        return Observed(seen=_together(list(known.values())), words=words)

    return observe


ALIKE = 1.5
"""How many times as far one column may move as another, for both to move alike."""


MUCH_BETTER = 4.0
"""Difference of Akaike's criterion from which one shape is held to be the better (common practice)."""


def _together(changes: Sequence[Change]) -> bool | None:
    """Return whether all surely moved one way and none more than half as far again as another."""
    sizes = [abs(change.percent) for change in changes]
    one_way = len({change.percent > 0 for change in changes}) == 1
    surely = all(change.low * change.high > 0 for change in changes)
    if one_way and surely:
        return max(sizes) <= ALIKE * min(sizes)
    apart = any(
        first.low > second.high + 2 or second.low > first.high + 2 for first in changes for second in changes
    )
    return False if apart else None


def _beside_neutrals(evidence: Evidence, column: str) -> Observed:
    """Observe the bases' retention against that of the neutrals: phase that is lost takes both along."""
    bases, neutrals = (_change("retention_factor", role)(evidence, column) for role in ("base", "neutral"))
    own, other = bases.change, neutrals.change
    if own is None or other is None or min(100.0 + other.low, 100.0 + other.percent) <= 0.0:
        return bases
    change = Change(
        *(
            100.0 * ((100.0 + base) / (100.0 + neutral) - 1.0)
            for base, neutral in (
                (own.percent, other.percent),
                (own.low, other.high),
                (own.high, other.low),
            )
        )
    )
    return Observed(change=change, words=f"bases {bases.words}, neutrals {neutrals.words}")


def _pressure(evidence: Evidence, column: str) -> Observed:
    change = fitted_change(evidence, column, "", "pressure_bar")
    change = change or logged_change(evidence, column, "pressure_bar")
    return Observed(change=change, words=change.of_reference if change else "")


def _split(evidence: Evidence, column: str) -> Observed:
    """Observe whether retained peaks bear `split` at the end and did not at the start."""
    first = evidence.study.choices.reference_injections
    early = late = rows = 0
    for marker in evidence.roles("neutral", "base", "acid"):
        found = [row for row in evidence.rows(column, marker) if row.found]
        early += sum("split" in row.flags for row in found[:first])
        late += sum("split" in row.flags for row in found[first:][-first:])
        rows += len(found[first:][-first:])
    if not rows:
        return Observed()
    return Observed(
        seen=late > early and late >= 2, words=f"{late} of {rows} of the last peaks, {early} of the first"
    )


def _fronting(evidence: Evidence, column: str) -> Observed:
    """Observe whether neutrals front at the end (symmetry factor below 0.9) and did not at the start."""
    first = evidence.study.choices.reference_injections
    ends = []
    for marker in evidence.roles("neutral"):
        values = evidence.values(column, marker, "symmetry_factor")
        if len(values) > first:
            ends.append((min(values[:first]), max(values[first:][-first:])))
    if not ends:
        return Observed()
    return Observed(seen=any(late < 0.9 <= early for early, late in ends), words="")


UNTOUCHED = 15.0
"""Per cent by which the symmetry of a neutral may change while its peak passes for untouched."""


def _untouched(evidence: Evidence, column: str) -> Observed:
    """Observe whether the neutrals' peaks kept their symmetry, and neither split nor front."""
    changes = [change_of(evidence, column, m, "symmetry_factor") for m in evidence.roles("neutral")]
    known = [change for change in changes if change is not None]
    if not known:
        return Observed()
    kept = all(change.holds_within(UNTOUCHED) for change in known)
    disturbed = _split(evidence, column).seen or _fronting(evidence, column).seen
    words = listed(f"symmetry {change.of_reference}" for change in known)
    return Observed(seen=kept and not disturbed, words=f"{words}, neither split nor fronting")


def _delayed(evidence: Evidence, column: str) -> Observed:
    """Observe whether shapes with a delay describe the decline of plates better than those without.

    Seen, or surely not seen, where Akaike's criterion differs by more than `MUCH_BETTER` on any retained
    marker and on none the other way; not known where both kinds fit alike.
    """
    retained = evidence.roles("neutral", "base", "acid")
    gains = {
        decline.series.marker: gain
        for decline in evidence.judgement.declines
        if decline.series.column == column
        and decline.series.marker in retained
        and decline.series.metric == "plate_number_half_height"
        and (gain := _gain_of_delay(decline)) is not None
    }
    with_delay = [marker for marker, gain in gains.items() if gain > MUCH_BETTER]
    without = [marker for marker, gain in gains.items() if gain < -MUCH_BETTER]
    if bool(with_delay) == bool(without):
        return Observed()
    return Observed(seen=bool(with_delay), words=listed(with_delay or without))


def _gain_of_delay(decline: Decline) -> float | None:
    """Return by how much the best shape with a delay has the lower AICc; None where only one kind fits."""
    fits = [*([decline.model] if decline.model else []), *decline.rivals]
    late = [fit.aicc for fit in fits if fit.name in ("delayed", "sigmoid")]
    soon = [fit.aicc for fit in fits if fit.name not in ("delayed", "sigmoid")]
    return min(soon) - min(late) if late and soon else None


def _skinned(evidence: Evidence, column: str) -> Observed:
    particle = evidence.study.column(column).particle
    known = particle in ("core-shell silica", "core-shell hybrid surface", "coated silica")
    return Observed(seen=None if particle == "other" else known, words=particle)


def _silica(evidence: Evidence, column: str) -> Observed:
    """Observe whether the particle holds silica; not known for kinds that the study calls `other`."""
    particle = evidence.study.column(column).particle
    return Observed(seen=None if particle == "other" else particle not in WITHOUT_SILICA, words=particle)


def _bonded(evidence: Evidence, column: str) -> Observed:
    """Observe whether anything is bonded to the particle; not known where the study does not say.

    Carbon is used as it is: nothing is bonded to it unless the study says so.
    """
    own = evidence.study.column(column)
    bonding = own.bonding or ("none" if own.particle == CARBON else "")
    return Observed(
        seen=bonding != "none" if bonding else None, words=f"bonding {bonding}" if bonding else ""
    )


SOLUBLE = ("porous silica", "core-shell silica", "coated silica")
"""Particles whose silica no organic part of the particle itself protects."""
FROM_PH, FROM_C = 9.0, 40.0
"""Stress from which such silica is known to dissolve within days (common practice)."""


def _soluble(evidence: Evidence, column_id: str) -> Observed:
    """Observe whether the column is of silica, and was stressed where silica is known to dissolve."""
    column, stress = evidence.study.column(column_id), evidence.study.stress
    ph = column.ph if column.ph is not None else stress.ph
    heat = column.temperature_C if column.temperature_C is not None else stress.temperature_C
    if ph is None or heat is None or column.particle == "other":
        return Observed()
    seen = column.particle in SOLUBLE and ph >= FROM_PH and heat >= FROM_C
    return Observed(
        seen=seen, words=f"{column.particle} at pH {stated(ph)} and {with_unit(stated(heat), '°C')}"
    )


AT_REST = 1.0
"""Per cent within which retention and hold-up time stand still: what a pump and an oven repeat within (common
practice)."""
LITTLE = 10.0
"""Per cent of retention: a phase that lost more than that is not what an equilibration leaves behind."""


def _goes_on(evidence: Evidence, column: str) -> Observed:
    """Observe whether the neutrals' retention, that fell by little, still fell over the last half.

    Not known where it lost nothing or more, or the last half is too short to tell.
    """
    markers = evidence.roles("neutral")
    whole = change_over_markers(evidence, column, markers, "retention_factor")
    late = []
    for marker in markers:
        values = evidence.values(column, marker, "retention_factor")
        half = values[len(values) // 2 :]
        part = len(half) // 2
        found = change_between(half[:part], half[-part:]) if part > 1 else None
        late += [found] if found is not None else []
    if whole is None or not late or not whole.falls_by(AT_REST) or whole.low < -LITTLE:
        return Observed()
    mean = Change(
        fmean(one.percent for one in late), fmean(one.low for one in late), fmean(one.high for one in late)
    )
    rests = mean.holds_within(AT_REST)
    return Observed(seen=False if rests else None, words=f"{mean} over the last half" if rests else "")


def comes_to_rest(evidence: Evidence, column: str, marker: str, metric: str) -> bool:
    """Return whether a metric moved on a column and then surely stood still over the last half."""
    whole = change_of(evidence, column, marker, metric)
    values = evidence.values(column, marker, metric)
    half = values[len(values) // 2 :]
    part = len(half) // 2
    late = change_between(half[:part], half[-part:]) if part > 1 else None
    moved = whole is not None and (whole.falls_by(AT_REST) or whole.rises_by(AT_REST))
    return moved and late is not None and late.holds_within(AT_REST)


def _mended(evidence: Evidence, column: str) -> Observed:
    """Observe whether pressure and plates came back when a part was exchanged or the column flushed."""
    found = mended(evidence, column)
    return Observed(seen=True if found else None, words=found.words if found else "")


def _symmetry_alike(evidence: Evidence, column: str) -> Observed:
    """Observe whether the symmetry of all retained markers moved alike: within 10 % of each other."""
    markers = evidence.roles("neutral", "base", "acid")
    changes = [change_of(evidence, column, marker, "symmetry_factor") for marker in markers]
    known = [change for change in changes if change is not None]
    if len(known) < 2:
        return Observed()
    spread = max(change.percent for change in known) - min(change.percent for change in known)
    moved = any(change.rises_by(5) or change.falls_by(5) for change in known)
    return Observed(seen=spread <= 10 if moved else None, words=listed(str(change) for change in known))


MOST_READINGS = (0.05, 0.95)
"""Between these shares of the readings lies what a condition did: of many readings a few are always odd."""


def _logged(quantity: str, threshold: float, unit: str) -> Observe:
    """Observe whether a logged condition moved by more than `threshold`, in its own unit."""

    def observe(evidence: Evidence, column: str) -> Observed:
        values = [value for _, value in evidence.logged(column, quantity)]
        shared = course_on(evidence, column, quantity, threshold)
        course = shared.course if shared is not None else None
        if quantity == "ph" and (bottle := bottle_on(evidence, column)) is not None:
            return Observed(seen=False, words=bottle.words(evidence))
        places = max(1, -floor(log10(threshold)) + 1)
        if quantity == "ph" and shared is not None and shared.event is not None:
            # A bottle that was made up to another pH is no drift, and stands there as stated.
            return Observed(seen=False, words=f"one {shared.step_words(places, unit)}")
        if course is not None and course.kind in ("sawtooth", "jumps"):
            words = course_words(course, places, unit)
            return Observed(seen=course.high - course.low > threshold, words=words)
        low, high = (float(np.quantile(values, part)) for part in MOST_READINGS) if values else (0.0, 0.0)
        if (course is None or course.kind == "scatter") and high - low > threshold:
            # To and fro: first against last tells nothing of it.
            span = f"{fixed(min(values), places)} to {fixed(max(values), places)}"
            return Observed(seen=True, words=f"readings of {with_unit(span, unit)}")
        change = logged_change(evidence, column, quantity)
        if change is None:
            return Observed()
        part = max(2, len(values) // 4)
        start, end = fmean(values[:part]), fmean(values[-part:])
        moved = end - start
        sign = "+" if round(moved, places) > 0 else ""
        words = f"by {with_unit(sign + fixed(moved, places), unit)}"
        return Observed(seen=abs(moved) > threshold and change.low * change.high > 0, words=words)

    return observe


def _bases_follow(evidence: Evidence, column: str) -> Observed:
    """Observe whether the retention of a base or acid followed the logged pH, by its course on all columns.

    Words without an answer where the pH moved and the course does not tell.
    """
    read = [ph for _, ph in evidence.logged(column, "ph")]
    if not read:
        return Observed()
    if max(read) - min(read) <= PH.steady or bottle_on(evidence, column) is not None:
        # What the bottles of other columns did, or one that an event states, is no drift of this one's.
        return Observed(seen=False)
    known = followed_in(evidence)
    surely = [one for one in known if one.share[0] > 0]
    words = listed(
        f"{one.marker} by {percent_span(*one.moved_percent)} between pH "
        f"{fixed(one.low_ph, 2)} and {fixed(one.high_ph, 2)}"
        for one in surely or known
    )
    return Observed(seen=True if surely else None, words=words)


def _oven(evidence: Evidence, column: str) -> Observed:
    """Observe whether the oven moved: by its log, or without one by a rise of retention, which no wear gives.

    A loss that all columns share is first what equal columns do, and tells nothing of the oven.
    """
    logged = _logged("temperature_C", 1.0, "K")(evidence, column)
    if logged.seen is not None:
        return logged
    change = change_over_markers(evidence, column, evidence.roles("neutral"), "retention_factor")
    rose = change is not None and change.low > 0
    return Observed(
        seen=True if rose else None,
        words=f"no log, but a rise to {change.of_reference}" if change and rose else "",
    )


CHARGED = 0.05
"""Share of a base that must bear a charge: below it pH and silanols reach less than the scatter of a peak."""


def _charged_bases(evidence: Evidence, column: str) -> Observed:
    """Observe whether any base among the markers is charged enough to feel the pH or silanols."""
    bases = [marker for marker in evidence.study.markers if marker.role == "base"]
    shares = {marker.id: charged_share(evidence.study, marker) for marker in bases}
    known = {name: share for name, share in shares.items() if share is not None}
    if not known or len(known) < len(bases):
        return Observed()
    words = listed(f"{name} {percent(100 * share)} at most" for name, share in known.items())
    return Observed(seen=max(known.values()) > CHARGED, words=words)


NEGATED = r"\b(no|not|without|never|none|neither)\b[^.,;]{0,30}$"


PICTURES: Mapping[str, re.Pattern[str]] = {
    "picture of a void or of dissolution": re.compile(
        r"\bvoid|\bgap\b|dissol|etched|eroded|\bsunk|\bsank|ruined|broken|\bpits?\b|pitted|eaten|corroded",
        re.IGNORECASE,
    ),
    "picture of hollow particles": re.compile(r"hollow|\bskins?\b|empty shell", re.IGNORECASE),
    "picture of a blocked inlet": re.compile(r"blocked|clogged|deposit|plugged", re.IGNORECASE),
}
"""The words by which a caption speaks of a mechanism."""


def late_pictures(evidence: Evidence, column: str, pattern: re.Pattern[str]) -> tuple[StudyImage, ...]:
    """Return the late pictures of a column whose captions have such words; early ones say nothing."""
    seen = evidence.hours(column)
    half = seen[-1] / 2 if seen else 0.0
    return tuple(
        image
        for image in evidence.study.images
        if image.column == column
        and (image.exposure_h is None or image.exposure_h >= half)
        and pattern.search(image.caption)
    )


def _picture(name: str) -> Observe:
    """Observe whether a caption says one of the words of `PICTURES`; denied, it says the contrary."""
    pattern = PICTURES[name]

    def observe(evidence: Evidence, column: str) -> Observed:
        images = late_pictures(evidence, column, pattern)
        if not images:
            return Observed()
        denied = [image for image in images if _is_denied(image.caption, pattern)]
        return Observed(seen=not denied, words=listed(quoted(image.caption) for image in images))

    return observe


def _is_denied(caption: str, pattern: re.Pattern[str]) -> bool:
    found = pattern.search(caption)
    return found is not None and re.search(NEGATED, caption[: found.start()], re.IGNORECASE) is not None


OBSERVABLES: Mapping[str, Observe] = {
    "retention of neutrals": _change("retention_factor", "neutral"),
    "retention of bases": _change("retention_factor", "base"),
    "retention of bases beside neutrals": _beside_neutrals,
    "plates of all markers at once": _all_at_once,
    "plates of neutrals": _change("plate_number_half_height", "neutral"),
    "plates of bases": _change("plate_number_half_height", "base"),
    "symmetry of neutrals": _change("symmetry_factor", "neutral"),
    "symmetry of bases": _change("symmetry_factor", "base"),
    "hold-up time": _change("hold_up_time_min", "void"),
    "areas": _change("peak_area", "neutral", "base", "acid"),
    "pressure": _pressure,
    "split peaks at the end": _split,
    "fronting of neutrals": _fronting,
    "neutral peaks untouched": _untouched,
    "plates fall after a delay": _delayed,
    "solid core or coated particle": _skinned,
    "silica in the particle": _silica,
    "a bonded phase": _bonded,
    "silica in hot alkali": _soluble,
    "retention of neutrals goes on falling": _goes_on,
    "symmetry of all alike": _symmetry_alike,
    "pressure and all plates back at an event": _mended,
    "retention alike on all columns": _alike("retention_factor", "neutral"),
    "bases alike on all columns": _alike("retention_factor", "base"),
    "hold-up alike on all columns": _alike("hold_up_time_min", "void"),
    "areas alike on all columns": _alike("peak_area", "neutral", "base", "acid"),
    "bases follow the logged pH": _bases_follow,
    "logged pH moved": _logged("ph", 0.1, "pH units"),
    "logged flow moved": _logged("flow_mL_min", 0.005, "mL/min"),
    "logged temperature moved": _oven,
    "bases bear a charge": _charged_bases,
    **{name: _picture(name) for name in PICTURES},
}
"""What can be observed on a column, by the name that the rules use."""
