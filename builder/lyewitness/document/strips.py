"""A sentence with what it rests on, told briefly, and its value with the interval drawn small beside it.

In: claims and what they rest on. Out: `Strip`s, as SVG that takes its colours from the page.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from itertools import groupby
from math import ceil, floor, log, log10

from lyewitness.decline.records import Comparison, Decline, GroupLife
from lyewitness.document.blocks import FigureBlock, Link, Reasons, Sentence, Strip
from lyewitness.document.edition import Edition
from lyewitness.document.proof import proof_of_claim
from lyewitness.document.tables import about
from lyewitness.findings.because import upright
from lyewitness.findings.records import Because, Claim
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_known, tell
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import fixed, interval, stated
from lyewitness.words.phrases import exposure, mid_sentence

MOST_LINKS = 12
"""Links shown at once beside a sentence; the others are a click away."""


@dataclass(frozen=True, slots=True)
class Argument:
    """What the sentences of one page may take as said."""

    numbers: Mapping[str, int]
    """The page's own reasons, by which others on the page name them."""
    deciding: tuple[str, str]
    """(marker, metric) that need not be named at every link."""


def sentence_of(
    edition: Edition,
    claim: Claim,
    argument: Argument,
    figure: FigureBlock | None = None,
    strip: Strip | None = None,
) -> Sentence:
    """Return a claim with the links to what it rests on, and what is drawn beside it."""
    told = [_told(edition, one, argument) for one in claim.because]
    page, _, anchor = edition.addresses.of("claim", claim.id).partition("#")
    reasons = tuple(
        Reasons(
            edition.say(f"reasons.{shared.kind}", what=shared.what) if shared.kind else "",
            links,
            _where(edition, links, page),
        )
        for shared, links in _together(told)
    )
    shown, more = (_led(some) for some in parted(reasons))
    return Sentence(
        id=anchor,
        text=claim.text,
        strength=claim.strength,
        because=shown,
        more=more,
        figure=figure,
        strip=strip,
        number=argument.numbers.get(claim.id),
        proof=proof_of_claim(edition, claim),
    )


def _led(reasons: tuple[Reasons, ...]) -> tuple[Reasons, ...]:
    """Say where links lead behind the last of those that lead to one part."""
    following = [*(one.where for one in reasons[1:]), ""]
    return tuple(
        replace(one, where="") if one.where == after else one
        for one, after in zip(reasons, following, strict=False)
    )


def _where(edition: Edition, links: tuple[Link, ...], page: str) -> str:
    """Return the part that the first of `links` leads to, as the navigation names it; empty for `page`."""
    target = links[0].href.partition("#")[0]
    part = edition.part_at(target)
    return edition.say(f"nav.{edition.nav_of(part)}") if part and target != page else ""


def parted(reasons: tuple[Reasons, ...]) -> tuple[tuple[Reasons, ...], tuple[Reasons, ...]]:
    """Return what is shown at once, one group at least, and what on demand."""
    count = 0
    for place, one in enumerate(reasons):
        count += len(one.links)
        if count > MOST_LINKS and place:
            return reasons[:place], reasons[place:]
    return reasons, ()


@dataclass(frozen=True, slots=True)
class _Shared:
    """What a link may have in common with its neighbours."""

    kind: str = ""
    """Key of the theme's words that stand before them; empty for none."""
    what: str = ""
    among: str = ""
    """What keeps links apart although they share their words: the group of a column."""


def _together(told: Iterable[tuple[_Shared, Link]]) -> Iterator[tuple[_Shared, tuple[Link, ...]]]:
    """Yield links that follow each other and share something, together."""
    for shared, some in groupby(told, lambda one: one[0]):
        links = tuple(link for _, link in some)
        alone = shared.kind == "claims" and len(links) == 1
        yield (replace(shared, kind="claim") if alone else shared), links


def _told(edition: Edition, one: Because, argument: Argument) -> tuple[_Shared, Link]:
    """Return what a link may share with its neighbours, and the link."""
    href = edition.addresses.of(one.kind, one.target)
    if one.kind == "claim" and one.target in argument.numbers:
        number = str(argument.numbers[one.target])
        return _Shared("claims"), Link(number, href, f"{edition.say('reasons.claim')} {number}")
    if one.kind == "decline":
        return _life(edition, one, href, argument.deciding)
    if one.kind == "sign" and "/" in one.target:
        column, _, mechanism = one.target.partition("/")
        return _Shared("lead", mechanism), Link(column, href)
    if one.kind == "check" and (check := edition.checks.get(one.target)):
        words = about(edition, check)
        return _Shared(among=words), Link(words, href)
    if one.kind == "image":
        return _Shared("image"), Link(_pictured(edition, one.target), href)
    if one.kind == "chemistry":
        return _Shared(among=one.label), Link(mid_sentence(one.label.rstrip("?")), href)
    return _Shared(among=one.label), Link(one.label, href)


def _pictured(edition: Edition, image_id: str) -> str:
    """Return what a picture shows, and when it was taken: `S1 after 96 h`."""
    image = next((one for one in edition.report.study.images if one.id == image_id), None)
    if image is None or not image.column:
        return image_id
    taken = exposure(image.exposure_h) if image.exposure_h else ""
    return edition.say("reasons.taken", what=image.column, hours=taken) if taken else image.column


def _life(edition: Edition, one: Because, href: str, deciding: tuple[str, str]) -> tuple[_Shared, Link]:
    """Return metric and marker as what is shared, and the column with its life as the link."""
    column, marker, metric = one.target.split("/")
    decline = edition.declines.get((column, marker, metric))
    group = decline.series.group if decline else ""
    # A bare name before `P2 between 30 and 62 h` would be read as one more of which that is said.
    told = tell(decline.life) if decline is not None and is_known(decline.life) else "not known"
    if decline is not None and decline.limit is None:
        told = "without a limit"
    link = Link(f"{column} {told}", href, brief=column)
    if (marker, metric) == deciding:
        return _Shared(among=group), link
    return _Shared("lead", metric_of_marker(marker, metric), group), link


WIDTH = 360.0
"""As wide as a telephone's text, so that the letters keep their size there."""
ROW = 17.0
EDGE = 14.0
"""px of a row and left free at the sides: room for one line of labels."""
LETTER = 7.0
"""Width of a letter of a label, px, a little wider than it is."""
TITLE_LETTER = 6.0
"""The same of the words below an axis."""
Scale = Callable[[float], float]
"""From a value to its place, px."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One row of a strip."""

    label: str
    value: Estimate
    place: int | None = None
    """The group's place in the study, for its colour; None for the colour of the text."""
    mark: str = "●"
    stout: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """What the rows are drawn on."""

    low: float
    high: float
    title: str
    ticks: tuple[float, ...]
    ratio: bool = False
    """True for a logarithmic axis with a rule at 1."""

    def share(self, value: float) -> float:
        """Return where `value` stands between the ends, 0 to 1."""
        if self.ratio:
            return log(min(max(value, self.low), self.high) / self.low) / log(self.high / self.low)
        return (min(max(value, self.low), self.high) - self.low) / (self.high - self.low)


def drawing(bars: Sequence[Bar], axis: Axis) -> str:
    """Return rows of intervals on one axis as SVG; an open end is an arrow."""
    longest = max((len(bar.label) for bar in bars), default=0)
    left = min(EDGE + LETTER * longest, WIDTH / 2)
    foot = ROW * len(bars) + 6
    height = foot + 32

    def x(value: float) -> float:
        return round(left + axis.share(value) * (WIDTH - EDGE - left), 1)

    size = f'viewBox="0 0 {WIDTH:.0f} {height:.0f}" width="{WIDTH:.0f}" height="{height:.0f}"'
    parts = [f'<svg class="strip" {size} aria-hidden="true" focusable="false">']
    parts += _ground(axis, x, foot)
    for place, bar in enumerate(bars):
        parts += _row(bar, x, ROW * place + ROW / 2 + 2, axis)
    return "".join((*parts, "</svg>"))


def _ground(axis: Axis, x: Scale, foot: float) -> Iterator[str]:
    """Yield the axis with its ticks, its words below, and the rule at equality."""
    yield f'<path class="axis" d="M{x(axis.low)} {foot:.0f}H{x(axis.high)}"/>'
    if axis.ratio:
        yield f'<path class="rule" d="M{x(1)} 2V{foot:.0f}"/>'
    for tick in axis.ticks:
        yield f'<path class="axis" d="M{x(tick)} {foot:.0f}v4"/>'
        yield f'<text class="tick" x="{x(tick)}" y="{foot + 15:.0f}">{_tick(tick)}</text>'
    yield f'<text class="title" x="{x(axis.high)}" y="{foot + 29:.0f}">{escape(axis.title)}</text>'


def _tick(value: float) -> str:
    return stated(float(f"{value:.2g}")) if value < 100 else fixed(value, 0)


def _row(bar: Bar, x: Scale, y: float, axis: Axis) -> Iterator[str]:
    """Yield one interval with its label and its mark."""
    tone = "" if bar.place is None else f" g{bar.place}"
    if bar.label:
        yield f'<text class="label" x="0" y="{y + 4:.1f}">{escape(bar.label)}</text>'
    low, high = bar.value.low, bar.value.high
    middle = bar.value.value
    start, end = x(axis.low if low is None else low), x(axis.high if high is None else high)
    yield f'<g class="bar{tone}{" stout" if bar.stout else ""}">'
    if middle is not None:
        # Small, and below the interval: a mark must not hide how far it reaches.
        yield f'<text class="point" x="{x(middle)}" y="{y + 3.4:.1f}">{bar.mark}</text>'
    if low is not None or high is not None:
        yield f'<path d="M{start} {y:.1f}H{end}"/>'
    if low is not None and (high is None or high > axis.high):
        yield f'<path d="M{start} {y - 4:.1f}v8M{end - 5} {y - 4:.1f}l5 4l-5 4"/>'
    if low is None and high is not None:
        yield f'<path d="M{end} {y - 4:.1f}v8M{start + 5} {y - 4:.1f}l-5 4l5 4"/>'
    yield "</g>"


FURTHEST = 2.0
"""Ends of intervals lengthen an axis to this multiple of what was run: the letter's bars go as far."""
MOST_ROWS = 8
"""Columns that are drawn one by one."""
# The usual steps of a logarithmic axis; no ratio of lives within a test lies beyond.
RATIOS = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
NARROW_SPAN, BETWEEN = 10.0, (0.7, 1.5, 3.0)
"""Below this ratio of its ends an axis has finer steps: of two ticks alone nobody sees how a scale runs."""
DRAWN = ("reached", "not reached")


def strips_of(edition: Edition, claims: Iterable[Claim]) -> dict[str, Strip]:
    """Return the strip of every claim that rests on a ratio or on lives; each is drawn once a page."""
    told = list(claims)
    bars = {claim.id: tuple(_lives(edition, claim)) for claim in told}
    axis = _life_axis(edition, [bar.value for own in bars.values() for bar in own])
    drawn: dict[str, Strip] = {}
    seen: set[tuple[str, ...]] = set()
    for claim in told:
        targets = tuple(one.target for one in claim.because if one.kind in ("comparison", "decline"))
        if targets in seen:
            continue
        strip = _ratios(edition, claim) or _lives_on(axis, bars[claim.id])
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
    names = (title, _pair_words(edition, told[0])) if len(told) == 1 else (title,)
    axis = _ratio_axis(edition.report.judgement.comparisons, _logarithmic(edition, *names))
    bars = [
        Bar("" if len(told) == 1 else _pair_words(edition, one), upright(one)[2], stout=True) for one in told
    ]
    words = [f"{bar.label} {interval(bar.value)}".strip() for bar in bars]
    return Strip(drawing(bars, axis), f"{title}: {'; '.join(words)}")


def _logarithmic(edition: Edition, *names: str) -> str:
    """Return the first of the names that finds room below an axis, and that its scale is logarithmic.

    Else nobody could tell why 1.5 does not lie halfway from 1 to 2.
    """
    told = [edition.say("strips.logarithmic", what=one) for one in (*names, edition.say("strips.ratios"))]
    return next((one for one in told if TITLE_LETTER * len(one) <= WIDTH - EDGE), told[-1])


def _pair_words(edition: Edition, pair: Comparison) -> str:
    first, second, _ = upright(pair)
    return edition.say("strips.pair", a=first, b=second)


def _ratio_axis(pairs: Iterable[Comparison], title: str) -> Axis:
    """Return one axis for all ratios of the report, with 1 well inside."""
    ratios = [upright(pair)[2] for pair in pairs]
    ends = [end for one in ratios for end in (one.low, one.value, one.high) if end is not None and end > 0]
    low, high = min(0.67, *ends, 0.67) / 1.1, min(max(2.0, *ends, 2.0) * 1.3, 50.0)
    steps = sorted((*RATIOS, *BETWEEN)) if high < NARROW_SPAN * low else RATIOS
    return Axis(low, high, title, tuple(one for one in steps if low < one < high), ratio=True)


def _lives(edition: Edition, claim: Claim) -> Iterator[Bar]:
    """Yield the lives of the columns that a claim rests on, below that of their group."""
    keys = [tuple(one.target.split("/")) for one in claim.because if one.kind == "decline"]
    declines = [
        found for key in keys if len(key) == 3 and (found := edition.declines.get((key[0], key[1], key[2])))
    ]
    about = {(one.series.group, one.series.marker, one.series.metric) for one in declines}
    known = [one for one in declines if one.life.state in DRAWN]
    if len(about) == 1 and known:
        yield from _life_bars(edition, _group_life(edition, *about.pop()), known)


def _lives_on(axis: Axis, bars: Sequence[Bar]) -> Strip | None:
    """Return lives drawn on the axis of all that stand on one page: an eye compares their lengths."""
    if not bars:
        return None
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
    """Return one axis for all lives that are shown: from nothing to the end of the longest test or life.

    An end that the data hardly bound goes on beyond it, and presses no other life together.
    """
    tested = [one.tested_to_h for one in edition.report.judgement.group_lives if one.tested_to_h]
    ends = [end for one in shown for end in (one.low, one.value, one.high) if end is not None]
    run = max(tested, default=0.0)
    end = max((run, *(one for one in ends if one <= FURTHEST * run or not run)), default=1.0) or 1.0
    step = 10 ** floor(log10(end))
    step = next(one for one in (step / 5, step / 2, step, 2 * step) if end / one <= 6)
    ticks = tuple(place * step for place in range(ceil(end / step) + 1) if place * step <= end * 1.001)
    return Axis(0.0, end * 1.04, edition.say("strips.life"), ticks)


def _empty(value: Estimate) -> bool:
    return value.value is None and value.low is None and value.high is None
