"""What an injection's page says first: that a limit was passed there, or that it looks wrong and is counted.

In: declines and doubtful injections of an `Edition`. Out: `Words` for the pages of these injections.
"""

from lyewitness.decline.records import Decline
from lyewitness.document.blocks import Link, Strong, Words
from lyewitness.document.edition import Edition
from lyewitness.document.proof import (
    both_sides,
    injection_past,
    injection_within,
    level_at,
    neighbours,
    viewer_address,
)
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.words.lives import level_of
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.phrases import exposure

Turnings = dict[str, tuple[Words, ...]]
"""By injection, why it looks wrong, and what it was the first past or the last within."""


def turnings_of(edition: Edition) -> Turnings:
    """Return what passed its limit at which injections, what failed first on its column before the rest."""
    firsts = {
        (one.column, one.marker, one.metric): "turned_first_tied" if one.tied_with else "turned_first"
        for one in edition.report.judgement.first_failures
    }
    found: Turnings = {one.injection: (_doubt(edition, one),) for one in edition.report.findings.doubtful}
    for key in sorted(edition.declines, key=lambda key: key not in firsts):
        decline = edition.declines[key]
        within, past = injection_within(decline), injection_past(decline)
        if past:
            found[past] = (
                *found.get(past, ()),
                _turning(edition, decline, past, within, firsts.get(key, "")),
            )
        if within:
            found[within] = (
                *found.get(within, ()),
                _turning(edition, decline, within, past, firsts.get(key, "")),
            )
    return found


def _turning(edition: Edition, decline: Decline, at: str, other: str, first: str) -> Words:
    """Return `First past its limit: … Last within it: S3-10, 30.3 h: both traces overlaid.`

    `first` is the string that says how this limit stands to the column's others, empty where it came after.
    """
    series, limit, say = decline.series, decline.limit, edition.say
    if limit is None:
        return ()
    place, way = series.injections.index(at), "past" if at == injection_past(decline) else "within"
    relative = limit.at_least_percent is not None or limit.at_most_percent is not None
    level = level_at(edition, decline, place)
    if relative:
        level = say("injection.of_reference", share=level)
    what = metric_of_marker(series.marker, series.metric)
    told = [say(f"injection.turned_{way}", what=what, level=level, limit=level_of(limit))]
    told += [say(f"injection.{first}", column=series.column)] if first else []
    if not other:
        return (Strong(told[0]), *(f" {more}" for more in told[1:]))
    to = edition.link("injection", other)
    lead = say("injection.turned_before" if way == "past" else "injection.turned_after")
    hours = float(series.exposure_h[series.injections.index(other)])
    over = both_sides(edition, decline)
    return (Strong(told[0]), " ", " ".join((*told[1:], lead)), " ", to, f", {exposure(hours)}", *over, ".")


def _doubt(edition: Edition, doubtful: DoubtfulInjection) -> Words:
    """Return why a counted injection looks wrong, the answer without it, the way to compare it."""
    say = edition.say
    check = edition.checks.get("doubtful-left-out")
    without = (f" {check.detail}",) if check else ()
    beside = viewer_address(edition, neighbours(edition, doubtful.injection))
    look = (" ", Link(say("injection.beside"), beside), ".") if beside else ()
    why = say("injection.why", kind=doubtful.named.capitalize(), why=doubtful.why)
    return (Strong(say("injection.looks_wrong")), f" {why}", *without, *look)
