"""Which type to take, for how long, or at which level of what was varied; and that the data do not choose.

In: `Evidence`, a `Scope`, a `Ranking`, the claims. Out: `Claim`s, never stronger than those behind them.
"""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor
from statistics import median

from lyewitness.decline.deciding import key_of
from lyewitness.decline.usable_lives import at_risk, told_together
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.costs import cost_ratios
from lyewitness.findings.answer.factor_replies import better_level, part_about
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking
from lyewitness.findings.answer.reading_questions import Span, read_question
from lyewitness.findings.answer.replacing import replacement
from lyewitness.findings.answer.side_by_side import (
    SEEN,
    all_apart,
    better_seen,
    lasted_longest,
    types_apart,
    varied_by,
)
from lyewitness.findings.answer.use_claims import (
    Held,
    asked_spans,
    held,
    short_of,
    span_words,
    watched_less,
)
from lyewitness.findings.audit.points import STRENGTHS, Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.study.factor_words import at_level, is_presence
from lyewitness.study.questions import named_factors
from lyewitness.words.metrics import the_metric
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    down,
    hours,
    kind_of,
    listed,
    mid_sentence,
    run_together,
    share_of,
)

PREFERRING, PREFERRED_TO = ("take", "for now prefer"), "prefer to "
"""What the table of advice says of a group that others do not outlast."""


def dear_and_cheap(
    evidence: Evidence, points: Sequence[Point], scope: Scope
) -> tuple[frozenset[str], frozenset[str]]:
    """Return the groups whose use costs more than another's, and less, where the question is about cost.

    Then the longer life alone is no reason to take a group.
    """
    if not read_question(scope.question.text, evidence.study.groups).cost:
        return frozenset(), frozenset()
    told = [one for one in cost_ratios(evidence, points, scope) if one.verdict != "open"]
    pairs = [(x.subject, x.against) if x.verdict == "more" else (x.against, x.subject) for x in told]
    return frozenset(dear.group for dear, _ in pairs), frozenset(cheap.group for _, cheap in pairs)


def cost_is_open(evidence: Evidence, points: Sequence[Point], scope: Scope) -> bool:
    """Return whether a question about cost has prices and lives, and these tell no group the cheaper one."""
    if not read_question(scope.question.text, evidence.study.groups).cost:
        return False
    found = cost_ratios(evidence, points, scope)
    return bool(found) and all(one.verdict == "open" for one in found)


def do_for_span(evidence: Evidence, points: Sequence[Point], scope: Scope) -> dict[str, tuple[str, Strength]]:
    """Return what to do with each group for the span that is asked about, as the choice has it."""
    if not read_question(scope.question.text, evidence.study.groups).choice:
        return {}
    lasting, failing = _lasting(evidence, scope)
    found: dict[str, tuple[str, Strength]] = {}
    if not lasting:
        failing, near = _nearest(evidence, scope)
        found = {one.group: (f"comes nearest to {one.span.words}", "indicated") for one in near if failing}
    for one in (*failing, *lasting):
        strength = bounded("shown" if one in failing else one.verdict, points, (one.group,))
        do = f"do not rely on it for {one.span.words}" if one in failing else f"prefer for {one.span.words}"
        if strength != "not settled":
            found[one.group] = do, strength
    return found


def type_taken(evidence: Evidence, scope: Scope, ranking: Ranking, by_level: bool) -> str:
    """Return the type that is advised before all others; empty for none, or where a level is advised."""
    if by_level or len(scope.groups) < 2:
        return ""
    lasting, _ = _lasting(evidence, scope)
    for_span = {one.group for one in lasting}
    preferred = {pairing.first for pairing in ranking.pairings if pairing.verdict == "longer"}
    alone = next((own.pop() for own in (for_span, preferred) if len(own) == 1), "")
    return ranking.longest or lasted_longest(evidence, scope) or alone


def which_type(
    evidence: Evidence,
    scope: Scope,
    ranking: Ranking,
    claims: Sequence[Claim],
    dear: Container[str],
    priced_open: bool,
    by_any: Sequence[Pairing] = (),
) -> Claim | None:
    """Say which group to take, or that these data give no reason to prefer one.

    The use of the groups in `dear` costs more than that of another, where that is the question; that nobody
    can tell which costs less is `priced_open`. `by_any`: what whichever limit is passed first tells of pairs
    that the metric which decides leaves open.
    """
    if len(scope.groups) < 2:
        return None
    pairs = {
        scope.claim_id(kind, one.first, one.second) for one in ranking.pairings for kind in ("pair", "any")
    }
    factors = {scope.claim_id("factor", one.effect.factor, one.effect.level) for one in ranking.factors}
    # Of the pairs of a design the factors tell.
    links = because.of_claims(claim for claim in claims if claim.id in pairs | factors)
    identity = scope.claim_id("do", "choose")
    # Beside `we cannot tell which costs less`, what lasts longer is no choice.
    by_life = ""
    if priced_open:
        two = len(scope.compared) == 2
        less = "less" if two else "least"
        text = f"{CANNOT_TELL} which of {listed(scope.compared)} costs {less} to use"
        lives = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
        if lives:
            longer = listed(
                order_words.longer(scope, p.first, [p.second], p.strength == "shown") for p in lives
            )
            text += f"; {longer}, but whether that is worth their price these data do not tell"
            return Claim(identity, run_together([text]), "not settled", links)
    if by_any and len(by_any) == sum(one.verdict == "longer" for one in ranking.pairings):
        by_life = f"{order_words.BY_ANY}, "
    if ranking.longest:
        strength = ranking.strength_of(ranking.longest)
        if ranking.longest in dear:
            text = (
                f"weigh life against price: {columns_of(ranking.longest)} last longest, and cost more to use"
            )
            return Claim(identity, run_together([text]), strength, links)
        take = PREFERRING[0 if strength == "shown" else 1]
        if not by_life and scope.failed_sooner(evidence, ranking.longest):
            by_life = f"by {the_metric(*scope.deciding)} alone, "
        but = short_of(evidence, scope, ranking.longest)
        though = f"; they last longest, but {but}" if but else ""
        return Claim(
            identity,
            run_together([f"{by_life}{take} {columns_of(ranking.longest)}{though}"]),
            strength,
            links,
        )
    if ranking.shortest:
        strength = ranking.strength_of(ranking.shortest)
        avoid = "avoid" if strength == "shown" else "rather avoid"
        text = f"{by_life}{avoid} {columns_of(ranking.shortest)}; between the others these data do not choose"
        return Claim(identity, run_together([text]), strength, links)
    if all(pairing.verdict == "alike" for pairing in ranking.pairings):
        text = f"choose between {listed(scope.groups)} by something else than their life"
        return Claim(identity, run_together([text]), ranking.strength_of(scope.groups[0]), links)
    settled = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
    best = "" if priced_open or scope.named or len(scope.asked) > 1 else lasted_longest(evidence, scope)
    if best:
        others = listed(
            columns_of(p.first if p.second == best else p.second)
            for p in ranking.open_pairs
            if best in p.groups
        )
        text = f"{PREFERRING[1]} {columns_of(best)}: {SEEN} they lasted longest"
        text += f"; against {others} that is not settled" if others else ""
        return Claim(identity, run_together([text]), "not settled", links)
    if settled:
        mixed = by_any and not by_life
        # What decides tells of some pairs, what ended the columns of the others.
        leads = [f"{order_words.BY_ANY} " if mixed and pair in by_any else "" for pair in settled]
        said = listed(
            f"{lead}prefer {columns_of(pair.first)} to {columns_of(pair.second)}"
            for lead, pair in sorted(zip(leads, settled, strict=True), key=lambda one: one[0])
        )
        strength = min((pairing.strength for pairing in settled), key=STRENGTHS.index)
        best_now = None if priced_open else best_for_now(evidence, scope, ranking)
        if best_now is not None and best_now.group not in dear:
            beside = f"; {mid_sentence(said)}" if strength == "shown" else ""
            return Claim(identity, run_together([_best_words(best_now) + beside]), "not settled", links)
        return Claim(
            identity,
            run_together([f"{by_life}{said}; beyond that these data do not choose"]),
            strength,
            links,
        )
    # Of groups that the question leaves out nobody chooses.
    two = len(scope.compared) == 2
    cheaper = [group for group in scope.compared if group not in dear]
    if two and len(cheaper) == 1:
        which = order_words.which(scope, many=False)
        text = f"{PREFERRING[1]} {columns_of(cheaper[0])} for what use costs; {which} these data do not tell"
        own = (one for one in claims if one.id.startswith(f"{scope.claim_id('cost')}-"))
        return Claim(identity, run_together([text]), "indicated", (*links, *because.of_claims(own)))
    apart = (
        types_apart(evidence, scope, scope.compared[0], scope.compared[1], 1)
        if two and not scope.named
        else None
    )
    if apart is not None and not read_question(scope.question.text, evidence.study.groups).cost:
        lasted = f"{SEEN} they lasted longer; of further ones that is not settled"
        text = f"{PREFERRING[1]} {columns_of(apart.longer)}: {lasted}"
        return Claim(identity, run_together([text]), "not settled", links)
    which = f"lasts {'longer' if two else 'longest'}"
    if read_question(scope.question.text, evidence.study.groups).cost and not dear:
        which = f"costs {'less' if two else 'least'} to use"
    elif scope.named:
        # Of a metric's course nobody asked who lasts longest.
        told = order_words.which(scope, not two, listed(scope.compared))
        text = f"do not choose by these data: {CANNOT_TELL} {told}"
        return Claim(identity, run_together([text]), "not settled", links)
    elif (best_now := best_for_now(evidence, scope, ranking)) is not None and best_now.group not in dear:
        return Claim(identity, run_together([_best_words(best_now)]), "not settled", links)
    leader, outlasted = _leader(evidence, scope)
    if leader and leader not in dear and not priced_open and not scope.named:
        text = f"{PREFERRING[1]} {columns_of(leader)}: {SEEN} each outlasted every "
        unsettled = [g for g in scope.compared if g != leader and f"{kind_of(g)} column" not in outlasted]
        against = listed(map(columns_of, unsettled))
        text += f"{listed(outlasted, 'and every')}; against {against} that is not settled"
        return Claim(identity, run_together([text]), "not settled", links)
    slower = "" if priced_open else _slower(evidence, scope, ranking)
    if slower and slower not in dear:
        running = evidence.standing.running
        pace = "so far they decline more slowly" if running else "they declined more slowly"
        text = f"{PREFERRING[1]} {columns_of(slower)}: {pace}; how long they last is open"
        return Claim(identity, run_together([text]), "not settled", links)
    text = f"do not choose by these data: {CANNOT_TELL} which of {listed(scope.compared)} {which}"
    return Claim(identity, run_together([text]), "not settled", links)


def _leader(evidence: Evidence, scope: Scope) -> tuple[str, list[str]]:
    """Return the one type whose every column outlasted every one of another, and that none outlasted; beside
    it which these others are, `B column`. Nothing where there are several."""
    apart = all_apart(evidence, scope)
    leaders = {one.longer for one in apart} - {one.shorter for one in apart}
    if len(leaders) != 1 or len(scope.compared) < 3:
        return "", []
    (leader,) = leaders
    behind = [f"{kind_of(one.shorter)} column" for one in apart if one.longer == leader]
    return (leader, behind) if len(behind) < len(scope.compared) - 1 else ("", [])


def _slower(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return which of two types declines more slowly, by themselves or at the level of a factor that parts
    them; empty where that is open."""
    if len(scope.compared) != 2:
        return ""
    alone = {one.slower for one in ranking.pairings if one.slower}
    levels = {
        (one.effect.factor, better_level(one))
        for one in ranking.factors
        if one.by_rate and one.verdict == "changes"
    }
    for group in scope.compared:
        columns = evidence.study.replicates(group)
        at = {
            (factor.name, factor.level_of(column)) for factor in evidence.study.factors for column in columns
        }
        parts = {name for name, _ in at if sum(of == name for of, _ in at) == 1}
        if group in alone or any(name in parts and (name, level) in at for name, level in levels):
            return group
    return ""


CLEARLY = 1.2
"""How many times as long the middle column of one type must have lasted as that of the next: less is within
what lives of one type differ by (common practice)."""


@dataclass(frozen=True, slots=True)
class BestForNow:
    """The type that did best in a test that settles no order."""

    group: str
    seen: str
    """`most of them outlasted the others`."""
    early: str
    """`one failed early (31 h)`; empty where none did."""
    steady: str
    """`no B column failed before 54 h`, of the type that lost none early; empty where that is the same."""

    @property
    def words(self) -> str:
        """Return what was seen, with what failed early."""
        return f"{self.seen}, but {self.early}" if self.early else self.seen


def best_for_now(evidence: Evidence, scope: Scope, ranking: Ranking) -> BestForNow | None:
    """Return the type of which most columns outlasted all of the others.

    None where none stands out, another is known to outlast it, or it is not lives that are asked about. Nor
    where most columns of another are not known to have failed: what did not fail outlasted them in nothing.

    Who must take one needs both: which lasted longest, and which lost none early.
    """
    if scope.named:
        return None
    by_group = {
        group: lives
        for group in scope.compared
        if len(lives := scope.usable_lives(evidence, group, every_limit=True)) >= ENOUGH_LIVES
    }
    if len(by_group) < 2:
        return None
    middle = {group: median(one.hours or one.low for one in lives) for group, lives in by_group.items()}
    held = {group: min(one.low for one in lives) for group, lives in by_group.items()}
    first, second, *_ = sorted(middle, key=lambda group: -middle[group])
    steady = max(held, key=lambda group: held[group])
    others = [one for group, lives in by_group.items() if group != first for one in at_risk(lives)]
    gone = all(
        2 * sum(one.high is not None for one in at_risk(lives)) > len(at_risk(lives))
        for group, lives in by_group.items()
        if group != first
    )
    # Of one of which it is unclear whether it failed nobody knows that it did while it was watched.
    beyond = max(one.high or max(one.low, one.decline.end_h or 0.0) for one in others)
    most = 2 * sum(one.low > beyond for one in by_group[first]) > len(by_group[first])
    if middle[first] < CLEARLY * middle[second] or not (gone and most) or ranking.beaten_by(first):
        return None
    # By the metric that decides alone none of them may have failed.
    otherwise = not scope.by_any and any(
        one.failed_by is not None and key_of(one.failed_by) != scope.deciding for one in others
    )
    by = f", {order_words.BY_ANY}" if otherwise else ""
    watched = ", as far as these were watched" if any(one.high is None for one in others) else ""
    early = min(by_group[first], key=lambda one: one.low)
    lost = steady != first and early.high is not None
    return BestForNow(
        first,
        f"most of them outlasted the others{watched}{by}",
        f"one failed early ({told_together([early])})" if lost else "",
        f"no {kind_of(steady)} column failed before {hours(down(held[steady]))}" if steady != first else "",
    )


def _best_words(best: BestForNow) -> str:
    """Return `for now prefer the A columns, with a spare at hand: …`."""
    spare = ", with a spare at hand" if best.early else ""
    told = f"for now prefer {columns_of(best.group)}{spare}: {SEEN} {best.seen}"
    return told + (f"; {best.steady}" if best.steady else "")


ENOUGH_LIVES = 2
"""Columns from which on one is the middle one, and one the first to fail."""


def _with_a_change(
    evidence: Evidence, points: Sequence[Point], scope: Scope, groups: Iterable[str], span: Span
) -> str:
    """Return `; with one change of column, A before 55 h`, of types that need two for a span."""
    told = {group: replacement(evidence, points, scope, group).safe_h for group in groups}
    when = [
        f"{group} before {hours(safe)}" for group, safe in told.items() if safe and 2 * safe >= span.hours
    ]
    if when:
        return f"; with one change of column, {listed(when, 'or')}"
    # What a further column may do is not known so well; what those tested did is.
    seen = {group: scope.usable_lives(evidence, group, every_limit=True) for group in told}
    least = {group: min(one.low for one in at_risk(lives)) for group, lives in seen.items() if lives}
    none = [
        f"{_changed_at(span.hours - low, low)} ({group})"
        for group, low in least.items()
        if 2 * low >= span.hours
    ]
    return f"; changed once, {listed(none, 'or')}, no column tested would have failed" if none else ""


def _preferred(order: Sequence[Pairing]) -> str:
    """Return `A or B to C`: what outlasts one type stands together."""
    outlasting: dict[str, list[str]] = {}
    for pairing in order:
        outlasting.setdefault(pairing.second, []).append(pairing.first)
    by_others: dict[tuple[str, ...], list[str]] = {}
    for second, own in outlasting.items():
        by_others.setdefault(tuple(own), []).append(second)
    return listed(f"{listed(own, 'or')} to {listed(some, 'or')}" for own, some in by_others.items())


def which_level(evidence: Evidence, scope: Scope, ranking: Ranking, claims: Sequence[Claim]) -> Claim | None:
    """Say at which level of a factor that is asked about to run columns; None where nothing speaks for one.

    What every column tested showed is a reason for now where nothing is settled.
    """
    names = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    identity = scope.claim_id("do", "choose")
    asks = read_question(scope.question.text, evidence.study.groups)
    for name in () if scope.named else names:
        varied = varied_by(evidence, name)
        asked = asks.cost or part_about(scope.question.text, name)
        if varied is None or len(varied.levels) != 2 or not asked:
            continue
        settled = [
            one
            for one in ranking.factors
            if one.effect.factor == name and one.verdict == "changes" and not one.by_rate
        ]
        seen_better = better_seen(evidence, scope, name)
        better = better_level(settled[0]) if settled else seen_better
        if not better:
            continue
        strength: Strength = settled[0].strength if settled else "not settled"
        for_now = "" if strength == "shown" else "for now "
        own = scope.claim_id("factor", name, settled[0].effect.level) if settled else ""
        links = because.of_claims(claim for claim in claims if claim.id == own)
        if not links:
            columns = (column for column in varied.of if evidence.study.column(column).group in scope.groups)
            keys = [evidence.decline(column, *scope.single) for column in columns]
            links = tuple(because.of_decline(decline) for decline in keys if decline is not None)
        run = f"run columns {at_level(name, better, varied.levels)}"
        if not is_presence(name, varied.levels):
            run = f"{'take' if strength == 'shown' else 'prefer'} {better}"
        return Claim(identity, run_together([f"{for_now}{run}"]), strength, links)
    return None


def _known_for_spans(evidence: Evidence, scope: Scope) -> list[Held]:
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    return [one for one in found if one is not None]


def _lasting(evidence: Evidence, scope: Scope) -> tuple[list[Held], list[Held]]:
    """Return what lasts each span that is asked about, and what surely does not, where both are found."""
    known = _known_for_spans(evidence, scope)
    failing = [one for one in known if one.failed or one.typical]
    gone = {one.group for one in failing}
    lasting = [one for one in known if one.verdict in ("shown", "indicated") and one.group not in gone]
    return (lasting, failing) if lasting and failing else ([], [])


def for_span(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Say which groups to take for the span that is asked about, where some last it and others do not."""
    lasting, failing = _lasting(evidence, scope)
    if not lasting:
        return _for_no_span(evidence, points, scope, ranking, claims)
    strength: Strength = min(
        (bounded(one.verdict, points, (one.group,)) for one in lasting), key=STRENGTHS.index
    )
    if strength == "not settled":
        return None
    take = listed(dict.fromkeys(columns_of(one.group) for one in lasting))
    leave = listed(dict.fromkeys(columns_of(one.group) for one in failing), "or")
    for_now = "" if strength == "shown" else "for now "
    text = f"for {span_words(lasting[0].span)}, {for_now}prefer {take}, and do not rely on {leave}"
    return _span_claim(scope, text, strength, (*lasting, *failing), claims)


def _span_claim(
    scope: Scope, text: str, strength: Strength, of: Sequence[Held], claims: Sequence[Claim]
) -> Claim:
    spans = {scope.claim_id("span", one.group, one.span.words) for one in of}
    links = because.of_claims(claim for claim in claims if claim.id in spans)
    return Claim(scope.claim_id("do", "choose"), run_together([text]), strength, links)


def _nearest(evidence: Evidence, scope: Scope) -> tuple[list[Held], list[Held]]:
    """Return what does not last the one span that is asked about, and that of which most columns did."""
    known = _known_for_spans(evidence, scope)
    if len({one.span for one in known}) != 1 or len(known) < 2:
        return [], []
    near = [one for one in known if 2 * one.surely > len(one.lives)]
    return [one for one in known if one not in near and (one.failed or one.typical)], near


def _for_no_span(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Say on which groups not to rely for one span that none is known to last, and which comes nearest.

    What stands against taking that one is told with it; None where no group surely fails it.
    """
    failing, near = _nearest(evidence, scope)
    if not failing:
        return None
    known = _known_for_spans(evidence, scope)
    span = span_words(known[0].span)
    text = f"for {span}, do not rely on {listed((columns_of(one.group) for one in failing), 'or')}"
    if len(failing) == len(known):
        text = f"for {span}, rely on none of {listed(one.group for one in failing)}"
    # What was watched for no longer, or passed a limit soon after, is less near than what was not.
    for one in [one for one in near if not one.margin] or near:
        short = watched_less(one.lives, (), one.span.hours)
        lasted = share_of(one.surely, one.surely if short else len(one.lives), "column")
        as_long = " that were watched as long" if short else ""
        alone = len(one.lives) == 1 and not short
        text += (
            f"; the one {kind_of(one.group)} column lasted it, which says little of the next"
            if alone
            else f"; {columns_of(one.group)} come nearest ({lasted}{as_long} lasted it)"
        )
    order = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
    if not read_question(scope.question.text, evidence.study.groups).choice:
        # Who asks whether one column holds does not ask which type to take.
        text += "; keep another at hand" if near else ""
    elif order:
        text += f"; by their lives, prefer {_preferred(order)}"
        text += _with_a_change(
            evidence, points, scope, dict.fromkeys(one.first for one in order), known[0].span
        )
    elif near:
        which = order_words.which(scope, len(scope.compared) > 2, listed(scope.compared))
        text += f", but {CANNOT_TELL} {which}"
    return _span_claim(scope, text, "indicated", known, claims)


def _changed_at(begin_h: float, end_h: float) -> str:
    """Return `between 32 and 68 h`: earlier the second column would not reach the end; `at 50 h` where both
    halves are all that was held."""
    begin, end = ceil(begin_h), floor(end_h)
    return f"between {begin} and {hours(end)}" if begin < end else f"at {hours(end)}"
