"""What an hour or an injection costs on each group: price of a column over its life.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Cost`s in the currency of the prices, `CostRatio`s.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from statistics import fmean
from typing import Literal

from lyewitness.decline.usable_lives import UsableLife, failed_before
from lyewitness.findings import because
from lyewitness.findings.answer.lives_words import is_wide
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import asked_price, read_question
from lyewitness.findings.answer.side_by_side import (
    varied_by,
    with_and_without,
)
from lyewitness.findings.answer.use_claims import cut_short
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Strength
from lyewitness.study.factor_words import is_presence
from lyewitness.study.questions import named_factors, named_groups
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_vague
from lyewitness.words.phrases import hours, listed

SURE = 2.0
"""Where several pairs are priced, the interval on a log scale must exclude 1 by this factor of its width: the
quotient of Student's t at 4 degrees of freedom for ten comparisons and for one."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What a unit of use costs on one group."""

    group: str
    price: float
    """Mean price of its columns with their parts."""
    currency: str
    """Of the price; empty where the study names none."""
    each: Estimate
    """Price ÷ life: of an injection where the run time is stated, else of an hour."""
    others: Estimate | None = None
    """The same without those of its columns that failed, or were watched for less, and bound it."""
    watched_less: str = ""
    """Which these are, a clause: `on P3, watched for 71 h only`, `on P3, which failed`."""
    by_columns: tuple[float, ...] = ()
    """Of each column, the longest-lived first, where lives lie so far apart that `each` tells nothing."""


@dataclass(frozen=True, slots=True)
class CostRatio:
    """What use costs on one group, as a multiple of what it costs on another."""

    subject: Cost
    against: Cost
    ratio: Estimate
    verdict: Literal["less", "more", "open"]
    strength: Strength


def costs(evidence: Evidence, scope: Scope) -> dict[str, Cost]:
    """Return the cost for each group of the scope of which price and life are known."""
    found, parts = {}, parts_beside(evidence, scope)
    for group in scope.groups:
        prices = [column.price for column in evidence.study.replicates(group)]
        known = [price for price in prices if price]
        life = evidence.group_life(group, *scope.deciding)
        if not known or len(known) < len(prices) or life is None:
            continue
        price, lasted, run = fmean(known), life.life.hours, scope.question.run_time_min
        price += parts.get(group, 0.0)
        part = price * (run / 60 if run else 1.0)
        apart = _by_columns(scope.usable_lives(evidence, group), part) if is_wide(life) else ()
        if is_vague(lasted) and not apart:
            continue
        value = lasted.value if life.life.state == "reached" else None
        if scope.failed_sooner(evidence, group) or scope.less_known(evidence, group):
            # By the deciding limit alone use would seem cheaper than all limits let it be.
            value, lasted = None, _by_any_limit(scope.usable_lives(evidence, group, every_limit=True))
        each = Estimate(_over(part, value), _over(part, lasted.high), _over(part, lasted.low))
        if because.has_number(each):
            others, less = None, ""
            if life.life.state != "reached":
                lives = scope.usable_lives(evidence, group, every_limit=True)
                others, less = _without_the_worst(lives, part)
            found[group] = Cost(group, price, evidence.study.currency, each, others, less, apart)
    return found


APART = 1.2
"""How many times as long the other columns must have held for the one that bounds a cost to be set apart."""


def _without_the_worst(lives: Sequence[UsableLife], part: float) -> tuple[Estimate | None, str]:
    """Return what a unit of use costs at most on the columns that held, without those that failed, or were
    watched for less, and so bound it; and which these are, a clause."""
    short = cut_short(lives, failed_before(lives, inf))
    kept = [one.low for one in lives if one.column not in short]
    if short and kept and min(kept) > min(one.low for one in lives):
        most = Estimate(None, None, _over(part, min(kept)))
        return most, f"on {listed(short)}, watched for {hours(max(short.values()))} only"
    failed = [one for one in lives if one.high is not None]
    held = [one.low for one in lives if one.high is None]
    if len(held) > len(failed) > 0 and min(held) >= APART * min(one.low for one in failed):
        return Estimate(
            None, None, _over(part, min(held))
        ), f"on {listed(one.column for one in failed)}, which failed"
    return None, ""


def _by_columns(lives: Sequence[UsableLife], part: float) -> tuple[float, ...]:
    """Return what a unit of use costs on each column, the longest-lived first; none where not all of several
    failed."""
    lasted = [one.hours for one in lives if one.high is not None and one.hours]
    if len(lasted) < max(len(lives), 2):
        return ()
    return tuple(part / life for life in sorted(lasted, reverse=True))


def parts_beside(evidence: Evidence, scope: Scope) -> dict[str, float]:
    """Return the price of a part that the question or the study names, by groups whose own prices lack it.

    One part goes with each column. Where columns with it are dearer in the study, they hold it already.
    """
    text = scope.question.text
    currency = evidence.study.currency
    ahead = " ".join(dict.fromkeys(column.upstream for column in evidence.study.columns))
    part = asked_price(text, currency) or asked_price(ahead, currency)
    factors = named_factors(text, [factor.name for factor in evidence.study.factors])
    varied = [one for name in factors if (one := varied_by(evidence, name)) is not None]
    if part is None or len(varied) != 1 or not is_presence(varied[0].name, varied[0].levels):
        return {}

    def price_of(group: str) -> float:
        return fmean(column.price or 0.0 for column in evidence.study.replicates(group))

    pairs = with_and_without(evidence, varied[0])
    return {a: part for a, b in pairs if price_of(a) == price_of(b)}


def _by_any_limit(lives: Sequence[UsableLife]) -> Estimate:
    """Return between which hours the columns tested failed by whichever limit they passed first."""
    highs = [life.high for life in lives if life.high is not None]
    return Estimate(None, min(life.low for life in lives), max(highs) if len(highs) == len(lives) else None)


def _over(price: float, life: float | None) -> float | None:
    return price / life if life else None


def cost_ratios(evidence: Evidence, points: Sequence[Point], scope: Scope) -> tuple[CostRatio, ...]:
    """Return what use costs on the groups that are asked about, against the others."""
    known = costs(evidence, scope)
    pairs = [pair for pair in _asked_pairs(evidence, scope, list(known)) if set(pair) <= set(known)]
    return tuple(_ratio(evidence, points, scope, known[a], known[b], len(pairs)) for a, b in pairs)


def _asked_pairs(evidence: Evidence, scope: Scope, known: Sequence[str]) -> list[tuple[str, str]]:
    """Return (subject, against): groups with and without a factor that is named, else a named group and the
    others; where none is named, the first in `known`, whose costs are."""
    text = scope.question.text
    factors = named_factors(text, [factor.name for factor in evidence.study.factors])
    # By the design, not by the effects: a factor of which nothing is known yet is still what is asked about.
    varied = (one for name in factors if (one := varied_by(evidence, name)) is not None)
    pairs = list(dict.fromkeys(pair for one in varied for pair in with_and_without(evidence, one)))
    if pairs:
        return [pair for pair in pairs if set(pair) <= set(scope.groups)]
    subjects = scope.asked[:1] or known[:1]
    others = scope.asked[1:] or [group for group in scope.groups if group not in subjects]
    return [(subject, other) for subject in subjects for other in others]


def _ratio(
    evidence: Evidence, points: Sequence[Point], scope: Scope, subject: Cost, against: Cost, pairs: int
) -> CostRatio:
    found = evidence.comparison(subject.group, against.group, *scope.deciding)
    lives = Estimate()
    others = any(
        scope.failed_sooner(evidence, one.group) or scope.less_known(evidence, one.group)
        for one in (subject, against)
    )
    if found is not None and not others:
        own = found.group_a == subject.group
        lives = found.life_ratio if own else because.turned(found.life_ratio)
    prices = subject.price / against.price
    ratio = Estimate(_over(prices, lives.value), _over(prices, lives.high), _over(prices, lives.low))
    verdict: Literal["less", "more", "open"] = "open"
    if ratio.high is not None and ratio.high < 1:
        verdict = "less"
    elif ratio.low is not None and ratio.low > 1:
        verdict = "more"
    several = found is not None and min(found.columns_a, found.columns_b) > 1
    strength: Strength = "not settled"
    if verdict != "open" and several:
        firm = pairs == 1 or _surely(ratio)
        strength = bounded("shown" if firm else "indicated", points, (subject.group, against.group))
    return CostRatio(subject, against, ratio, verdict if strength != "not settled" else "open", strength)


def _surely(ratio: Estimate) -> bool:
    """Return whether an interval wider by `SURE` would exclude 1 as well; a bare bound may not."""
    if ratio.value is None or ratio.low is None or ratio.high is None:
        return False
    nearest = ratio.high if ratio.high < 1 else ratio.low
    far: float = ratio.value * (nearest / ratio.value) ** SURE
    return (far < 1) == (nearest < 1)


def overlapping(one: CostRatio) -> bool:
    """Return whether what use costs on one group may be what it costs on the other, each taken by itself."""
    return any(
        (each.value is None or (other.low or 0.0) <= each.value <= (other.high or inf))
        and (each.low or 0.0) < (other.high or inf)
        and (other.low or 0.0) < (each.high or inf)
        for each, other in ((one.subject.each, one.against.each), (one.against.each, one.subject.each))
    )


ALTERNATIVE = re.compile(r",\s*or\b(.*)", re.IGNORECASE | re.DOTALL)
"""What `is A worth its price, or should we go to B?` offers in the place of yes."""


def offered(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ratios: Sequence[CostRatio]
) -> list[CostRatio]:
    """Return what use costs on the groups that a question offers instead, against those it asks about."""
    offered = ALTERNATIVE.search(scope.question.text)
    known, subjects = costs(evidence, scope), dict.fromkeys(one.subject.group for one in ratios)
    named = named_groups(offered[1], evidence.study.groups) if offered else ()
    told = {(one.subject.group, one.against.group) for one in ratios}
    pairs = [(a, b) for a in named for b in subjects if a in known and a not in subjects]
    pairs = [pair for pair in pairs if not {pair, pair[::-1]} & told]
    return [_ratio(evidence, points, scope, known[a], known[b], len(pairs)) for a, b in pairs]


def unpriced_groups(evidence: Evidence, scope: Scope) -> tuple[str, ...]:
    """Return the groups whose price a question about cost wants, and the study does not state."""
    if not read_question(scope.question.text, evidence.study.groups).cost:
        return ()
    return tuple(g for g in scope.groups if not all(c.price for c in evidence.study.replicates(g)))
