"""What use costs, in words: of one group, of one beside another, and as claims.

In: `Cost`s, `CostRatio`s. Out: clauses, `Claim`s.
"""

from collections.abc import Iterator, Mapping, Sequence

from lyewitness.findings import because
from lyewitness.findings.answer.costs import Cost, CostRatio, cost_ratios, costs, offered
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.audit.points import STRENGTHS, Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim
from lyewitness.words.numbers import UP, bound, ratio_of, rounded, stated, with_unit
from lyewitness.words.phrases import CANNOT_TELL, columns_of, listed, run_together


def unit_of(scope: Scope) -> str:
    """Return what the cost is of: `column use per injection of 24 min`, `an hour of column use`.

    Eluent, instrument and labour are no part of it.
    """
    run = scope.question.run_time_min
    if run:
        return f"column use per injection of {with_unit(stated(run), 'min')}"
    return "an hour of column use"


def as_priced(evidence: Evidence, known: Mapping[str, Cost]) -> str:
    """Return by which lives costs are, and what they are in where the study names no currency; else it stands
    with each of them.

    Who replaces columns as early as is advised pays more than by their typical lives.
    """
    typical = ", by typical lives" if any(one.each.value is not None for one in known.values()) else ""
    return typical + ("" if evidence.study.currency else ", in the currency of the prices")


def ratio_sentence(one: CostRatio, scope: Scope) -> str:
    """Return `an hour of column use costs 0.83 times (0.79 to 0.88) as much on A as on B: …`."""
    subject, against = columns_of(one.subject.group), columns_of(one.against.group)
    beside = listed(cost_words(cost) for cost in (one.subject, one.against))
    both = " and ".join(stated(round(cost.price, 2)) for cost in (one.subject, one.against))
    prices = f"at prices of {in_currency(both, one.subject.currency)} a column"
    if not one.subject.currency:
        prices = f"in the currency of the prices ({both} a column)"
    if one.verdict == "open":
        less = f"costs less on {subject} than on {against}"
        return f"{CANNOT_TELL} whether {unit_of(scope)} {less}: {beside}, {prices}"
    times = f"{ratio_of(one.ratio)} times as much"
    return f"{unit_of(scope)} costs {times} on {subject} as on {against}: {beside}, {prices}"


def cost_words(cost: Cost) -> str:
    """Return `4.1 EUR (3.8 to 4.6) on silica C18`, `at most 3.7 EUR on polymer (up to 5.9 EUR on P3, …)`."""
    if cost.others is not None:
        # One that failed, or was taken off sound, bounds what it was watched for, and none of the others.
        most = in_currency(bound(cost.each.high or 0.0, 3, UP), cost.currency)
        told = in_currency(f"at most {bound(cost.others.high or 0.0, 3, UP)}", cost.currency)
        alone = cost.watched_less.removeprefix("on ").partition(",")[0]
        return f"{told} on {cost.group} but for {alone} (at most {most} {cost.watched_less})"
    if cost.by_columns and cost.each.value is not None:
        alone = listed(rounded(one, 2) for one in cost.by_columns)
        return f"{in_currency(alone, cost.currency)}, column by column, on {cost.group}"
    amount, bracket, ends = ratio_of(cost.each).partition(" (")
    if cost.each.value is None and cost.each.low is None and cost.each.high:
        # A bare bound in two figures would be dearer by up to a tenth.
        amount, bracket, ends = f"at most {bound(cost.each.high, 3, UP)}", "", ""
    return f"{in_currency(amount, cost.currency)}{bracket}{ends} on {cost.group}"


def in_currency(amount: str, currency: str) -> str:
    """Return `4.1 EUR`, or the number alone where the study names no currency."""
    return with_unit(amount, currency) if currency else amount


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
    for one in (*ratios, *offered(evidence, points, scope, ratios)):
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
        said.append(f"{unit_of(scope)} costs {listed(map(cost_words, told))}{as_priced(evidence, known)}")
    if vague:
        whose = listed(columns_of(group) for group in vague)
        lives = f"the {'life' if len(vague) == 1 else 'lives'} of {whose}"
        known_well = f"{'is' if len(vague) == 1 else 'are'} not known well enough to say what"
        said.append(f"{lives} {known_well} {'their use' if told else unit_of(scope)} costs")
    strengths = [bounded("shown", points, (cost.group,)) for cost in told] or ["not settled"]
    links = tuple(link for group in priced for link in because.of_declines(evidence, group, *scope.deciding))
    weakest = min(strengths, key=STRENGTHS.index)
    yield Claim(scope.claim_id("cost", "each"), run_together(said), weakest, links)
