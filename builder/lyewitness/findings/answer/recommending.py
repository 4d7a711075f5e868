"""What to do or to mind: each from claims, never stronger than they are, and at these conditions only.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`, the claims. Out: `Claim`s, most important first.

When to replace a column, by what decides the question, one metric or any limit: `Replacement`s.
"""

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

from lyewitness.decline.deciding import key_of
from lyewitness.decline.factors import levels_within
from lyewitness.decline.group_lives import WATCHED_ALIKE
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline, FirstFailure
from lyewitness.decline.usable_lives import UsableLife, next_column_h, told_together
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.as_asked import elsewhere
from lyewitness.findings.answer.costs import cost_ratios, unpriced_groups
from lyewitness.findings.answer.course_replies import without_limit
from lyewitness.findings.answer.factor_replies import better_level, part_about
from lyewitness.findings.answer.first_to_pass import first_passed
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.answer.side_by_side import (
    SEEN,
    better_seen,
    lasted_longest,
    types_apart,
    varied_by,
)
from lyewitness.findings.answer.starting_plates import fewer_plates
from lyewitness.findings.answer.use_claims import (
    Held,
    asked_spans,
    concerned,
    failures,
    held,
    short_of,
    span_words,
    watched_less,
)
from lyewitness.findings.answer.ways_of_failing import asks_ways
from lyewitness.findings.audit.points import STRENGTHS, Point, bearing_on, bounded, brief
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.retention_by_ph import HARMLESS_PH
from lyewitness.findings.records import Claim, GroupAdvice, Strength
from lyewitness.study.factor_words import at_all, at_level, is_presence
from lyewitness.study.questions import named_factors
from lyewitness.study.records import Study
from lyewitness.words.lives import is_known, tell
from lyewitness.words.metrics import any_of, the_metric
from lyewitness.words.numbers import DASH, DOWN, THIN_SPACE, as_printed, bound, fixed, stated, with_unit
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
    spelled,
)

LITTLE = 0.5
"""A bound below this share of the shortest life is not given: who follows it throws away more than half of
each column, and it tells of the scatter that is not known, not of the columns."""
MOST_LETTERS = 120
"""Letters of a finding that an advice repeats: a longer one stands in the audit, to which it is linked."""
FAR_BELOW = 0.75
"""Of the shortest life: a bound below this share wonders a reader, and is explained."""
ENOUGH = 3
"""Columns a group of which the audit asks for no more."""
PREFERRING, PREFERRED_TO = ("take", "for now prefer"), "prefer to "
"""What the table of advice says of a group that others do not outlast."""
AS_IF = "injections are counted as if the method ran at the conditions of the stress throughout"


@dataclass(frozen=True, slots=True)
class Replacement:
    """When to replace the columns of one group."""

    group: str
    lives: tuple[UsableLife, ...]
    """By what decides, one a column."""
    safe_h: float | None
    """Hours after which to replace at the latest, rounded down; None where none follows."""
    words: str
    """What to do, a clause, with how it comes about."""
    unknown: tuple[str, ...] = ()
    """The columns whose lives are not known well enough, where no time follows for that reason."""


HELD = 3
"""Figures of what was held: it was measured, and stands so wherever the bound is told."""
NO_TIME = "we can give no time for replacing"
LONE = "only one was tested, which says nothing of the next"


def replacement(evidence: Evidence, points: Sequence[Point], scope: Scope, group: str) -> Replacement:
    """Return after how long to replace the columns of `group`, or why that does not follow."""
    lives = scope.usable_lives(evidence, group)
    why = _why_none(evidence, points, scope, group, lives)
    if why:
        told = f"{NO_TIME} {columns_of(group)}: {why}"
        return Replacement(group, lives, None, told, tuple(_unknown(evidence, scope, group)) if lives else ())
    by_any = scope.usable_lives(evidence, group, every_limit=True)
    if all(life.high is None for life in lives):
        failed = scope.failed_sooner(evidence, group)
        sooner = _by_first_limit(evidence, scope, group, by_any) if failed else None
        if sooner is not None and sooner.safe_h is not None:
            return sooner
        least = min(life.low for life in lives)
        every = share_of(len(lives), len(lives), f"{kind_of(group)} column")
        span = _span(scope, least, HELD)
        if max(life.low for life in lives) > WATCHED_ALIKE * least:
            # Not all were run as long: the shortest is told of all.
            span += " or longer"
        held = f"{every} held for {span} without failing"
        if scope.by_any and fails_otherwise(evidence, group):
            # By a limit that the question leaves out.
            held = f"{every} kept all limits that are asked about for {span}"
        elif fails_otherwise(evidence, group):
            # By another limit one of them failed: what held is this metric, not the column.
            held = f"{every} kept {the_metric(*scope.deciding)} within its limit for {span}"
        running = evidence.standing.running
        words = f"{held} so far" if running else f"{held}; beyond that nothing is known of them"
        if failed:
            which, when = failures(group, lives, failed)
            words = f"{held}, but {which} failed by another limit ({when})"
        return Replacement(group, lives, as_printed(least, HELD, DOWN), words)
    safe = next_column_h(lives, evidence.study.choices.confidence) or 0.0
    if scope.by_any or _failed_by(by_any, safe):
        # Nobody is told to use a column beyond the death of one that was tested, by whichever limit it died.
        return _by_first_limit(evidence, scope, group, by_any)
    return _timed(scope, group, lives, safe, "")


def _by_first_limit(
    evidence: Evidence, scope: Scope, group: str, by_any: tuple[UsableLife, ...]
) -> Replacement:
    """Return after how long to replace columns by whichever limit they pass first.

    Where a single metric decides the question, it is said which limits came before it.
    """
    first = ", by whichever limit they pass first"
    if not scope.by_any:
        ended = dict.fromkeys(key_of(life.failed_by) for life in by_any if life.failed_by is not None)
        first += f" ({any_of(ended)})"
    return _timed(
        scope, group, by_any, next_column_h(by_any, evidence.study.choices.confidence) or 0.0, first
    )


def _timed(scope: Scope, group: str, lives: tuple[UsableLife, ...], safe: float, by: str) -> Replacement:
    """Return the time that the lives allow, or that they allow none."""
    shortest = min(life.hours if life.hours is not None else life.low for life in lives)
    if safe <= 0 or safe < LITTLE * shortest:
        failures = sum(life.high is not None for life in lives)
        loose = "two lives are too few" if len(lives) == 2 else "their lives differ too much"
        loose = "of one failure nobody learns how far lives differ" if failures == 1 else loose
        words = f"{NO_TIME} {columns_of(group)}: {loose} ({_lives_words(lives)})"
        return Replacement(group, lives, None, words)
    words = f"replace {columns_of(group)} after {_span(scope, safe)} at the latest{by}: {_how(lives, safe)}"
    return Replacement(group, lives, down(safe), words)


def _failed_by(lives: Sequence[UsableLife], safe_h: float) -> bool:
    """Return whether a column had surely failed, and as far as its life tells before those hours."""
    return any(
        life.high is not None and (life.high if life.hours is None else life.hours) < safe_h for life in lives
    )


def advice(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking
) -> tuple[GroupAdvice, ...]:
    """Return what to do with each group, in one line: its place in the order, and when to replace it."""
    ranking = ranking.of_use
    found = [replacement(evidence, points, scope, group) for group in scope.groups]
    found.sort(key=lambda one: (one.group != ranking.longest, -_held_h(one)))
    lines = []
    dear, cheap = _by_cost(evidence, points, scope)
    priced_open = _cost_is_open(evidence, points, scope)
    for_span = {} if ranking.longest else _do_for_span(evidence, points, scope)
    for one in found:
        do, strength = _do(evidence, ranking, one)
        if one.group == ranking.longest and one.group in dear:
            do = "lasts longest, but its use costs more"
        elif one.group == ranking.shortest and one.group in cheap:
            do = "lasts shortest, but its use costs less"
        elif one.group == ranking.longest and short_of(evidence, scope, one.group):
            do = f"{do}; {short_of(evidence, scope, one.group).removeprefix('are ')}"
        elif for_span and one.group in for_span:
            do, strength = for_span[one.group]
        elif priced_open and strength != "not settled":
            do = f"by life alone, {do}"
        elif unsure := _unsure_for(evidence, scope, one.group):
            do = f"{do}; not sure for {unsure}"
        elif do in PREFERRING or do.startswith(PREFERRED_TO):
            # Another limit has ended its columns: nobody takes them for the one that they kept.
            do = f"by this limit alone, {do}" if scope.failed_sooner(evidence, one.group) else do
        lines.append(
            GroupAdvice(one.group, do, _after(evidence, scope, one), _tested(evidence, scope, one), strength)
        )
    return tuple(lines)


def _unsure_for(evidence: Evidence, scope: Scope, group: str) -> str:
    """Return the span that the columns tested lasted and a next one need not; empty for none."""
    for about, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span) if about == group else None
        if found is not None and found.verdict == "indicated" and (found.next_h or span.hours) < span.hours:
            return span.words[:1].lower() + span.words[1:]
    return ""


def _do_for_span(
    evidence: Evidence, points: Sequence[Point], scope: Scope
) -> dict[str, tuple[str, Strength]]:
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


def _by_cost(
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


def _cost_is_open(evidence: Evidence, points: Sequence[Point], scope: Scope) -> bool:
    """Return whether a question about cost has prices and lives, and these tell no group the cheaper one."""
    if not read_question(scope.question.text, evidence.study.groups).cost:
        return False
    found = cost_ratios(evidence, points, scope)
    return bool(found) and all(one.verdict == "open" for one in found)


def _held_h(one: Replacement) -> float:
    return max((life.hours if life.hours is not None else life.low for life in one.lives), default=0.0)


def _do(evidence: Evidence, ranking: Ranking, one: Replacement) -> tuple[str, Strength]:
    """Return what the order says of one group, with its strength; of a lone group what its lives say."""
    group = one.group
    if len(ranking.groups) < 2:
        if one.safe_h and all(life.high is None for life in one.lives):
            if fails_otherwise(evidence, group):
                # Whoever runs them on by one limit runs on what another has ended.
                return "mind the limits that they failed by", "indicated"
            return "run on: none has failed", "indicated"
        return ("replace in time", "indicated") if one.safe_h else ("test more columns", "not settled")
    strength = ranking.strength_of(group)
    shown = strength == "shown"
    if group == ranking.longest:
        return PREFERRING[0 if shown else 1], strength
    if group == ranking.shortest:
        return "avoid" if shown else "rather avoid", strength
    if longer := ranking.beaten_by(group):
        return f"prefer {listed(longer)}", strength
    if shorter := ranking.outlasts(group):
        return f"{PREFERRED_TO}{listed(shorter)}", strength
    if strength != "not settled":
        return "choose by something else than life", strength
    if any(one.slower == group for one in ranking.pairings):
        # Beside an answer by rates: it is no choice yet, for rates may change.
        return "declines more slowly; its life is open", strength
    return "these data do not choose", strength


def fails_otherwise(evidence: Evidence, group: str) -> bool:
    """Return whether a column of the group passed any limit, whichever decides the question."""
    return any(one.metric and one.group == group for one in evidence.judgement.first_failures)


def _after(evidence: Evidence, scope: Scope, one: Replacement) -> str:
    """Return when to replace a group; how long it held where none failed; a dash where no time follows."""
    if one.safe_h is None:
        return DASH
    if any(life.high is not None for life in one.lives):
        return _span(scope, one.safe_h)
    by = f" by {the_metric(*scope.deciding)}" if fails_otherwise(evidence, one.group) else ""
    return f"none failed{by} in {_span(scope, one.safe_h, HELD)}"


def _tested(evidence: Evidence, scope: Scope, one: Replacement) -> str:
    """Return `three, all failed`, of all that were tested: a column that is not compared has a life, too."""
    columns = [column.id for column in evidence.study.replicates(one.group)]
    ended: dict[str, set[str]] = {"deciding": set(), "any": set()}
    for decline in evidence.judgement.declines:
        if decline.series.column in columns and scope.concerns(decline) and decline.life.state == "reached":
            ended["any"].add(decline.series.column)
            if scope.by_any or key_of(decline) == scope.deciding:
                ended["deciding"].add(decline.series.column)
    count, failed = len(columns), len(ended["any"])
    compared = len(under_one_stress(evidence.study, one.group))
    tested = spelled(count) + (f", {spelled(compared)} compared; " if compared < count else ", ")
    if not failed and fails_otherwise(evidence, one.group):
        # By one that the question leaves out.
        return f"{tested}none failed by this limit"
    if count == 1 and not failed:
        return "one, still within the limit"
    which = "none" if not failed else spelled(failed)
    if failed == count:
        which = "all" if count > 2 else "both" if count == 2 else "which"
    by = " by another limit" if failed and not ended["deciding"] else ""
    return f"{tested}{which} failed{by}"


def _why_none(
    evidence: Evidence, points: Sequence[Point], scope: Scope, group: str, lives: Sequence[UsableLife]
) -> str:
    """Return why no time follows; empty where one does."""
    if not scope.deciding[1] or not lives:
        metric = the_metric(*scope.deciding) if scope.deciding[1] else "no limited metric"
        return f"{metric} {'gives no life of them' if scope.deciding[1] else 'was measured'}"
    columns = [column.id for column in under_one_stress(evidence.study, group)]
    if unknown := _unknown(evidence, scope, group):
        life, verb = ("life", "is") if len(unknown) == 1 else ("lives", "are")
        of = f"the {life} of {listed(unknown)} by {the_metric(*scope.deciding)} {verb} not known"
        seen = {tell(d.life) if d is not None and is_known(d.life) else "" for d in unknown.values()}
        told = seen.pop() if len(seen) == 1 else ""
        return f"{of} well enough; all that is known: {told}" if told else of
    if bounded("shown", points, (group,)) == "not settled":
        heavy = [point for point in bearing_on(points, (group,)) if point.bound == "not settled"]
        return in_short(heavy[0], (group,)) if heavy else "the audit forbids it"
    if within := levels_within(evidence.study, group):
        ways = listed(at_all(name, list(levels)) for name, levels in within.items())
        return f"they were tested {ways}, which count together here"
    if len(lives) < 2 <= len(columns):
        return f"of {spelled(len(columns))} tested, the life of one alone is known well enough"
    if len(lives) < 2:
        return LONE
    return ""


def in_short(point: Point, groups: Iterable[str]) -> str:
    """Return what a check found of these groups as part of a sentence, a long one as far as it goes.

    Up to its first semicolon where that is short enough, else up to where its numbers begin.
    """
    told = mid_sentence(point.told_of(groups).removeprefix("Cannot tell: "))
    first = told.partition("; ")[0] if len(told) > MOST_LETTERS else told
    head = first.partition(": ")[0] if len(first) > MOST_LETTERS else first
    # Two words before the numbers say nothing without them.
    return head if len(head.split()) > 2 else f"the {brief(point.check)}"


def _unknown(evidence: Evidence, scope: Scope, group: str) -> dict[str, Decline | None]:
    """Return the columns of which nobody knows whether they reached the deciding limit."""
    columns = (column.id for column in under_one_stress(evidence.study, group))
    known = {column: evidence.decline(column, *scope.deciding) for column in columns}
    return {c: d for c, d in known.items() if d is None or d.life.state not in ("reached", "not reached")}


def _span(scope: Scope, safe_h: float, figures: int = 2) -> str:
    """Return hours rounded down, and runs of the asker's method where their length is stated."""
    runs = scope.question.run_time_min
    said = with_unit(bound(safe_h, figures, DOWN).removesuffix(".0"), "h")
    if not runs:
        return said
    # Of the hours that stand beside it: whoever reckons finds the same.
    whole = floor(as_printed(safe_h, figures, DOWN) * 60 / runs + 1e-9)
    number = bound(float(whole), min(max(figures, 3), len(str(whole))), DOWN)
    return f"{said} ({number} injections of {with_unit(stated(runs), 'min')})"


def _how(lives: Sequence[UsableLife], safe_h: float) -> str:
    """Return what the bound rests on: how many were tested, and which of its two rules bound it."""
    count = len(lives)
    tested = f"{'only ' if count < 3 else ''}{spelled(count)} were tested ({_lives_words(lives)})"
    least = min(life.low for life in lives)
    if safe_h >= least * 0.999:
        return f"{tested}, and one of them may have failed as early as that"
    ordinal = {2: "a third", 3: "a fourth", 4: "a fifth", 5: "a sixth"}.get(count, "the next")
    if safe_h < FAR_BELOW * least:
        wide = f"{spelled(count)} lives show so little of how far lives scatter"
        return f"{tested}; {wide} that the bound for {ordinal} lies far below them"
    return f"{tested}, and {ordinal} may scatter as much"


def _lives_words(lives: Sequence[UsableLife]) -> str:
    """Return `58 and 66 h`, `73 to 78 h`, or what was held where a column did not fail."""
    failed = [life for life in lives if life.failed_by is not None]
    held = [life.low for life in lives if life.failed_by is None]
    said = [told_together(failed, spread=True)] if failed else []
    if held:
        said.append(f"{spelled(len(held))} still within the limit at {_span_of(held)}")
    return "; ".join(said) if any(life.bracket for life in failed) else listed(said)


def _span_of(held: Sequence[float]) -> str:
    """Return `240 h`, or `99 to 240 h` where columns were not run alike."""
    least, most = min(held), max(held)
    return (
        hours(most)
        if most <= WATCHED_ALIKE * least
        else f"{hours(down(least)).partition(THIN_SPACE)[0]} to {hours(most)}"
    )


HERE = "at these conditions"
TESTED_HERE = "at the conditions of our test"


def recommendations(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    claims: Sequence[Claim],
    planned: Container[str] = (),
) -> tuple[Claim, ...]:
    """Return what to choose, when to replace, what to watch and to mind, and the most urgent cure.

    Of the groups in `planned` the next experiments say how many more columns to test.

    Which to choose and when to replace are told where the question asks for it, or for nothing narrower.
    """
    asks = read_question(scope.question.text, evidence.study.groups)
    ranking, by_any = ranking.of_use, ranking.by_any
    dear, _ = _by_cost(evidence, points, scope)
    priced_open = _cost_is_open(evidence, points, scope)
    if without_limit(evidence, scope) is not None and not asks.lasting:
        cured = _cure(evidence, points, scope, planned)
        return _at_these_conditions(evidence, scope, [cured] if cured else [])
    several = len({group for group, _ in asked_spans(evidence, scope)}) > 1
    chosen = (
        _for_span(evidence, points, scope, ranking, claims)
        if (asks.choice or (several and asks.yes_or_no)) and not ranking.longest
        else None
    )
    # `Does A outlast B?` is asked by who has to take one of them.
    tells_ways = (
        asks_ways(scope.question.text) or first_passed(evidence, scope, scope.question.text) is not None
    )
    which = asks.choice or (not tells_ways and (not asks.narrow or len(scope.asked) > 1))
    level = None if ranking.longest else _choose_level(evidence, scope, ranking, claims)
    choose = [
        (chosen if asked_spans(evidence, scope) else None)
        or level
        or chosen
        or (_choose(evidence, scope, ranking, claims, dear, priced_open, by_any) if which else None)
    ]
    choose += [_price(evidence, scope)] if asks.cost else []
    cure = [_cure(evidence, points, scope, planned)]
    one_span = len(scope.asked) == 1 and bool(asked_spans(evidence, scope))
    replace_by = _replace(evidence, points, scope) if asks.lasting or not asks.narrow or one_span else []
    if choose[0] is not None and (taken := _taken(evidence, scope, ranking, level is not None)):
        fewer = fewer_plates(evidence, scope, taken)
        choose[0] = replace(choose[0], text=run_together([choose[0].text, fewer])) if fewer else choose[0]
    # Who asks what use costs asks nothing of what to watch.
    watch = None if asks.cost and not asks.lasting else _watch(evidence, scope, claims)
    # What use costs is told up to whichever limit came first: no other one is left to mind.
    rest = [watch, *(_mind(points, scope) if not asks.cost or asks.lasting else [])]
    settled = bool(ranking.longest) and ranking.strength_of(ranking.longest) == "shown"
    if tells_ways:
        order = [*rest, *choose, *replace_by, *cure]
    elif settled or not choose[0]:
        order = [*choose, *replace_by, *rest, *cure]
    else:
        order = [*choose, *cure, *replace_by, *rest]
    return _at_these_conditions(evidence, scope, [found for found in order if found is not None])


def _taken(evidence: Evidence, scope: Scope, ranking: Ranking, by_level: bool) -> str:
    """Return the type that is advised before all others; empty for none, or where a level is advised."""
    if by_level or len(scope.groups) < 2:
        return ""
    lasting, _ = _lasting(evidence, scope)
    for_span = {one.group for one in lasting}
    preferred = {pairing.first for pairing in ranking.pairings if pairing.verdict == "longer"}
    alone = next((own.pop() for own in (for_span, preferred) if len(own) == 1), "")
    return ranking.longest or lasted_longest(evidence, scope) or alone


def _at_these_conditions(evidence: Evidence, scope: Scope, found: Sequence[Claim]) -> tuple[Claim, ...]:
    """Return the recommendations, the first of which names the conditions that all of them are for."""
    if not found or found[0].id in (scope.claim_id("do", "mend"), scope.claim_id("do", "price")):
        # What is to be mended or stated is so at any conditions.
        return tuple(found)
    numbers = conditions_words(evidence.study, scope.groups).removeprefix("at ")
    # Beside the reader's own conditions `these` would be read as those.
    where = HERE if elsewhere(evidence, scope) is None else TESTED_HERE
    here = f"{where} ({numbers})" if numbers else where
    first, *others = found
    return (replace(first, text=run_together([f"{here}, {mid_sentence(first.text)}"])), *others)


def _choose(
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
        text = f"{PREFERRING[1]} {columns_of(apart.longer)}: {SEEN} they lasted longer, which is not settled"
        return Claim(identity, run_together([text]), "not settled", links)
    which = f"lasts {'longer' if two else 'longest'}"
    if read_question(scope.question.text, evidence.study.groups).cost and not dear:
        which = f"costs {'less' if two else 'least'} to use"
    elif scope.named:
        # Of a metric's course nobody asked who lasts longest.
        told = order_words.which(scope, not two, listed(scope.compared))
        text = f"do not choose by these data: {CANNOT_TELL} {told}"
        return Claim(identity, run_together([text]), "not settled", links)
    text = f"do not choose by these data: {CANNOT_TELL} which of {listed(scope.compared)} {which}"
    return Claim(identity, run_together([text]), "not settled", links)


def _choose_level(
    evidence: Evidence, scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
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


def _price(evidence: Evidence, scope: Scope) -> Claim | None:
    """Ask for the prices without which nobody can say what use costs."""
    groups = unpriced_groups(evidence, scope)
    if not groups:
        return None
    of = "the columns" if len(groups) == len(scope.groups) else listed(map(columns_of, groups))
    text = f"state the price of {of}: the cost of use follows from it"
    links = tuple(link for group in groups for link in because.of_columns(evidence, group))
    return Claim(scope.claim_id("do", "price"), run_together([text]), "not settled", links)


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


def _for_span(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Say which groups to take for the span that is asked about, where some last it and others do not."""
    lasting, failing = _lasting(evidence, scope)
    if not lasting:
        return _for_no_span(evidence, scope, ranking, claims)
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


def _for_no_span(evidence: Evidence, scope: Scope, ranking: Ranking, claims: Sequence[Claim]) -> Claim | None:
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
        text += f"; {columns_of(one.group)} come nearest ({lasted}{as_long} lasted it)"
    order = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
    if not read_question(scope.question.text, evidence.study.groups).choice:
        # Who asks whether one column holds does not ask which type to take.
        text += "; keep another at hand" if near else ""
    elif order:
        text += f"; by their lives, prefer {listed(f'{p.first} to {p.second}' for p in order)}"
    elif near:
        which = order_words.which(scope, len(scope.compared) > 2, listed(scope.compared))
        text += f", but {CANNOT_TELL} {which}"
    return _span_claim(scope, text, "indicated", known, claims)


def _cure(evidence: Evidence, points: Sequence[Point], scope: Scope, planned: Container[str]) -> Claim | None:
    """Name what to do first about the most serious point of the audit, where it weakens the answer."""
    point = most_serious(evidence, points, scope)
    if point is None:
        return None
    few = [group for group in concerned(evidence, scope) if len(evidence.study.replicates(group)) < ENOUGH]
    if point.check.id.startswith("replicates") and all(group in planned for group in few):
        # Two numbers of further columns in one answer would contradict each other.
        return None
    found = point.told_of(concerned(evidence, scope))
    told = point.check.id.startswith("replicates") or len(found) > MOST_LETTERS
    because_of = "" if told else f" ({mid_sentence(found)})"
    text = f"before relying on this, {mid_sentence(point.check.cure.rstrip('.'))}{because_of}"
    return Claim(scope.claim_id("do", "mend"), run_together([text]), "shown", because.of_points([point]))


def most_serious(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Point | None:
    """Return the point that weakens the answer most and can be cured; None where none does."""
    heavy = bearing_on(points, concerned(evidence, scope))
    return next((point for point in heavy if point.bound != "shown" and point.check.cure), None)


def _replace(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[Claim]:
    """Say after how long to replace columns: of the groups whose span is asked for, else of all."""
    if not scope.deciding[1]:
        return []
    asked = [group for group, _ in asked_spans(evidence, scope)]
    groups = asked or scope.asked or scope.groups
    found = [replacement(evidence, points, scope, group) for group in dict.fromkeys(groups)]
    found.sort(key=lambda one: -(one.safe_h or 0.0))
    claims: list[Claim] = []
    found = _told_once(scope, found)
    lone = [one for one in found if one.words.endswith(LONE)]
    if len(lone) > 1:
        # What holds of several is told once.
        types, each = (
            listed((columns_of(one.group) for one in lone), "or"),
            LONE.replace("one", "one of each"),
        )
        told = f"{NO_TIME} {types}: {each}"
        lives = tuple(life for one in lone for life in one.lives)
        found = [*(one for one in found if one not in lone), Replacement(lone[0].group, lives, None, told)]
    for one in found:
        links = tuple(because.of_decline(life.decline) for life in one.lives)
        first_in_runs = (
            scope.question.run_time_min and one.safe_h and not any(AS_IF in c.text.lower() for c in claims)
        )
        parts = [one.words, AS_IF[:1].upper() + AS_IF[1:] if first_in_runs else ""]
        strength: Strength = "indicated" if one.safe_h else "not settled"
        claims.append(
            Claim(
                scope.claim_id("do", "replace", one.group),
                run_together(parts),
                strength,
                links or because.of_columns(evidence, one.group),
            )
        )
    return claims


def _told_once(scope: Scope, found: Sequence[Replacement]) -> list[Replacement]:
    """Return the replacements, with one in the place of several whose lives are not known well enough."""
    unknown = [one for one in found if one.unknown]
    if len(unknown) < 2:
        return _alike_once(found)
    types = listed((columns_of(one.group) for one in unknown), "or")
    told = (
        f"{NO_TIME} {types}: the lives of "
        f"{listed(column for one in unknown for column in one.unknown)} by {the_metric(*scope.deciding)} "
        "are not known well enough"
    )
    lives = tuple(life for one in unknown for life in one.lives)
    together = Replacement(unknown[0].group, lives, None, told)
    return [*_alike_once([one for one in found if one not in unknown]), together]


def _alike_once(found: Sequence[Replacement]) -> list[Replacement]:
    """Return the replacements, those together that no time follows for, for one reason and the same."""
    by_reason: dict[str, list[Replacement]] = {}
    for one in found:
        reason = one.words.removeprefix(f"{NO_TIME} {columns_of(one.group)}: ")
        by_reason.setdefault(reason if one.safe_h is None and reason != LONE else one.words, []).append(one)
    told = []
    for reason, own in by_reason.items():
        types = listed((columns_of(one.group) for one in own), "or")
        lives = tuple(life for one in own for life in one.lives)
        told += (
            own[:1]
            if len(own) == 1
            else [Replacement(own[0].group, lives, None, f"{NO_TIME} {types}: {reason}")]
        )
    return told


def _watch(evidence: Evidence, scope: Scope, claims: Sequence[Claim]) -> Claim | None:
    """Say which metric to watch in use: the deciding one, with on how many columns it failed first."""
    own_firsts = {scope.claim_id("first", group) for group in scope.groups}
    firsts = [claim for claim in claims if claim.id in own_firsts]
    if not firsts or not scope.deciding[1]:
        return None
    inside = {one.id for group in scope.groups for one in under_one_stress(evidence.study, group)}
    failed = [f for f in evidence.judgement.first_failures if f.column in inside and f.metric]
    own = [f for f in failed if scope.deciding in ((f.marker, f.metric), *f.tied_with)]
    total = len(inside)
    if scope.by_any or {one.group for one in failed} != {one.group for one in own}:
        # What one type is to be watched by tells nothing of another that fails by something else.
        return _watch_each(scope, failed, firsts)
    which = "column" if len(failed) == total > 1 else "column that failed"
    where = share_of(len(own), len(failed), which).replace("column that faileds", "columns that failed")
    all_of = "all " if len(own) == len(failed) > 2 else ""
    where = where if not all_of or where.startswith("all ") else all_of + where
    doubtful = [f for f in own if f.tied_with]
    ties = [one for one in _most_first(doubtful) if one != scope.deciding]
    others = any_of(ties[: MOST_WATCHED - 1])
    as_early = ", others about as early" if len(ties) >= MOST_WATCHED else ""
    text = f"watch {the_metric(*scope.deciding)}: it crossed its limit first on {where}"
    if len(doubtful) == len(own):
        text = f"watch {the_metric(*scope.deciding)}: on {where}, it or {others} crossed its limit first"
        text += f"{as_early}; these data cannot tell which"
    elif doubtful:
        # Of all of them it is not said that it was the first where on some it may have been another.
        sure, more = len(own) - len(doubtful), spelled(len(doubtful))
        where = share_of(sure, len(failed), which).replace("column that faileds", "columns that failed")
        text = f"watch {the_metric(*scope.deciding)}: it crossed its limit first on {where}; "
        text += f"on {more} more, it or {others} did{as_early}"
    strength: Strength = min((claim.strength for claim in firsts), key=STRENGTHS.index)
    return Claim(scope.claim_id("do", "watch"), run_together([text]), strength, because.of_claims(firsts))


def _watch_each(scope: Scope, failed: Sequence[FirstFailure], firsts: Sequence[Claim]) -> Claim | None:
    """Say which metrics to watch on the columns of each group, where they do not fail by the same."""
    on: dict[str, list[str]] = {}
    more = ""
    for group in scope.about:
        own = [one for one in failed if one.group == group]
        metrics = _most_first(own)
        if own:
            on.setdefault(any_of(metrics[:MOST_WATCHED]), []).append(columns_of(group))
        if left := metrics[MOST_WATCHED:]:
            sure = any((one.marker, one.metric) in left and not one.tied_with for one in own)
            more = "; others came first on some columns" if sure else more or "; others were about as early"
    if not on:
        return None
    told = listed(f"{metrics} on {listed(groups)}" for metrics, groups in on.items())
    text = f"watch what crossed its limit first: {told}{more}"
    strength: Strength = min((claim.strength for claim in firsts), key=STRENGTHS.index)
    return Claim(scope.claim_id("do", "watch"), run_together([text]), strength, because.of_claims(firsts))


MOST_WATCHED = 2
"""Metrics to watch that an advice names: whoever watches five watches none."""


def _most_first(failed: Sequence[FirstFailure]) -> list[tuple[str, str]]:
    """Return what crossed its limit first, that on most columns first, or may have, the surest before."""
    first = Counter((one.marker, one.metric) for one in failed)
    perhaps = Counter(key for one in failed for key in one.tied_with)
    return sorted({**first, **perhaps}, key=lambda key: (-first[key] - perhaps[key], -first[key]))


def _mind(points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Name limits that were crossed before the deciding one, and a buffer that hardly holds its pH."""
    for point in bearing_on(points, scope.groups):
        if point.check.id.startswith("same-first-failure"):
            passed = point.check.detail.partition("passed before ")[2] or point.check.detail
            text = f"mind the other limits too, which were passed before {passed}"
            yield Claim(
                scope.claim_id("do", "mind", "other", "limits"), run_together([text]), "shown",
                because.of_points([point]),
            )  # fmt: skip
            break
    for point in points:
        if point.check.id.startswith("buffer-range") and point.check.result == "caution":
            text = f"{point.check.detail.partition(':')[0].partition(' (')[0]}; expect the pH to drift"
            yield Claim(
                scope.claim_id("do", "mind", point.check.id), run_together([text]), "shown",
                because.of_points([point]),
            )  # fmt: skip


def conditions_words(study: Study, groups: Sequence[str] = ()) -> str:
    """Return `at pH 11.0, 60 °C, 25 % acetonitrile`: the stress of what is compared, stated and one for all.

    Of these groups' columns, or of all. `by plan` stands beside what no log shows.
    """
    stress = study.stress
    columns = [one for group in groups or study.groups for one in under_one_stress(study, group)]
    ph = {stress.ph if column.ph is None else column.ph for column in columns} or {stress.ph}
    warm = {
        stress.temperature_C if column.temperature_C is None else column.temperature_C for column in columns
    } or {stress.temperature_C}
    parts, planned = [], []
    for values, write, name in ((ph, _ph_words, "ph"), (warm, _warm_words, "temperature_C")):
        (value, *more) = values
        if value is None or more:
            continue
        if any(getattr(row, name) is not None for row in study.conditions):
            logged = _logged_words(study, [one.id for one in columns]) if write is _ph_words else ""
            parts.append(write(value) + logged)
        else:
            planned.append(write(value))
    if planned:
        # What nobody logged is known by the plan alone.
        parts.insert(0, f"{listed(planned)} by plan")
    if stress.organic and stress.organic_percent:
        parts.append(f"{with_unit(stated(stress.organic_percent), '%')} {stress.organic}")
    return f"at {', '.join(parts)}" if parts else ""


def _logged_words(study: Study, columns: Sequence[str]) -> str:
    """Return ` by plan and 10.27 to 10.64 by the log`, where the pH on one column moved enough to say so.

    A column that alone went further is told apart: of the others its readings are not true.
    """
    by_column: dict[str, list[float]] = {}
    for row in study.conditions:
        if row.ph is not None and row.column in columns:
            by_column.setdefault(row.column, []).append(row.ph)
    moved = {name: own for name, own in by_column.items() if max(own) - min(own) > HARMLESS_PH}
    if not moved:
        return ""
    lone = [name for name in moved if len(moved) > 2 and _goes_further(name, moved)]
    usual = [value for name, own in moved.items() if name not in lone for value in own]
    alone = "".join(f", {_ph_span(moved[name])} on {name}" for name in lone)
    return f" by plan and {_ph_span(usual)} by the log{alone}"


def _goes_further(name: str, readings: Mapping[str, Sequence[float]]) -> bool:
    """Return whether a column's readings lie beyond those of all others by what a meter repeats within."""
    own, others = readings[name], [value for one, found in readings.items() if one != name for value in found]
    return max(min(others) - min(own), max(own) - max(others)) > HARMLESS_PH


def _ph_span(values: Sequence[float]) -> str:
    return f"{fixed(min(values), 2)} to {fixed(max(values), 2)}"


def _ph_words(ph: float) -> str:
    return f"pH {fixed(ph, max(1, len(stated(ph).partition('.')[2])))}"


def _warm_words(temperature_C: float) -> str:
    return with_unit(stated(temperature_C), "°C")
