"""What a question about cost gets first: what use costs on each type, where it costs less, what would make
a dearer type pay.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: replies.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from math import inf, sqrt

from lyewitness.decline.usable_lives import failed_before, told_together
from lyewitness.findings.answer.cost_claims import as_priced, cost_words, in_currency, ratio_sentence, unit_of
from lyewitness.findings.answer.costs import (
    ALTERNATIVE,
    Cost,
    CostRatio,
    cost_ratios,
    costs,
    offered,
    overlapping,
    parts_beside,
    unpriced_groups,
)
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import asked_currency, asked_price, read_question
from lyewitness.findings.answer.side_by_side import (
    FEW,
    SEEN,
    better_seen,
    least_times,
    matches,
    varied_by,
)
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_level, is_absent, is_presence
from lyewitness.study.questions import named_factors
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import UP, bound, ratio_of, stated
from lyewitness.words.phrases import CANNOT_TELL, columns_of, hours, listed, mid_sentence


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
        needed = _needed_words(scope, ratios) if asks.yes_or_no or PAYS.search(scope.question.text) else []
        lead = _is_dear(scope.question.text, known) or _is_worth(scope.question.text, ratios)
        return [
            f"{lead}{unit_of(scope)} costs {each}{as_priced(evidence, known)}; {apart or where}",
            *needed,
        ]
    said = less or [ratio_sentence(one, scope) for one in ratios]
    if ratios and all(one.verdict != "open" for one in ratios):
        # Ratio, its interval and the prices stand in the claims; who asks wants to see what each one costs.
        each = listed([*(cost_words(known[group]) for group in told), *rest])
        said = [f"{unit_of(scope)} costs {each}{as_priced(evidence, known)}"]
        if len(ratios) == 1 and overlapping(ratios[0]):
            # By what each costs nobody would see that one costs more than the other.
            (one,) = ratios
            more = f"costs {ratio_of(one.ratio)} times as much", "as"
            if one.ratio.value is None:
                # A bare bound of the ratio nobody finds in the bounds of what each costs.
                more = f"{'costs' if one.strength == 'shown' else 'seems to cost'} {one.verdict}", "than"
            costs_it, than = more
            beside = f"on {columns_of(one.subject.group)} {than} on {columns_of(one.against.group)}"
            said = [f"{unit_of(scope)} {costs_it} {beside}: {each}{as_priced(evidence, known)}"]
            if asks.choice and not asks.yes_or_no:
                cheap = one.against if one.verdict == "more" else one.subject
                take = "take" if one.strength == "shown" else "for now prefer"
                said = [f"{take} {columns_of(cheap.group)} for what use costs: {said[0]}"]
        rest = []
    said += [] if less else _needed_words(scope, ratios)
    if asks.yes_or_no and ratios:
        said[0] = f"{_reply(evidence, points, scope, ratios)}{said[0]}"
    elif not ratios and (asks.yes_or_no or len(scope.groups) > 1):
        which = "" if asks.yes_or_no else " where use costs less"
        said.append(f"{CANNOT_TELL}{which}: {_lacking(scope, known, unpriced)}")
    if rest:
        said.append(f"{unit_of(scope)} costs {listed(rest)}{as_priced(evidence, known)}")
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
    parts = parts_beside(evidence, scope)
    added = dict.fromkeys(in_currency(stated(price), evidence.study.currency) for price in parts.values())
    counted_in = (
        f", the {listed(added)} of one {factor.name} for each column counted" if factor and added else ""
    )
    other_limits = any(
        scope.failed_sooner(evidence, cost.group) for one in ratios for cost in (one.subject, one.against)
    )
    used = _used_up(evidence, scope, told)
    first = f"each is counted up to whichever limit came first{used}" if other_limits else ""
    said = f"{SEEN} {unit_of(scope)} cost {less} {than}: {each}"
    return [f"{said}{as_priced(evidence, {})}{counted_in}", *([first] if first else []), FEW]


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
        least = in_currency(bound(part / (float(times) - 1), 3, UP), currency)
        amount = in_currency(stated(part), currency)
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


DEARER = 1.2
"""Ratio of prices from which on it is said how much longer the dearer columns must last: below it most lives
are not known well enough to tell."""


MOST_NEEDED = 2
"""Types against each of which it is told how long a dearer one must last; of more the factors alone."""


def _needed_words(scope: Scope, ratios: Sequence[CostRatio]) -> list[str]:
    """Return how much longer the dearer columns must last to cost less, where they are not seen to."""
    needed: dict[str, list[tuple[str, str]]] = {}
    factors: dict[str, list[float]] = {}
    for one in ratios:
        dear, other = sorted((one.subject, one.against), key=lambda cost: -cost.price)
        times = dear.price / other.price
        pays = one.verdict == ("less" if dear is one.subject else "more")
        if not pays and times >= DEARER:
            longer = f"{stated(float(f'{times:.2g}'))} times as long{_beyond(scope, dear, other)}"
            needed.setdefault(dear.group, []).append((other.group, longer))
            factors.setdefault(dear.group, []).append(times)
    said = []
    for dear_group, others in needed.items():
        lead = f"{columns_of(dear_group)} cost less to use"
        if len(ratios) == 1:
            said.append(f"{lead} only where they last more than {others[0][1]}")
            continue
        if len(others) > MOST_NEEDED:
            least, most = (
                stated(float(f"{end:.2g}")) for end in (min(factors[dear_group]), max(factors[dear_group]))
            )
            said.append(f"{lead} than the others where they last more than {least} to {most} times as long")
            continue
        each = (f"than {columns_of(group)} where they last more than {longer}" for group, longer in others)
        said.append(f"{lead} {listed(each)}")
    return said


def _beyond(scope: Scope, dear: Cost, other: Cost) -> str:
    """Return ` (99 h)`, from which life on the dearer column pays; empty where nobody knows."""
    if other.each.value is None or other.by_columns:
        return ""
    run = scope.question.run_time_min
    return f" ({hours(dear.price * (run / 60 if run else 1.0) / other.each.value)})"


def _lacking(scope: Scope, known: Mapping[str, Cost], unpriced: Sequence[str]) -> str:
    """Return what a comparison of costs lacks."""
    if len(scope.groups) < 2:
        return "no other type was tested to compare it with"
    if unpriced:
        return f"no price is stated for {listed((columns_of(group) for group in unpriced), 'or')}"
    of = "no type" if not known else f"{columns_of(next(iter(known)))} alone"
    return f"a life that a cost can be had of is known of {of}"


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
    instead = _cheaper_still(offered(evidence, points, scope, ratios)) if verdicts == {"less"} else ""
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
