"""The value of a sentence with its interval, drawn small beside it: lives on one axis, ratios on another.

In: claims and what they rest on. Out: `Strip`s.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import ceil, floor, log10

from lyewitness.decline.records import Comparison, Decline, GroupLife
from lyewitness.document.blocks import Strip
from lyewitness.document.edition import Edition
from lyewitness.document.strip_drawing import Axis, Bar, drawing
from lyewitness.findings.because import upright
from lyewitness.findings.records import Claim
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import interval

MOST_ROWS = 8
"""Columns that are drawn one by one."""
RATIOS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
DRAWN = ("reached", "not reached")


def strips_of(edition: Edition, claims: Iterable[Claim]) -> dict[str, Strip]:
    """Return the strip of every claim that rests on a ratio or on lives; each is drawn once a page."""
    drawn: dict[str, Strip] = {}
    seen: set[tuple[str, ...]] = set()
    for claim in claims:
        targets = tuple(one.target for one in claim.because if one.kind in ("comparison", "decline"))
        if targets in seen:
            continue
        strip = _ratios(edition, claim) or _lives(edition, claim)
        if strip:
            seen.add(targets)
            drawn[claim.id] = strip
    return drawn


def _ratios(edition: Edition, claim: Claim) -> Strip | None:
    """Return the ratios of lives that a claim rests on."""
    pairs = {
        "/".join((one.group_a, one.group_b, one.marker, one.metric)): one
        for one in edition.report.judgement.comparisons
    }
    named = [pairs[one.target] for one in claim.because if one.kind == "comparison" and one.target in pairs]
    told = [one for one in named if not _empty(one.life_ratio)]
    if not told:
        return None
    first, second, _ = upright(told[0])
    title = edition.say("strips.ratio", a=first, b=second) if len(told) == 1 else edition.say("strips.ratios")
    axis = _ratio_axis(edition.report.judgement.comparisons, title)
    bars = [
        Bar("" if len(told) == 1 else _pair_words(edition, one), upright(one)[2], stout=True) for one in told
    ]
    words = [f"{bar.label} {interval(bar.value)}".strip() for bar in bars]
    return Strip(drawing(bars, axis), f"{title}: {'; '.join(words)}")


def _pair_words(edition: Edition, pair: Comparison) -> str:
    first, second, _ = upright(pair)
    return edition.say("strips.pair", a=first, b=second)


def _ratio_axis(pairs: Iterable[Comparison], title: str) -> Axis:
    """Return one axis for all ratios of the report, with 1 well inside."""
    ratios = [upright(pair)[2] for pair in pairs]
    ends = [end for one in ratios for end in (one.low, one.value, one.high) if end is not None and end > 0]
    low, high = min(0.67, *ends, 0.67) / 1.1, min(max(2.0, *ends, 2.0) * 1.3, 50.0)
    return Axis(low, high, title, tuple(one for one in RATIOS if low < one < high), ratio=True)


def _lives(edition: Edition, claim: Claim) -> Strip | None:
    """Return the lives of the columns that a claim rests on, below that of their group."""
    keys = [tuple(one.target.split("/")) for one in claim.because if one.kind == "decline"]
    declines = [
        found for key in keys if len(key) == 3 and (found := edition.declines.get((key[0], key[1], key[2])))
    ]
    about = {(one.series.group, one.series.marker, one.series.metric) for one in declines}
    known = [one for one in declines if one.life.state in DRAWN]
    if len(about) != 1 or not known:
        return None
    group = _group_life(edition, *about.pop())
    bars = list(_life_bars(edition, group, known))
    axis = _life_axis(edition, [bar.value for bar in bars])
    words = [f"{bar.label} {interval(bar.value, 'h')}" for bar in bars]
    return Strip(drawing(bars, axis), f"{axis.title}: {'; '.join(words)}")


def _life_bars(edition: Edition, group: GroupLife | None, known: Sequence[Decline]) -> Iterator[Bar]:
    mark = edition.marks[known[0].series.group]
    if group and group.life.state in DRAWN and len(known) > 1:
        yield Bar(edition.say("strips.typical"), group.life.hours, mark.place, mark.shape, stout=True)
    if len(known) <= MOST_ROWS:
        for one in known:
            yield Bar(one.series.column, one.life.hours, mark.place, mark.shape)


def _group_life(edition: Edition, group: str, marker: str, metric: str) -> GroupLife | None:
    wanted = (group, marker, metric)
    lives = edition.report.judgement.group_lives
    return next((one for one in lives if (one.group, one.marker, one.metric) == wanted), None)


def _life_axis(edition: Edition, shown: Iterable[Estimate]) -> Axis:
    """Return one axis for all lives of the report: from nothing to the end of the longest test."""
    tested = [one.tested_to_h for one in edition.report.judgement.group_lives if one.tested_to_h]
    ends = [end for one in shown for end in (one.low, one.value, one.high) if end is not None]
    end = max((*tested, *ends), default=1.0) or 1.0
    step = 10 ** floor(log10(end))
    step = next(one for one in (step / 5, step / 2, step, 2 * step) if end / one <= 6)
    ticks = tuple(place * step for place in range(ceil(end / step) + 1) if place * step <= end * 1.001)
    return Axis(0.0, end * 1.04, edition.say("strips.life"), ticks)


def _empty(value: Estimate) -> bool:
    return value.value is None and value.low is None and value.high is None
