"""What an hour or an injection costs on each group: price of a column over its life.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Cost`s in the currency of the prices, `Claim`s.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, sqrt
from statistics import fmean
from typing import Literal

from lyewitness.decline.usable_lives import UsableLife, failed_before, told_together
from lyewitness.findings import because
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import asked_currency, asked_price, read_question
from lyewitness.findings.answer.side_by_side import (
    FEW,
    SEEN,
    better_seen,
    least_times,
    matches,
    varied_by,
    with_and_without,
)
from lyewitness.findings.answer.use_claims import cut_short
from lyewitness.findings.audit.points import STRENGTHS, Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.study.factor_words import at_level, is_absent, is_presence
from lyewitness.study.questions import named_factors, named_groups
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_vague
from lyewitness.words.numbers import UP, bound, ratio_of, stated, with_unit
from lyewitness.words.phrases import CANNOT_TELL, columns_of, hours, listed, mid_sentence, run_together

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
    """The same without those of its columns that were watched for less than the others and bound it."""
    watched_less: str = ""
    """Which these are, a clause: `on P3, watched for 71 h only`."""


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
    found, parts = {}, _parts_beside(evidence, scope)
    for group in scope.groups:
        prices = [column.price for column in evidence.study.replicates(group)]
        known = [price for price in prices if price]
        life = evidence.group_life(group, *scope.deciding)
        if not known or len(known) < len(prices) or life is None or is_vague(life.life.hours):
            continue
        price, lasted, run = fmean(known), life.life.hours, scope.question.run_time_min
        price += parts.get(group, 0.0)
        part = price * (run / 60 if run else 1.0)
        value = lasted.value if life.life.state == "reached" else None
        if scope.failed_sooner(evidence, group) or scope.less_known(evidence, group):
            # By the deciding limit alone use would seem cheaper than all limits let it be.
            value, lasted = None, _by_any_limit(scope.usable_lives(evidence, group, every_limit=True))
        each = Estimate(_over(part, value), _over(part, lasted.high), _over(part, lasted.low))
        if because.has_number(each):
            others, less = None, ""
            if life.life.state != "reached":
                lives = scope.usable_lives(evidence, group, every_limit=True)
                short = cut_short(lives, failed_before(lives, inf))
                kept = [one.low for one in lives if one.column not in short]
                if short and kept and min(kept) > min(one.low for one in lives):
                    others = Estimate(None, None, _over(part, min(kept)))
                    less = f"on {listed(short)}, watched for {hours(max(short.values()))} only"
            found[group] = Cost(group, price, evidence.study.currency, each, others, less)
    return found


def _parts_beside(evidence: Evidence, scope: Scope) -> dict[str, float]:
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


def unit_of(scope: Scope) -> str:
    """Return what the cost is of: `an injection of 24 min`, `an hour`."""
    run = scope.question.run_time_min
    return f"an injection of {with_unit(stated(run), 'min')}" if run else "an hour"


def cost_replies(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[str]:
    """Return what a question about cost gets first; nothing where it asks for none."""
    asks = read_question(scope.question.text, evidence.study.groups)
    if not asks.cost:
        return []
    known = costs(evidence, scope)
    unpriced = list(unpriced_groups(evidence, scope))
    if len(unpriced) == len(scope.groups):
        unknown = f"{CANNOT_TELL} what use costs: no price of a column is stated"
        return _pays_from(evidence, scope) or [unknown]
    ratios = cost_ratios(evidence, points, scope)
    told = dict.fromkeys(group for one in ratios for group in (one.subject.group, one.against.group))
    rest = [cost_words(known[group]) for group in scope.groups if group in known and group not in told]
    less = _seen_less(evidence, scope, ratios)
    if len(ratios) > 1 and not less and any(one.verdict == "open" for one in ratios):
        # Who asks of several types wants each one's cost, not pair by pair what we cannot tell.
        each = listed([*(cost_words(known[group]) for group in told), *rest])
        where = f"{CANNOT_TELL} on which of them use costs least"
        apart = _dearest(known) or _settled_words(ratios)
        needed = _needed_words(ratios) if asks.yes_or_no or PAYS.search(scope.question.text) else []
        lead = _is_dear(scope.question.text, known) or _is_worth(scope.question.text, ratios)
        return [
            f"{lead}{unit_of(scope)} costs {each}{_as_priced(evidence, known)}; {apart or where}",
            *needed,
        ]
    said = less or [ratio_sentence(one, scope) for one in ratios]
    if ratios and all(one.verdict != "open" for one in ratios):
        # Ratio, its interval and the prices stand in the claims; who asks wants to see what each one costs.
        each = listed([*(cost_words(known[group]) for group in told), *rest])
        said = [f"{unit_of(scope)} costs {each}{_as_priced(evidence, known)}"]
        if len(ratios) == 1 and overlapping(ratios[0]):
            # By what each costs nobody would see that one costs more than the other.
            (one,) = ratios
            more = f"costs {ratio_of(one.ratio)} times as much", "as"
            if one.ratio.value is None:
                # A bare bound of the ratio nobody finds in the bounds of what each costs.
                more = f"{'costs' if one.strength == 'shown' else 'seems to cost'} {one.verdict}", "than"
            costs_it, than = more
            beside = f"on {columns_of(one.subject.group)} {than} on {columns_of(one.against.group)}"
            said = [f"{unit_of(scope)} {costs_it} {beside}: {each}{_as_priced(evidence, known)}"]
            if asks.choice and not asks.yes_or_no:
                cheap = one.against if one.verdict == "more" else one.subject
                take = "take" if one.strength == "shown" else "for now prefer"
                said = [f"{take} {columns_of(cheap.group)} for what use costs: {said[0]}"]
        rest = []
    said += [] if less else _needed_words(ratios)
    if asks.yes_or_no and ratios:
        said[0] = f"{_reply(evidence, points, scope, ratios)}{said[0]}"
    elif not ratios and (asks.yes_or_no or len(scope.groups) > 1):
        which = "" if asks.yes_or_no else " where use costs less"
        said.append(f"{CANNOT_TELL}{which}: {_lacking(scope, known, unpriced)}")
    if rest:
        said.append(f"{unit_of(scope)} costs {listed(rest)}{_as_priced(evidence, known)}")
    vague = [group for group in scope.groups if group not in known and group not in unpriced]
    if vague:
        lives = "the life of" if len(vague) == 1 else "the lives of"
        known_well = "is" if len(vague) == 1 else "are"
        whose = listed(columns_of(group) for group in vague)
        said.append(f"{lives} {whose} {known_well} not known well enough to say what their use costs")
    if unpriced and not any("no price is stated" in words for words in said):
        said.append(f"no price is stated for {listed((columns_of(group) for group in unpriced), 'or')}")
    return said or [f"{CANNOT_TELL} what use costs: the lives are not known"]


PAYS = re.compile(r"\b(worth|pays?|dear(er|est)?|cheap(er|est)?|buy|order|choose|should)\b", re.IGNORECASE)
"""How a question sounds that wants to know what would make a dearer type pay."""


DEAR = re.compile(
    r"\bis (?:the|this) (?:dear|dearest|expensive|costly|pric(?:e|i|ie)\w*) (?:one|column|type)s? "
    r"(?:really|in fact|actually|truly) (?:the )?(?:dear|dearer|dearest|expensive|more)\b"
    r"|\breally (?:the )?(?:dear|dearer|dearest|more expensive)\b",
    re.IGNORECASE,
)
"""How a question sounds that doubts whether the type dearest to buy is dearest to use."""


def _is_dear(text: str, known: Mapping[str, Cost]) -> str:
    """Return the yes or no to `is the dear one really dear?`, as far as was seen; empty where not asked."""
    if not DEAR.search(text) or len(known) < 2:
        return ""
    dear = max(known.values(), key=lambda one: one.price)
    others = [one.each for one in known.values() if one is not dear]
    # One that was watched for less bounds what its type costs, and shows nothing of it.
    most = (dear.others or dear.each).high or inf
    if any((one.value or one.low or 0.0) >= most for one in others):
        return f"no, {mid_sentence(SEEN)} the dearest to buy ({dear.group}) was not the dearest to use: "
    if dear.each.low is not None and all((one.high or inf) < dear.each.low for one in others):
        return f"yes, {mid_sentence(SEEN)} the dearest to buy ({dear.group}) was the dearest to use, too: "
    return ""


WORTH = re.compile(r"\bworth\b", re.IGNORECASE)


def _is_worth(text: str, ratios: Sequence[CostRatio]) -> str:
    """Return that the data do not show what a dear type is asked to be worth, where no ratio is settled."""
    asked = WORTH.search(text) is not None
    return "not shown: " if asked and all(one.verdict == "open" for one in ratios) else ""


def _dearest(known: Mapping[str, Cost]) -> str:
    """Return on which type use surely cost most in this test, and that the others cannot be told apart;
    nothing where no type lies above all others."""
    if len(known) < MANY:
        return ""
    for group, cost in known.items():
        highs = [(one.others or one.each).high for name, one in known.items() if name != group]
        if cost.each.low is not None and all(high is not None and high < cost.each.low for high in highs):
            return (
                f"{SEEN} it cost most on {columns_of(group)}, and {CANNOT_TELL} on which of the others least"
            )
    return ""


def _settled_words(ratios: Sequence[CostRatio]) -> str:
    """Return where use costs more than elsewhere, as far as that is settled; nothing where nothing is."""
    settled = [one for one in ratios if one.verdict != "open"]
    if not settled:
        return ""
    firm = all(one.strength == "shown" for one in settled)
    beside: dict[tuple[str, str], list[str]] = {}
    for one in settled:
        beside.setdefault((one.verdict, one.subject.group), []).append(columns_of(one.against.group))
    each = listed(
        f"{verdict} on {columns_of(group)} than on {listed(others, 'or')}"
        for (verdict, group), others in beside.items()
    )
    return f"it {'costs' if firm else 'seems to cost'} {each}; beyond that {CANNOT_TELL}"


MANY = 3
"""Types from which on one may be the dearest while the others stand undecided."""


def _seen_less(evidence: Evidence, scope: Scope, ratios: Sequence[CostRatio]) -> list[str]:
    """Return `in this test an hour cost less with the guard than without: …`, where nothing is settled though
    all columns tested went that way; nothing where it is, or where they did not.
    """
    if not ratios or not all(one.verdict == "open" for one in ratios):
        return []
    bounds = [(one.subject.each, one.against.each) for one in ratios]
    if not all(a.high is not None and b.low is not None and a.high < b.low for a, b in bounds):
        return []
    names = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    factor = next((one for name in names if (one := varied_by(evidence, name)) is not None), None)
    a, b = ratios[0].subject.group, ratios[0].against.group
    less = _how_much_less(bounds)
    as_much = "than" if less == "less" else "as"
    than = f"on {columns_of(a)} {as_much} on {columns_of(b)}"
    if factor is not None and is_presence(factor.name, factor.levels):
        than = f"with the {factor.name} {as_much} without"
    each = "; ".join(f"{cost_words(one.subject)}, against {cost_words(one.against)}" for one in ratios)
    told = dict.fromkeys(cost.group for one in ratios for cost in (one.subject, one.against))
    parts = _parts_beside(evidence, scope)
    added = dict.fromkeys(_in_currency(stated(price), evidence.study.currency) for price in parts.values())
    counted_in = (
        f", the {listed(added)} of one {factor.name} for each column counted" if factor and added else ""
    )
    other_limits = any(
        scope.failed_sooner(evidence, cost.group) for one in ratios for cost in (one.subject, one.against)
    )
    used = _used_up(evidence, scope, told)
    first = f"each is counted up to whichever limit came first{used}" if other_limits else ""
    said = f"{SEEN} {unit_of(scope)} cost {less} {than}: {each}"
    return [f"{said}{_as_priced(evidence, {})}{counted_in}", *([first] if first else []), FEW]


SHARES = (
    (0.25, "about a quarter"),
    (1 / 3, "about a third"),
    (0.5, "about half"),
    (2 / 3, "about two thirds"),
)
NEAR = 1.2
"""Ratio within which a share is told in words."""


def _how_much_less(bounds: Sequence[tuple[Estimate, Estimate]]) -> str:
    """Return `about half as much` where the middles of all pairs say so, else `less`."""
    ratios = []
    for a, b in bounds:
        if not (a.low and a.high and b.low and b.high):
            return "less"
        ratios.append(sqrt(a.low * a.high / (b.low * b.high)))
    for share, words in SHARES:
        if all(share / NEAR <= ratio <= share * NEAR for ratio in ratios):
            return f"{words} as much"
    return "less"


def _pays_from(evidence: Evidence, scope: Scope) -> list[str]:
    """Return from which price of a column on a part surely paid whose own price is named, as far as columns
    with it were seen to last; nothing where some did not last longer."""
    text = scope.question.text
    currency = evidence.study.currency or asked_currency(text)
    names = named_factors(text, [factor.name for factor in evidence.study.factors])
    part = asked_price(text, currency)
    if part is None:
        return []
    for name in names:
        varied, times = varied_by(evidence, name), least_times(matches(evidence, scope, name))
        better = better_seen(evidence, scope, name)
        if varied is None or not times or not is_presence(name, varied.levels) or is_absent(better):
            continue
        least = _in_currency(bound(part / (float(times) - 1), 2, UP), currency)
        amount = _in_currency(stated(part), currency)
        seen = f"{SEEN} columns {at_level(name, better, varied.levels)} lasted at least {times} times as long"
        pays = f"so that one of {amount} for each column pays where a column costs more than {least}"
        return [f"{seen}, {pays}; no price of a column is stated"]
    return []


def _used_up(evidence: Evidence, scope: Scope, groups: Iterable[str]) -> str:
    """Return ` (75 h on A with guard, 24 to 34 h on A)`: when columns passed their first limit, by group."""
    said = []
    for group in groups:
        failed = failed_before(scope.usable_lives(evidence, group, every_limit=True), inf)
        if failed:
            said.append(f"{told_together(failed)} on {group}")
    return f" ({listed(said)})" if said else ""


def overlapping(one: CostRatio) -> bool:
    """Return whether what use costs on one group may be what it costs on the other, each taken by itself."""
    return any(
        (each.value is None or (other.low or 0.0) <= each.value <= (other.high or inf))
        and (each.low or 0.0) < (other.high or inf)
        and (other.low or 0.0) < (each.high or inf)
        for each, other in ((one.subject.each, one.against.each), (one.against.each, one.subject.each))
    )


DEARER = 1.2
"""Ratio of prices from which on it is said how much longer the dearer columns must last: below it most lives
are not known well enough to tell."""


def _needed_words(ratios: Sequence[CostRatio]) -> list[str]:
    """Return how much longer the dearer columns must last to cost less, where they are not seen to."""
    needed: dict[str, list[tuple[str, str]]] = {}
    for one in ratios:
        dear, other = sorted((one.subject, one.against), key=lambda cost: -cost.price)
        times = dear.price / other.price
        pays = one.verdict == ("less" if dear is one.subject else "more")
        if not pays and times >= DEARER:
            needed.setdefault(dear.group, []).append((other.group, stated(float(f"{times:.2g}"))))
    said = []
    for dear_group, others in needed.items():
        lead = f"{columns_of(dear_group)} cost less to use"
        if len(ratios) == 1:
            said.append(f"{lead} only where they last more than {others[0][1]} times as long")
            continue
        each = (
            f"than {columns_of(group)} where they last more than {times} times as long"
            for group, times in others
        )
        said.append(f"{lead} {listed(each)}")
    return said


def _lacking(scope: Scope, known: Mapping[str, Cost], unpriced: Sequence[str]) -> str:
    """Return what a comparison of costs lacks."""
    if len(scope.groups) < 2:
        return "no other type was tested to compare it with"
    if unpriced:
        return f"no price is stated for {listed((columns_of(group) for group in unpriced), 'or')}"
    of = "no type" if not known else f"{columns_of(next(iter(known)))} alone"
    return f"a life that a cost can be had of is known of {of}"


ALTERNATIVE = re.compile(r",\s*or\b(.*)", re.IGNORECASE | re.DOTALL)
"""What `is A worth its price, or should we go to B?` offers in the place of yes."""


def _as_priced(evidence: Evidence, known: Mapping[str, Cost]) -> str:
    """Return by which lives costs are, and what they are in where the study names no currency; else it stands
    with each of them.

    Who replaces columns as early as is advised pays more than by their typical lives.
    """
    typical = ", by typical lives" if any(one.each.value is not None for one in known.values()) else ""
    return typical + ("" if evidence.study.currency else ", in the currency of the prices")


def _reply(evidence: Evidence, points: Sequence[Point], scope: Scope, ratios: Sequence[CostRatio]) -> str:
    """Return `Yes: ` where use costs less on every pair, `No: ` where more; nothing where it is open.

    Of two courses that the question offers, the one that pays is named: yes would answer neither.
    """
    verdicts = {one.verdict for one in ratios}
    if verdicts not in ({"less"}, {"more"}):
        return ""
    firm = all(one.strength == "shown" for one in ratios)
    if ALTERNATIVE.search(scope.question.text) is None:
        word = "Yes" if verdicts == {"less"} else "No"
        return f"{word}: " if firm else f"{word}, as far as these data tell: "
    pays = ("pays" if firm else "seems to pay") if verdicts == {"less"} else "does not pay"
    if verdicts == {"more"} and not firm:
        pays = "seems not to pay"
    factors = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    subjects = dict.fromkeys(one.subject.group for one in ratios)
    subject = f"the {factors[0]}" if factors else f"use of {listed(columns_of(one) for one in subjects)}"
    instead = _cheaper_still(_offered(evidence, points, scope, ratios)) if verdicts == {"less"} else ""
    return f"{instead}; {subject} {pays}, too: " if instead else f"{subject} {pays}: "


def _cheaper_still(found: Sequence[CostRatio]) -> str:
    """Return `go to the C columns, which cost least`, where what is offered costs less than what pays;
    nothing where that is open.
    """
    if not found or {one.verdict for one in found} != {"less"}:
        return ""
    cost = "cost" if all(one.strength == "shown" for one in found) else "seem to cost"
    instead = dict.fromkeys(columns_of(one.subject.group) for one in found)
    return f"go to {listed(instead)}, which {cost} least"


def _offered(
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


def ratio_sentence(one: CostRatio, scope: Scope) -> str:
    """Return `an injection of 24 min costs 0.83 times (0.79 to 0.88) as much on A as on B: …`."""
    subject, against = columns_of(one.subject.group), columns_of(one.against.group)
    beside = listed(cost_words(cost) for cost in (one.subject, one.against))
    both = " and ".join(stated(round(cost.price, 2)) for cost in (one.subject, one.against))
    prices = f"at prices of {_in_currency(both, one.subject.currency)} a column"
    if not one.subject.currency:
        prices = f"in the currency of the prices ({both} a column)"
    if one.verdict == "open":
        less = f"costs less on {subject} than on {against}"
        return f"{CANNOT_TELL} whether {unit_of(scope)} {less}: {beside}, {prices}"
    times = f"{ratio_of(one.ratio)} times as much"
    return f"{unit_of(scope)} costs {times} on {subject} as on {against}: {beside}, {prices}"


def cost_words(cost: Cost) -> str:
    """Return `4.1 EUR (3.8 to 4.6) on silica C18`, `at most 3.7 EUR on polymer (5.9 EUR on P3, …)`."""
    if cost.others is not None:
        # One that was taken off sound bounds what it was watched for, and none of the others.
        most = _in_currency(bound(cost.each.high or 0.0, 3, UP), cost.currency)
        told = _in_currency(f"at most {bound(cost.others.high or 0.0, 3, UP)}", cost.currency)
        return f"{told} on {cost.group} ({most} {cost.watched_less})"
    amount, bracket, ends = ratio_of(cost.each).partition(" (")
    if cost.each.value is None and cost.each.low is None and cost.each.high:
        # A bare bound in two figures would be dearer by up to a tenth.
        amount, bracket, ends = f"at most {bound(cost.each.high, 3, UP)}", "", ""
    return f"{_in_currency(amount, cost.currency)}{bracket}{ends} on {cost.group}"


def _in_currency(amount: str, currency: str) -> str:
    return with_unit(amount, currency) if currency else amount


def unpriced_groups(evidence: Evidence, scope: Scope) -> tuple[str, ...]:
    """Return the groups whose price a question about cost wants, and the study does not state."""
    if not read_question(scope.question.text, evidence.study.groups).cost:
        return ()
    return tuple(g for g in scope.groups if not all(c.price for c in evidence.study.replicates(g)))


def cost_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say what use costs on the groups that a question about cost is about; where none is asked, on each.

    Whoever states prices wants to see where they go. What follows of them is said only where it is asked.
    """
    asks = read_question(scope.question.text, evidence.study.groups)
    if not asks.cost:
        if not scope.named and (asks.choice or asks.lasting or not asks.narrow):
            yield from _costs_beside(evidence, points, scope)
        return
    ratios = cost_ratios(evidence, points, scope)
    for one in (*ratios, *_offered(evidence, points, scope, ratios)):
        pair = (one.subject.group, one.against.group)
        links = tuple(
            link for group in pair for link in because.of_declines(evidence, group, *scope.deciding)
        )
        yield Claim(
            scope.claim_id("cost", *pair), run_together([ratio_sentence(one, scope)]), one.strength, links
        )


def _costs_beside(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say what use costs on each group of which prices are stated, or that lives do not tell."""
    priced = [g for g in scope.groups if all(c.price for c in evidence.study.replicates(g))]
    known = costs(evidence, scope)
    if not priced or not scope.deciding[1]:
        return
    told = [known[group] for group in priced if group in known]
    vague = [group for group in priced if group not in known]
    said = []
    if told:
        said.append(f"{unit_of(scope)} costs {listed(map(cost_words, told))}{_as_priced(evidence, known)}")
    if vague:
        whose = listed(columns_of(group) for group in vague)
        lives = f"the {'life' if len(vague) == 1 else 'lives'} of {whose}"
        known_well = f"{'is' if len(vague) == 1 else 'are'} not known well enough to say what"
        said.append(f"{lives} {known_well} {'their use' if told else f'{unit_of(scope)} of use'} costs")
    strengths = [bounded("shown", points, (cost.group,)) for cost in told] or ["not settled"]
    links = tuple(link for group in priced for link in because.of_declines(evidence, group, *scope.deciding))
    weakest = min(strengths, key=STRENGTHS.index)
    yield Claim(scope.claim_id("cost", "each"), run_together(said), weakest, links)
