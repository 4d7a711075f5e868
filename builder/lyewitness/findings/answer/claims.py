"""The claims of one answer: who outlasts whom, how long each group lasts, what fails first.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`. Out: `Claim`s with strength and because-links.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from math import ceil, floor, isclose

from lyewitness.decline.deciding import key_of
from lyewitness.decline.doubted import doubted_words
from lyewitness.decline.first_limits import ANY
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.lives import in_injections
from lyewitness.decline.records import Comparison, GroupLife, Life, LifeState
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.order_words import BY_ANY
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking, rank, why_words
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence, only_seen_shorter
from lyewitness.findings.records import Because, Claim, Strength
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import (
    between,
    failed_when,
    falling_past,
    falls_past,
    fell_past,
    has_own_verb,
    is_known,
    is_vague,
    lasting,
    moment_text,
    tell,
    tell_ratio,
)
from lyewitness.words.metrics import any_of, the_metric
from lyewitness.words.numbers import (
    interval,
    p_value,
    ratio_of,
    rounded,
    stated,
    with_unit,
)
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    kind_of,
    listed,
    opening,
    run_together,
    sentence,
    share_of,
    spelled,
    typical_column,
)


def corrected_words(comparison: Comparison, scope: Scope) -> str:
    """Return for how many comparisons a p value is corrected, and which question asks for them where another
    does.

    Of a question that was asked when the data were there it is said why another's are counted.
    """
    many = comparison.corrected_over
    if comparison.of_question is None:
        return f"corrected for all {spelled(many)} comparisons" if many > 1 else "the only comparison"
    other = next((one for one in scope.beside if one.id == comparison.of_question), None)
    whose = f"the question ‘{opening(other.text)}’" if other is not None else "this question"
    if many < 2:
        return f"the one comparison that {whose} asks for"
    if other is None:
        return f"corrected for {spelled(many)} comparisons"
    late = ": this one was asked after the last injection" if scope.is_late else ""
    return f"corrected for the {spelled(many)} comparisons of {whose}{late}"


def pair_claims(evidence: Evidence, scope: Scope, ranking: Ranking) -> Iterator[Claim]:
    """Say of every pair which lasts longer, that they last alike, or that we cannot tell.

    Pairs of which the factors of the design tell are left to them.
    """
    alike = _open_for_one_reason(ranking)
    if len(alike) > 1:
        yield _together(evidence, scope, alike)
    reasons: dict[str, Pairing] = {}
    for pairing in ranking.untold:
        if pairing in alike and len(alike) > 1:
            continue
        identity = scope.claim_id("pair", pairing.first, pairing.second)
        links: list[tuple[Because, ...]] = []
        if pairing.comparison is not None:
            links.append((because.of_comparison(pairing.comparison),))
        links.append(because.of_points(point for point in pairing.points if point.bound != "shown"))
        links += [
            because.of_declines(evidence, group, *scope.deciding) for group in (pairing.first, pairing.second)
        ]
        found = tuple(link for part in links for link in part) or because.of_columns(evidence, pairing.first)
        if pairing.slower:
            known = _is_unclear(evidence, (pairing.first, pairing.second), scope)
            none = f"no column of either {'is known to have reached' if known else 'reached'} the limit"
            corrected = f", {p_value(pairing.pace_p)} {OVER_RATES}" if pairing.pace_p is not None else ""
            text = run_together([f"{pace_words(pairing)}{corrected}", none])
            yield Claim(identity, text, pairing.pace, found)
            continue
        yield Claim(identity, _pair_text(evidence, scope, pairing, reasons), pairing.strength, found)


def any_limit_claims(evidence: Evidence, scope: Scope, ranking: Ranking) -> Iterator[Claim]:
    """Say of pairs that the deciding metric leaves open what whichever limit is passed first tells of them.

    `evidence` as `beside_what_decides` gives it.
    """
    reasons: dict[str, Pairing] = {}
    for pairing in ranking.by_any:
        last = "last" if pairing.strength == "shown" else "seem to last"
        order = f"{columns_of(pairing.first)} {last} longer than {columns_of(pairing.second)}"
        numbers = ratio_words(pairing, scope)
        text = run_together([f"{BY_ANY}, {order}{numbers}", _reason_words(pairing, reasons)])
        links = [because.of_comparison(pairing.comparison)] if pairing.comparison is not None else []
        for group in (pairing.first, pairing.second):
            links += because.of_declines(evidence, group, *ANY)
        identity = scope.claim_id("any", pairing.first, pairing.second)
        yield Claim(identity, text, pairing.strength, tuple(links))


def _open_for_one_reason(ranking: Ranking) -> tuple[Pairing, ...]:
    """Return the pairs of which nothing can be said because no column of either reached the limit.

    None where the rates tell some of them apart: then each pair is told for itself.
    """
    if any(pairing.slower for pairing in ranking.untold):
        return ()
    return tuple(
        pairing
        for pairing in ranking.untold
        if pairing.verdict == "open"
        and pairing.comparison is not None
        and pairing.comparison.p_value is None
        and min(pairing.comparison.columns_a, pairing.comparison.columns_b) > 1
        and not because.has_number(pairing.comparison.life_ratio)
    )


def _together(evidence: Evidence, scope: Scope, pairings: Sequence[Pairing]) -> Claim:
    """Return one claim for pairs that are open for the same reason."""
    groups = list(dict.fromkeys(group for p in pairings for group in (p.first, p.second)))
    links = tuple(because.of_comparison(p.comparison) for p in pairings if p.comparison is not None)
    longest = "longer" if len(groups) == 2 else "longest"
    which = f"which of {listed(columns_of(group) for group in groups)} last {longest}"
    if scope.named:
        which = f"{order_words.which(scope, len(groups) > 2)}, {listed(map(columns_of, groups), 'or')}"
    none = f"none of their columns {_reached_none(evidence, groups, scope)}"
    text = f"{CANNOT_TELL} {which}: {none}, nor do their rates of decline tell them apart"
    return Claim(scope.claim_id("pair", "none", "failed"), run_together([text]), "not settled", links)


def _reached_none(evidence: Evidence, groups: Iterable[str], scope: Scope) -> str:
    running = evidence.standing.running
    if _is_unclear(evidence, groups, scope):
        return "is known to have reached the limit " + ("so far" if running else "within the hours run")
    return "has reached the limit so far" if running else "reached the limit within the hours run"


def _is_unclear(evidence: Evidence, groups: Iterable[str], scope: Scope) -> bool:
    """Tell whether of some column of these groups it is not known whether it reached the deciding limit."""
    lives = [evidence.group_life(group, *scope.deciding) for group in groups]
    return any(life is not None and "unclear" in life.states for life in lives)


def _pair_text(evidence: Evidence, scope: Scope, pairing: Pairing, reasons: dict[str, Pairing]) -> str:
    first, second = columns_of(pairing.first), columns_of(pairing.second)
    numbers = ratio_words(pairing, scope)
    margin = stated(evidence.study.choices.equivalence_margin_percent)
    if (
        pairing.verdict == "open"
        and pairing.comparison is not None
        and because.has_number(pairing.comparison.life_ratio)
    ):
        # The ratio stands with the group on top for which it is above one.
        first, second = (columns_of(group) for group in because.upright(pairing.comparison)[:2])
    if scope.named:
        text = f"{_named_text(scope, pairing, with_unit(margin, '%'))}{numbers}"
    elif pairing.verdict == "longer":
        last = "last" if pairing.strength == "shown" else "seem to last"
        text = f"{first} {last} longer than {second}{numbers}"
    elif pairing.verdict == "alike":
        last = "last" if pairing.strength == "shown" else "seem to last"
        text = f"{first} and {second} {last} equally long, within {with_unit(margin, '%')}{numbers}"
    else:
        text = f"{CANNOT_TELL} whether {first} or {second} last longer{numbers}"
    return run_together([text, _rates_words(pairing), _reason_words(pairing, reasons)])


def _named_text(scope: Scope, pairing: Pairing, margin: str) -> str:
    """Return what is said of a pair where the question is about the course of a metric."""
    shown = pairing.strength == "shown"
    if pairing.verdict == "longer":
        return order_words.longer(scope, pairing.first, [pairing.second], shown)
    if pairing.verdict == "alike":
        pair = listed(columns_of(group) for group in (pairing.first, pairing.second))
        return order_words.alike(scope, pair, margin, shown)
    return order_words.open_between(scope, [pairing])


def _reason_words(pairing: Pairing, told: dict[str, Pairing]) -> str:
    """Return why a pair is not settled, or why the claim says 'seem'.

    `told`: the pairs with which reasons stand already; one of them is named instead.
    """
    reason = why_words([pairing])
    if not reason or pairing.verdict == "open":
        return reason
    if (first := told.setdefault(reason, pairing)) is not pairing:
        return f"we say ‘seem’ for the same reason as of {first.first} and {first.second}"
    clause = "tested" in reason or " was " in reason or "test was" in reason
    return f"we say ‘seem’ {'because' if clause else 'for this reason:'} {reason}"


def _rates_words(pairing: Pairing) -> str:
    """Return how the rates of decline compare where the lives cannot."""
    found = pairing.comparison
    if found is None or pairing.verdict != "open" or because.has_number(found.life_ratio):
        return ""
    low, high = found.rate_ratio.low, found.rate_ratio.high
    if low is None or high is None:
        return ""
    told = "their rates of decline cannot be told apart either"
    if low <= 1 <= high or pairing.pace_p is None:
        return told
    if pairing.pace_p < LITTLE_DOUBT:
        # Where columns failed, no order of lives follows from rates; that they differ is said all the same.
        slow, fast, ratio = found.group_a, found.group_b, found.rate_ratio
        if low > 1:
            slow, fast, ratio = fast, slow, because.turned(ratio)
        times = f"{ratio_of(ratio)} times as fast as {columns_of(fast)}"
        return f"while they ran, {columns_of(slow)} declined {times}, {p_value(pairing.pace_p)} {OVER_RATES}"
    # The table's interval is of this pair alone, and leaves out 1.
    return f"{told}: {p_value(pairing.pace_p)} {OVER_RATES}"


OVER_RATES = "(corrected for all comparisons of rates)"


def pace_words(pairing: Pairing) -> str:
    """Return `the A columns decline 0.50 times as fast as the B columns`; nothing where rates do not tell."""
    found = pairing.comparison
    if found is None or not pairing.slower:
        return ""
    slower = pairing.slower
    faster = next(group for group in pairing.groups if group != slower)
    ratio = found.rate_ratio if found.group_a == slower else because.turned(found.rate_ratio)
    decline = "decline" if pairing.pace == "shown" else "seem to decline"
    return f"{columns_of(slower)} {decline} {ratio_of(ratio)} times as fast as {columns_of(faster)}"


def ratio_words(pairing: Pairing, scope: Scope) -> str:
    """Return `: life ratio 4.3 (3.1 to 5.9), p = 0.009 (…)`, the longer-lived group on top."""
    comparison = pairing.comparison
    if comparison is None:
        return ""
    _, _, ratio = because.upright(comparison)
    # The ratio of one column to a group has the errors of these lives, not how far columns differ.
    lone = sorted((comparison.columns_a, comparison.columns_b))
    told = "" if lone[0] < 2 <= lone[1] else tell_ratio(ratio)
    parts = [f"{order_words.ratio_name(scope)} {told}"] if told else []
    if comparison.p_adjusted is not None:
        told = f"{corrected_words(comparison, scope)}{_alone(comparison, ratio)}"
        parts.append(f"{p_value(comparison.p_adjusted)} ({told})")
    return f": {', '.join(parts)}" if parts else ""


def _alone(comparison: Comparison, ratio: Estimate) -> str:
    """Return the p value of the pair alone where its interval, which is of the pair alone, leaves out 1.

    Beside a corrected p that settles nothing, such an interval would seem to say the opposite. Dunnett's
    procedure gives interval and p value for all groups at once.
    """
    adjusted, alone = comparison.p_adjusted, comparison.p_value
    out = (ratio.low or 0.0) > 1 or (ratio.high or float("inf")) < 1
    if comparison.control or not out or adjusted is None or alone is None or adjusted < LITTLE_DOUBT:
        return ""
    return f"; interval and {p_value(alone)} are of this pair alone"


LITTLE_DOUBT = 0.05
"""From here on a corrected p value settles nothing at 95 % (common practice)."""


def life_claims(
    evidence: Evidence, points: Sequence[Point], scope: Scope, kind: str = "life"
) -> Iterator[Claim]:
    """Say how long each group lasts by the deciding metric, in hours, column volumes and the asker's runs.

    `kind` stands in the claims' ids.
    """
    for group in scope.groups:
        life = evidence.group_life(group, *scope.deciding)
        if life is None:
            continue
        known = life.life.state in ("reached", "not reached") and not is_vague(life.life.hours)
        strength: Strength = "not settled" if not known else "indicated" if _is_wide(life.life) else "shown"
        links = (
            because.of_lives(),
            *because.of_decline_figure(*scope.deciding),
            *because.of_declines(evidence, group, *scope.deciding),
        )
        yield Claim(
            scope.claim_id(kind, group),
            _life_text(evidence, scope, life),
            bounded(strength, points, (group,)),
            links,
        )


def metric_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say what the metric that would decide by itself tells, where the answer rests on any limit."""
    ranking = rank(evidence, points, scope)
    by = f"by {the_metric(*scope.deciding)} alone"
    for pairing in ranking.pairings:
        if pairing.verdict != "longer" or pairing.comparison is None:
            continue
        last = "last" if pairing.strength == "shown" else "seem to last"
        order = f"{columns_of(pairing.first)} {last} longer than {columns_of(pairing.second)}"
        text = run_together([f"{by}, {order}{ratio_words(pairing, scope)}", _reason_words(pairing, {})])
        links = (because.of_comparison(pairing.comparison),)
        yield Claim(scope.claim_id("alone", pairing.first, pairing.second), text, pairing.strength, links)
    yield from life_claims(evidence, points, scope, "alone")


def _is_wide(life: Life) -> bool:
    """Return whether an end of the interval lies further than a factor of `WIDE` from the value."""
    value, low, high = life.hours.value, life.hours.low, life.hours.high
    if value is None or low is None or high is None:
        return False
    return low * WIDE < value or high > value * WIDE


WIDE = 2.0
"""A life known to no better is not shown: columns twice as good, or half, would have given the same data."""


def left_out_claims(evidence: Evidence, scope: Scope) -> Iterator[Claim]:
    """Say which doubtful peaks the life of each column is without, and what they would make of it."""
    for group in scope.groups:
        for column in evidence.study.replicates(group):
            decline = evidence.decline(column.id, *scope.deciding)
            if decline is None or decline.with_doubted is None:
                continue
            now, then = tell(decline.life), tell(decline.with_doubted)
            rests = f"the life of column {column.id}, {now}, leaves out {doubted_words(decline)} as doubtful"
            other = f"counted, it would read: {then}" if then != now else "counted, it would be the same"
            yield Claim(
                scope.claim_id("left-out", column.id),
                run_together([f"{rests}; {other}"]),
                "indicated",
                (
                    *because.of_declines(evidence, group, *scope.deciding),
                    *(Because("injection", name, name) for name in decline.doubted),
                ),
            )


def doubt_claims(evidence: Evidence, scope: Scope) -> Iterator[Claim]:
    """Say how long each group lasts without the doubtful injections that its life rests on."""
    without = evidence.without_doubtful
    for group in scope.groups:
        columns = {column.id for column in evidence.study.replicates(group)}
        own = {i.id for i in evidence.study.injections if i.column in columns}
        doubtful = [one for one in evidence.doubtful_in(scope.deciding) if one.injection in own]
        life = evidence.group_life(group, *scope.deciding)
        found = without.group_lives if without is not None else ()
        again = next(
            (one for one in found if (one.group, one.marker, one.metric) == (group, *scope.deciding)), None
        )
        if not doubtful or life is None or again is None or only_seen_shorter(life, again):
            continue
        now, then = tell(again.life), tell(life.life)
        change = f"{now} instead of {then}" if now != then else now
        last = "have" if has_own_verb(again.life) else "last" if now != then else "still last"
        named = listed(f"{one.injection} ({one.named})" for one in doubtful)
        which = "which is" if len(doubtful) == 1 else "which are"
        whose = columns_of(group) if len(columns) > 1 else f"column {next(iter(columns))}"
        yield Claim(
            scope.claim_id("doubt", group),
            run_together([f"without {named}, {which} doubtful but counted, {whose} would {last} {change}"]),
            "indicated",
            tuple(Because("injection", one.injection, one.injection) for one in doubtful),
        )


def _life_text(evidence: Evidence, scope: Scope, life: GroupLife) -> str:
    number = len(life.columns)
    # A typical life is told of further columns; a bound is what the columns tested did.
    is_typical = number > 1 and life.life.state == "reached"
    past = falls_past if is_typical or not is_known(life.life) else fell_past
    passes = f"{the_metric(life.marker, life.metric)} {past(life.limit)}"
    # The reason of a life that is not clear counts its columns already.
    clear = life.life.state in ("reached", "not reached")
    state = _states_text(life) if number > 1 and (clear or not life.reason) else ""
    if life.life.state == "not reached" and life.life.hours.low is not None:
        who = f"column {life.columns[0]}" if number == 1 else columns_of(life.group)
        kept = f"without {the_metric(life.marker, life.metric)} {falling_past(life.limit)}"
        text = f"{who} lasted {tell(life.life)} {kept}"
    elif life.life.state == "reached":
        lasted = (
            f"{typical_column(life.group)} lasts {tell(life.life)}"
            if is_typical
            else f"column {life.columns[0]} {lasting(life.life)}"
        )
        text = f"{lasted} until {passes}"
    else:
        text = _unclear_text(life, passes)
    wide = _wide_words(life) if is_typical else ""
    return run_together([text, state, _other_units(scope, life), _spread_text(evidence, life), wide])


FAR_BEYOND = 1.5
"""Times the last failure: an end of the typical life so far beyond all that was seen is explained."""


def _wide_words(life: GroupLife) -> str:
    """Return why an interval reaches far beyond all columns that failed; empty where it does not."""
    last = life.last.high or life.last.value or life.longest_h
    high = life.life.hours.high
    if last is None or high is None or high <= FAR_BEYOND * last or is_vague(life.life.hours):
        return ""
    number = spelled(len(life.columns))
    return (
        f"the interval is of the type, of which {number} columns tell little, and so wider than what was seen"
    )


def _unclear_text(life: GroupLife, passes: str) -> str:
    """Return what is known of a life that is not clear, and why it is not."""
    many = len(life.columns) > 1
    columns = columns_of(life.group) if many else f"column {life.columns[0]}"
    reason = f"; {life.reason}" if life.reason and many else ""
    if is_known(life.life):
        told = f"{columns} {lasting(life.life, 'lasted')}"  # what those tested did: of a further one no word
        metric = the_metric(life.marker, life.metric)
        what = f", by {metric}" if has_own_verb(life.life) else f" before {passes}"
        if not has_own_verb(life.life) and "reached" not in life.states:
            # None is known to have passed it.
            what = f" without {metric} surely {falling_past(life.limit)}"
        return f"{told}{what}{reason}"
    return f"{CANNOT_TELL} how long {columns} {'last' if many else 'lasted'} until {passes}{reason}"


def _states_text(life: GroupLife) -> str:
    """Return how many columns failed, outlived the test, or cannot be told."""
    number = len(life.columns)
    they = "it" if life.states.count("not reached") == 1 else "they"
    words: dict[LifeState, str] = {
        "reached": "failed",
        "not reached": f"stayed within the limit as long as {they} ran",
        "not measured": "not measured",
    }
    if life.states.count("unclear") == number:
        return "no column's life is known more closely"
    counts = [(life.states.count(state), said) for state, said in words.items()]
    if any(count == number for count, _ in counts):
        return listed(f"{share_of(count, number, 'column')} {said}" for count, said in counts if count)
    unclear = life.states.count("unclear")
    told = listed(f"{spelled(count)} {said}" for count, said in counts if count)
    return f"of {spelled(number)} columns {told}" + (
        f"; of {spelled(unclear)} {CANNOT_TELL}" if unclear else ""
    )


def _other_units(scope: Scope, life: GroupLife) -> str:
    """Return the same life in column volumes and in runs of the asker's method."""
    parts = []
    if is_vague(life.life.hours) or life.life.state not in ("reached", "not reached"):
        return ""
    if because.has_number(life.life.column_volumes):
        parts.append(f"{interval(life.life.column_volumes)} column volumes")
    if runs := runs_words(scope, life):
        parts.append(runs)
    return f"that is {listed(parts)}" if parts else ""


def runs_words(scope: Scope, life: GroupLife) -> str:
    """Return the life in runs of the asker's method; empty where no run time is stated."""
    minutes = scope.question.run_time_min
    if not minutes or not because.has_number(life.life.hours):
        return ""
    # Of the hours themselves: rounded outwards twice, the ends would stand apart from those told in hours.
    runs = in_injections(life.life.hours, minutes)
    value, low, high = runs.value, runs.low, runs.high
    # Nobody makes a tenth of an injection: ends go to the safe side.
    estimate = Estimate(
        round(value) if value is not None and life.life.state == "reached" else None,
        floor(low) if low is not None else None,
        ceil(high) if high is not None else None,
    )
    return f"{interval(estimate)} injections of {with_unit(stated(minutes), 'min')}"


SAME_H = 1e-6
"""Relative: a life that went through its logarithm is the same but for its last digits."""


def _whose(evidence: Evidence, life: GroupLife, hours: float) -> str:
    """Return the column of that life, ` (S3)`; nothing where only a bracket of it is known."""
    for one in evidence.judgement.declines:
        if key_of(one) == (life.marker, life.metric) and one.series.column in life.columns:
            found = one.life.hours.value
            if found is not None and isclose(found, hours, rel_tol=SAME_H):
                return f" ({one.series.column})"
    return ""


def _spread_text(evidence: Evidence, life: GroupLife) -> str:
    """Return which column failed first, which last, and when."""
    if len(life.columns) < 2 or life.shortest_h is None:
        return ""
    earliest, latest = (
        _whose(evidence, life, moment.value) if moment.value is not None else ""
        for moment in (life.first, life.last)
    )
    first, last = (failed_when(moment, life.life.hours) for moment in (life.first, life.last))
    if life.states.count("reached") == 1:
        return f"that one failed {first}"
    if life.longest_h is None:
        return f"the first of them{earliest} failed {first}"
    all_of_them = "both" if life.states.count("reached") == 2 else "all"
    if life.first.value is None and life.last.value is None:
        return f"{all_of_them} failed {between(life.first.low, life.last.high)}"
    told = {moment_text(moment, life.life.hours) for moment in (life.first, life.last)}
    if len(told) == 1:
        return f"{all_of_them} failed at about {told.pop()}"
    return f"the first of them{earliest} failed {first}, the last{latest} {last}"


def first_failure_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say of each group what failed first on its columns."""
    for group in scope.groups:
        inside = {column.id for column in under_one_stress(evidence.study, group)}
        firsts = [f for f in evidence.judgement.first_failures if f.column in inside and f.metric]
        if not firsts:
            continue
        total = len(inside)
        votes = Counter((first.marker, first.metric) for first in firsts)
        (marker, metric), count = votes.most_common(1)[0]
        which = share_of(count, len(firsts), f"{kind_of(group)} column")
        where = f"on {which}{' that failed' * (len(firsts) < total)}"
        own = [first for first in firsts if (first.marker, first.metric) == (marker, metric)]
        doubtful = sum(bool(first.tied_with) for first in own)
        often = Counter(tie for first in own for tie in first.tied_with)
        ties = dict.fromkeys(often)
        text = f"{where}, {the_metric(marker, metric)} failed first"
        everywhere = [tie for tie in ties if often[tie] == len(own)]
        if everywhere:
            may = any_of(((marker, metric), *everywhere))
            text = f"{where}, {may} failed first: these data cannot tell which"
        elif doubtful:
            text += f"; on {spelled(doubtful)} of them it may have been {any_of(ties)}"
        strength: Strength = "shown" if count == len(firsts) and not doubtful else "indicated"
        links = tuple(
            because.of_decline(decline)
            for first in firsts
            if (decline := evidence.decline(first.column, first.marker, first.metric)) is not None
        )
        if links:
            held = bounded(strength, points, (group,))
            yield Claim(scope.claim_id("first", group), run_together([text]), held, links)


def accelerated_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say what the stresses tell of other settings; never more than indicated, for a model stands between."""
    for fit in evidence.judgement.accelerated:
        inside = fit.group in scope.groups and (fit.marker, fit.metric) == scope.deciding
        said = [
            f"{_setting(fit.variable, setting)} {interval(life, 'h')}"
            for setting, life in fit.predictions
            if because.has_number(life)
        ]
        if not inside or not said:
            continue
        tested = listed(_setting(fit.variable, setting) for setting in fit.settings)
        text = f"by the rates at {tested}, {columns_of(fit.group)} should last: {listed(said)}"
        links: tuple[Because, ...] = because.of_declines(evidence, fit.group, fit.marker, fit.metric)
        identity = scope.claim_id("other", "settings", fit.group, fit.variable.lower())
        yield Claim(identity, sentence(text), bounded("indicated", points, (fit.group,)), links)


def _setting(variable: str, setting: float) -> str:
    return f"pH {rounded(setting, 3)}" if variable == "pH" else with_unit(rounded(setting, 2), "°C")
