"""A sentence with what it rests on, told briefly: links that share their words stand behind them once.

In: `Edition`, claims. Out: `Sentence`s.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from lyewitness.document.blocks import FigureBlock, Link, Reasons, Sentence, Strip
from lyewitness.document.cells import about
from lyewitness.document.edition import Edition
from lyewitness.findings.records import Because, Claim
from lyewitness.words.lives import tell
from lyewitness.words.metrics import metric_name

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
    reasons = tuple(
        Reasons(edition.say(f"reasons.{shared.kind}", what=shared.what) if shared.kind else "", links)
        for shared, links in _together(told)
    )
    shown, more = parted(reasons)
    anchor = edition.addresses.anchor("claim", claim.id)
    return Sentence(
        anchor, claim.text, claim.strength, shown, more, figure, strip, argument.numbers.get(claim.id)
    )


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
        return _Shared("claims"), Link(str(argument.numbers[one.target]), href)
    if one.kind == "decline":
        return _life(edition, one, href, argument.deciding)
    if one.kind == "sign" and "/" in one.target:
        column, _, mechanism = one.target.partition("/")
        return _Shared("lead", mechanism), Link(column, href)
    if one.kind == "check" and (check := edition.checks.get(one.target)):
        words = about(edition, check)
        return _Shared(among=words), Link(words, href)
    if one.kind == "image":
        return _Shared("image"), Link(one.target, href)
    return _Shared(among=one.label), Link(one.label, href)


def _life(edition: Edition, one: Because, href: str, deciding: tuple[str, str]) -> tuple[_Shared, Link]:
    """Return metric and marker as what is shared, and the column with its life as the link."""
    column, marker, metric = one.target.split("/")
    decline = edition.declines.get((column, marker, metric))
    group = decline.series.group if decline else ""
    known = decline is not None and decline.life.state in ("reached", "not reached")
    link = Link(f"{column} {tell(decline.life)}" if decline and known else column, href)
    if (marker, metric) == deciding:
        return _Shared(among=group), link
    words = metric_name(metric)
    what = edition.say("column.of_marker", metric=words, marker=marker) if marker else words
    return _Shared("lead", what, group), link
