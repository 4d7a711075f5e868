"""What next experiment would settle what is not settled, with how many columns.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`, the claims. Out: `Claim`s:
plans, not results.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, log

from lyewitness.decline.comparing import (
    MOST_COLUMNS,
    WANTED_POWER,
    columns_needed,
    pooled_sd,
    success_run,
    upper_sd,
)
from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.usable_lives import middle_h
from lyewitness.findings import because
from lyewitness.findings.answer.course_replies import without_limit
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking
from lyewitness.findings.answer.reading_questions import Span, read_question
from lyewitness.findings.answer.recommending import most_serious
from lyewitness.findings.answer.use_claims import ORDER, asked_spans, concerned, held, span_words
from lyewitness.findings.audit.points import Pair, Point, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.swings import steadier_words, swing_of
from lyewitness.findings.records import Because, Claim
from lyewitness.findings.signs.observations import comes_to_rest
from lyewitness.words.numbers import UP, bound, rounded, with_unit
from lyewitness.words.phrases import (
    columns_of,
    counted,
    hours,
    listed,
    mid_sentence,
    percent,
    run_together,
    spelled,
)

SHARE = 0.8
"""Share of columns that shall last as long as is asked."""


@dataclass(frozen=True, slots=True)
class Spread:
    """How far lives of one type differ."""

    sd: float
    """Standard deviation of log lives within groups."""
    degrees: int
    """Of freedom."""
    at_least: bool
    """Whether it holds lives that ended after the test, or late in it, of which only a bound is known."""
    by_gaps: bool = False
    """Whether most lives in it are known by the injections beside them alone."""


def next_experiments(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> tuple[Claim, ...]:
    """Return one course of action: what costs least is first, what is dearer only if that leaves it open.

    Columns at hand run on before new ones are taken; of new ones one plan speaks of all groups.
    """
    by_rate = without_limit(evidence, scope) is not None
    asks = read_question(scope.question.text, evidence.study.groups)
    # Where a limit lies is no concern of whoever asks after a metric without one.
    further = None if by_rate and not asks.lasting else _run_on(evidence, scope)
    steps = [
        further if further and further.text.startswith(RUN) else None,
        *_for_spans(evidence, scope, claims),
        _for_pairs(evidence, scope, _open_pairs(evidence, scope, ranking), claims),
    ]
    # That a limit lies far off is no step that another could wait for.
    told = [further] if further and further not in steps else []
    return (
        *_in_order([step for step in steps if step is not None]),
        *told,
        *_for_points(evidence, points, scope),
    )


RUN = "Run "
ONLY_THEN = "only if that leaves it open, "


def _in_order(steps: Sequence[Claim]) -> tuple[Claim, ...]:
    """Return the steps, each after the first told as what follows where the one before does not settle it."""
    later = [
        replace(step, text=run_together([f"{ONLY_THEN}{mid_sentence(step.text)}"])) for step in steps[1:]
    ]
    return (*steps[:1], *later)


def _open_pairs(evidence: Evidence, scope: Scope, ranking: Ranking) -> list[Pairing]:
    """Return the pairs that new columns are to tell apart; none where a span is asked for and no order."""
    if asked_spans(evidence, scope) and not ORDER.search(scope.question.text):
        return []
    return [
        pairing
        for pairing in ranking.open_pairs
        if pairing.groups <= set(scope.compared) and not _neither_failed(evidence, pairing)
    ]


def planned_groups(evidence: Evidence, scope: Scope, ranking: Ranking) -> frozenset[str]:
    """Return the groups of which the plans say how many columns they want."""
    spans = {group for _, groups in _span_plans(evidence, scope) for group, _ in groups}
    pairs = _open_pairs(evidence, scope, ranking) if swing_of(evidence, scope.single) is None else []
    spread = spread_of(evidence, scope)
    # Where no number of columns would do, none is planned.
    numbered = [pair for pair in pairs if spread is None or _numbers(evidence, pair, spread)]
    return frozenset(spans).union(*(pair.groups for pair in numbered))


def _neither_failed(evidence: Evidence, pairing: Pairing) -> bool:
    """Return whether more columns would help less than running the same ones on."""
    failed = {first.group for first in evidence.judgement.first_failures if first.metric}
    return not failed & pairing.groups


SpanPlan = tuple[Span, list[tuple[str, int]]]


def _span_plans(evidence: Evidence, scope: Scope) -> list[SpanPlan]:
    """Return each span with the groups of which more columns must last it, and how many of each have."""
    plans: dict[Span, list[tuple[str, int]]] = {}
    for group, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span)
        if found is None or found.failed or found.verdict == "shown" or evidence.standing.running:
            # A running test is on its way there: new columns are planned when it has ended.
            continue
        if any(life.hours is not None and life.hours < span.hours for life in found.lives):
            # One failed before, as far as its life is known: that none of many will is no plan.
            continue
        if found.run_h < span.hours and not _mostly_gone(evidence, group):
            # Those at hand run on to it.
            found = replace(found, surely=len(found.lives))
        plans.setdefault(span, []).append((group, found.surely))
    return list(plans.items())


def _for_spans(evidence: Evidence, scope: Scope, claims: Sequence[Claim]) -> list[Claim]:
    """Say how many columns must last a span that is asked for, before a next one can be trusted to."""
    confidence = evidence.study.choices.confidence
    number = success_run(SHARE, confidence)
    sure = f"({percent(100 * confidence)} confidence)"
    made = []
    for span, groups in _span_plans(evidence, scope):
        names = [group for group, _ in groups]
        lasted = sum(count for _, count in groups)
        of = columns_of(names[0]) if len(names) == 1 else f"each of {listed(map(columns_of, names))}"
        among = ", those that have lasted as long among them" if lasted else ""
        many = f"{number} were run" if len(names) == 1 else f"{number} of each were run"
        text = (
            f"run more of {of} for {span.words}, until {many}{among}: if none fails, "
            f"at least {percent(100 * SHARE)} of such columns last as long {sure}"
        )
        asked = {scope.claim_id("span", group, span.words) for group in names}
        behind = because.of_claims(claim for claim in claims if claim.id in asked)
        identity = scope.claim_id("next", "span", *names, span.words)
        made.append(Claim(identity, run_together([text]), "not settled", behind))
    return made


def _for_pairs(
    evidence: Evidence, scope: Scope, pairings: Sequence[Pairing], claims: Sequence[Claim]
) -> Claim | None:
    """Say how many columns a side would tell groups apart: one plan for all pairs that are open."""
    if not pairings:
        return None
    swing = swing_of(evidence, scope.single)
    if swing is not None:
        return _plan(scope, pairings, [steadier_words(swing)], claims)
    spread = spread_of(evidence, scope)
    if spread is None:
        text = (
            f"to tell {_apart(pairings)}, run at least three columns of each, from different lots, "
            "to failure: how much columns of one type differ is not known yet, so the number cannot be "
            "computed"
        )
        return _plan(scope, pairings, [text], claims)
    alike: dict[str, list[Pairing]] = {}
    for pairing in pairings:
        alike.setdefault(_numbers(evidence, pairing, spread), []).append(pairing)
    power = f" with a power of {percent(100 * WANTED_POWER)}"
    beyond = alike.pop("", [])
    told = [f"to tell {_each_apart(same)}{power}, run {numbers}" for numbers, same in alike.items()]
    # It holds for all of them, and is told of the first.
    told = [*told[:1], *(text.replace(power, "") for text in told[1:])]
    if beyond:
        margin = rounded(1 + evidence.study.choices.equivalence_margin_percent / 100, 3)
        many = f"would take more than {MOST_COLUMNS} columns a side"
        told.append(
            f"to tell {_each_apart(beyond, bool(told))}{'' if told else power} {many}, "
            f"even if their lives differ by a factor of {margin}"
        )
    lots = "they should come from different lots" if alike else ""
    sentences = ["; ".join(told), lots, _spread_words(evidence, pairings, spread)]
    return _plan(scope, pairings, sentences, claims)


def _apart(pairings: Sequence[Pairing]) -> str:
    """Return `the A columns from the B columns`, of more than one pair `the columns of A, B and C apart`."""
    if len(pairings) == 1:
        return f"{columns_of(pairings[0].first)} from {columns_of(pairings[0].second)}"
    groups = dict.fromkeys(group for pairing in pairings for group in (pairing.first, pairing.second))
    if any(columns_of(group) == f"the {group.strip()}" for group in groups):
        # `The columns of coated columns` says it twice.
        return f"{listed(map(columns_of, groups))} apart"
    return f"the columns of {listed(groups)} apart"


def _each_apart(pairings: Sequence[Pairing], others: bool = False) -> str:
    """Return `the A columns from the B columns and the C columns`: what holds for several is told once.

    `others`: whether some pairs were told before.
    """
    groups = dict.fromkeys(group for pairing in pairings for group in (pairing.first, pairing.second))
    if len(groups) > 2 and len(pairings) == len(groups) * (len(groups) - 1) // 2:
        return f"any two of {listed(groups)} apart"
    if len(pairings) > MOST_PAIRS:
        return f"each of the {spelled(len(pairings))} {'other' if others else 'open'} pairs apart"
    by_first: dict[str, list[str]] = {}
    for pairing in pairings:
        by_first.setdefault(pairing.first, []).append(columns_of(pairing.second))
    return ", and ".join(f"{columns_of(first)} from {listed(others)}" for first, others in by_first.items())


MOST_PAIRS = 3
"""Pairs that a plan names; the claims name all."""


def _plan(
    scope: Scope, pairings: Sequence[Pairing], sentences: Sequence[str], claims: Sequence[Claim]
) -> Claim:
    about = {scope.claim_id("pair", pairing.first, pairing.second) for pairing in pairings}
    links = because.of_claims(claim for claim in claims if claim.id in about)
    identity = scope.claim_id("next", pairings[0].first, pairings[0].second)
    return Claim(identity, run_together(sentences), "not settled", links)


def _numbers(evidence: Evidence, pairing: Pairing, spread: Spread) -> str:
    """Return how many columns are needed for the ratio seen, and for the smallest ratio that matters.

    Nothing where neither can be told by as many as anybody would run.
    """
    choices = evidence.study.choices
    alpha = choices.alpha / _compared(pairing)
    careful = upper_sd(spread.sd, spread.degrees)
    margin = 1 + choices.equivalence_margin_percent / 100
    seen = pairing.comparison.life_ratio.value if pairing.comparison else None
    if seen:
        # Told as the claim has it, the longer life over the shorter.
        seen = max(seen, 1 / seen)
    if seen and seen < margin:
        # Whoever cares for no smaller ratio than that need not tell this one.
        seen = None
    by_number: dict[str, list[str]] = {}
    for ratio, words in ((seen, "the life ratio seen"), (margin, "the smallest ratio that matters")):
        if not ratio or ratio == 1:
            continue
        low, high = (columns_needed(ratio, s, alpha, WANTED_POWER) for s in (spread.sd, careful))
        if ratio == seen and high is not None and pairing.comparison is not None:
            # The comparison's own number counts how uncertain each life is as well.
            high = max(high, pairing.comparison.columns_needed or high)
        if ratio == seen and high is not None and high <= _fewest(evidence, pairing):
            # As many were tested, and did not tell: the number would be of no help.
            continue
        by_number.setdefault(_needed(low, high), []).append(f"{words} ({rounded(ratio, 3)})")
    if set(by_number) == {_needed(None, None)}:
        return ""
    return "; ".join(f"{number} for {' as for '.join(words)}" for number, words in by_number.items())


def _spread_words(evidence: Evidence, pairings: Sequence[Pairing], spread: Spread) -> str:
    """Return what the numbers of columns were computed from."""
    by = f"{'at least ' if spread.at_least else ''}{percent(100 * (exp(spread.sd) - 1))}"
    compared = max(map(_compared, pairings))
    shared = f"; the error is shared among {counted(compared, 'comparison')}" if compared > 1 else ""
    told = f"lives of one type spread by {by} (from {counted(spread.degrees, 'degree')} of freedom){shared}"
    return run_together([told, GAPS]) if spread.by_gaps else told


GAPS = (
    "most of these lives are known only by the two injections between which they ended, which adds to the "
    "spread: with injections closer together fewer columns may do"
)


def _compared(pairing: Pairing) -> int:
    """Return among how many comparisons the error of a pair is shared."""
    return max(1, pairing.comparison.corrected_over if pairing.comparison else 1)


def _fewest(evidence: Evidence, pairing: Pairing) -> int:
    """Return how many columns the smaller of the two groups has."""
    return min(len(evidence.study.replicates(group)) for group in pairing.groups)


def _needed(low: int | None, high: int | None) -> str:
    if low is None:
        return f"more than {MOST_COLUMNS} columns a side"
    if high is None:
        return f"{low} columns a side or many more"
    return f"{counted(low, 'column')} a side" if low == high else f"{low} to {high} columns a side"


def spread_of(evidence: Evidence, scope: Scope) -> Spread | None:
    """Return the spread of log lives between columns of one group, over the groups of the scope.

    A column that outlived all that failed counts with what it held: without it the lucky ones were left out.
    """
    lives: dict[str, list[float]] = {group: [] for group in scope.groups}
    bounds: dict[str, list[float]] = {group: [] for group in scope.groups}
    gaps: list[bool] = []
    for decline in evidence.judgement.declines:
        series, hours_ = decline.series, middle_h(decline.life.hours)
        inside = series.group in lives and (series.marker, series.metric) == scope.deciding
        if inside and decline.life.state == "reached" and hours_ and hours_ > 0:
            lives[series.group].append(log(hours_))
            gaps.append(decline.life.hours.value is None)
        elif inside and decline.life.state != "reached" and decline.life.hours.low:
            bounds[series.group].append(log(decline.life.hours.low))
    outlived = {
        group: [bound for bound in own if bound > max(lives[group])]
        for group, own in bounds.items()
        if lives[group]
    }
    if pooled_sd(list(lives.values())) is None:
        # Of bounds alone nobody learns how far lives differ.
        return None
    found = pooled_sd([own + outlived.get(group, []) for group, own in lives.items()])
    mostly = 2 * sum(gaps) > len(gaps)
    return Spread(*found, at_least=any(outlived.values()), by_gaps=mostly) if found else None


FAR, FAR_AT_LEAST = 4.0, 2.0
"""Times what was run: a limit that lies so far at the rate seen, and by its fastest end no nearer than the
second, is not found by running on: nobody knows that a rate seen for a day holds for a week."""


def _run_on(evidence: Evidence, scope: Scope) -> Claim | None:
    """Say how far to run groups that did not reach the limit: at the rate seen, as a plan."""
    said, links, steady, beyond = list[str](), list[Because](), dict[str, float](), list[str]()
    to_span: dict[str, list[str]] = {}
    spans = dict(sorted(asked_spans(evidence, scope), key=lambda asked: asked[1].hours))
    soon = list[str]()
    for group in scope.compared:
        life = evidence.group_life(group, *scope.deciding)
        if life is None or life.life.state != "not reached" or _mostly_gone(evidence, group):
            continue
        columns = columns_of(group, len(life.columns))
        span = spans.get(group)
        if spans:
            # Who asks for a span wants to know of it, not where the limit lies.
            if span and _longest_h(evidence, scope, group) < span.hours and not evidence.standing.running:
                to_span.setdefault(span_words(span), []).append(columns)
                links += because.of_declines(evidence, group, *scope.deciding)
            continue
        links += because.of_declines(evidence, group, *scope.deciding)
        about = _limit_at_h(evidence, scope, group)
        tested = life.tested_to_h or life.life.hours.low or 0.0
        longest = _longest_h(evidence, scope, group)
        standing = evidence.standing
        if standing.running and (about is None or about <= (standing.ends_h or 0.0) or about > FAR * tested):
            # What the test in hand will tell is no further experiment, and half a test shows no standstill.
            continue
        if about is None or about > FAR * tested:
            soonest = _limit_at_h(evidence, scope, group, by_fastest=True)
            if soonest is None or soonest > FAR_AT_LEAST * tested:
                steady[columns] = tested
            else:
                if soonest > longest:
                    soon.append(f"{columns} on to {_roughly(soonest)} at least")
                else:
                    beyond.append(f"{columns} beyond {hours(longest)}")
        elif about <= longest:
            # A pace by which they would have failed already is refuted.
            beyond.append(f"{columns} beyond {hours(longest)}")
        else:
            said.append(f"{columns} on to about {_roughly(about)}")
    runs = [f"run {listed(own)} on to {words}" for words, own in to_span.items()]
    if said:
        rate = "rate" if len(said) == 1 else "rates"
        reach = f"where the {rate} seen would meet the limit: a plan and no result, for {rate}s may change"
        said = [f"run {listed(said)}, {reach}".replace("ratess", "rates")]
    if soon:
        there = "there" if len(soon) == 1 else "at these times"
        pace = f"by the fastest pace that these data allow they would meet the limit {there}"
        said.append(f"run {listed(soon)}: {pace}, by any other later or not at all")
    if beyond:
        said.append(f"run {listed(beyond)}; how far, the rates seen cannot say")
    if steady:
        ends = dict.fromkeys(hours(end) for end in (min(steady.values()), max(steady.values())))
        said.append(
            f"{listed(steady)} hardly moved towards the limit in "
            f"{' to '.join(ends)}; only a much longer or a harsher test would find it"
        )
    if (not runs and not said) or not links:
        return None
    return Claim(
        scope.claim_id("next", "run", "on"), run_together([*runs, *said]), "not settled", tuple(links)
    )


def _mostly_gone(evidence: Evidence, group: str) -> bool:
    """Return whether half the columns of a group failed by some limit or were ended: these do not run on."""
    failed = {one.column for one in evidence.judgement.first_failures if one.metric}
    columns = evidence.study.replicates(group)
    return 2 * sum(column.id in failed or column.ended is not None for column in columns) >= len(columns)


def _longest_h(evidence: Evidence, scope: Scope, group: str) -> float:
    """Return how long the column of a group was followed that was run longest, hours."""
    ends = (
        one.end_h or 0.0
        for one in evidence.judgement.declines
        if one.series.group == group and (one.series.marker, one.series.metric) == scope.deciding
    )
    return max(ends, default=0.0)


def _roughly(hours_: float) -> str:
    """Return hours of a plan, in two figures."""
    return with_unit(bound(hours_, 2, UP), "h")


def _limit_at_h(evidence: Evidence, scope: Scope, group: str, by_fastest: bool = False) -> float | None:
    """Return where the group would meet a limit at its rates, hours; None where it moves not towards it.

    Of several limits the first that it would meet. What followed the bottle tells no rate of the column, and
    what has come to rest goes on at none.
    """
    metrics: tuple[tuple[str, str], ...] = (scope.deciding,)
    if scope.by_any:
        metrics = tuple(dict.fromkeys(key_of(d) for d in evidence.judgement.declines if scope.concerns(d)))
    found = [
        at
        for metric in metrics
        if swing_of(evidence, metric) is None
        and not _rests(evidence, group, metric)
        and (at := _metric_limit_at_h(evidence, group, metric, by_fastest)) is not None
    ]
    return min(found, default=None)


def _rests(evidence: Evidence, group: str, metric: tuple[str, str]) -> bool:
    """Return whether a metric has come to rest on more than half of a group's columns."""
    columns = [column.id for column in under_one_stress(evidence.study, group)]
    return 2 * sum(comes_to_rest(evidence, column, *metric) for column in columns) > len(columns)


def _metric_limit_at_h(
    evidence: Evidence, group: str, metric: tuple[str, str], by_fastest: bool
) -> float | None:
    """Return where the group would meet one limit at the rate seen, or the fastest that its interval allows.

    First order where the metric falls, so that it never reaches nothing; a straight line where it rises.
    """
    life = evidence.group_life(group, *metric)
    rate = None if life is None else life.rate_per_h.high if by_fastest else life.rate_per_h.value
    percents = [
        decline.limit_percent
        for decline in evidence.judgement.declines
        if decline.series.group == group and key_of(decline) == metric and decline.limit_percent
    ]
    if life is None or not percents:
        return None
    limit = percents[0]
    if limit < 100:
        return log(100 / limit) / rate if rate and rate > 0 else None
    left, tested = life.remaining.value, life.tested_to_h
    if left is None or not tested or left <= 100 or limit == 100:
        return None
    return tested * (limit - 100) / (left - 100)


def _for_points(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[Claim]:
    """Return the cures of the points that bound the answer, as plans."""
    # More columns are asked for from other lots.
    few = frozenset[Pair]().union(*(p.pairs for p in points if p.check.id.startswith("replicates")))
    return [
        Claim(
            scope.claim_id("next", "mend", point.check.id),
            run_together(
                [f"{point.check.cure.rstrip('.')} ({mid_sentence(point.check.detail.rstrip('.'))})"]
            ),
            "not settled",
            because.of_points([point]),
        )
        for point in bearing_on(points, concerned(evidence, scope))
        if point.bound != "shown"
        and point.check.cure
        and not point.check.id.startswith("replicates")
        and not (point.check.id.startswith("different-lots") and point.pairs <= few)
        # What comes first of all is recommended already.
        and point != most_serious(evidence, points, scope)
    ][:2]
