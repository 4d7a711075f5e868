"""The short answer: the reply to what was asked, then a sentence or two that stand alone, with the lives.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`. Out: text; its verb says how strong
the claims behind it are.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from math import ceil, floor

from lyewitness.decline.doubted import left_out_words
from lyewitness.decline.factors import designs_of, levels_within
from lyewitness.decline.records import Decline, GroupLife
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.against_data import REPLIES, groups_by_factor, weigh
from lyewitness.findings.answer.already import already_replies
from lyewitness.findings.answer.as_asked import (
    asked_conditions,
    at_levels,
    between_replies,
    elsewhere,
    pooled,
)
from lyewitness.findings.answer.cost_replies import cost_replies
from lyewitness.findings.answer.course_replies import (
    asked_worse,
    course_replies,
    rate_replies,
    rated_metric,
    went_words,
    without_limit,
)
from lyewitness.findings.answer.expectation import HELPS
from lyewitness.findings.answer.factor_claims import headline_words
from lyewitness.findings.answer.factor_replies import (
    compared_levels,
    factor_replies,
    factors_untold,
    lot_replies,
    weighed,
)
from lyewitness.findings.answer.first_to_pass import first_passed
from lyewitness.findings.answer.levels_compared import judged_pairs, pairs_compared, seen_in_part
from lyewitness.findings.answer.lives_words import lives_words
from lyewitness.findings.answer.markers_in_turn import in_turn_replies
from lyewitness.findings.answer.one_limit import difference_replies, one_limit_replies
from lyewitness.findings.answer.order_told import (
    MOST_NAMED,
    beside_effects,
    led_words,
    ranked,
    single_columns,
)
from lyewitness.findings.answer.outlook import expected_passings, expected_together
from lyewitness.findings.answer.part_costs import worth_replies
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking, rank
from lyewitness.findings.answer.reading_questions import (
    COST,
    EARLIER,
    Expected,
    asked_sentence,
    read_expectation,
    read_question,
    read_ratio,
    wants_yes_or_no,
)
from lyewitness.findings.answer.replacing import replacement
from lyewitness.findings.answer.run_counts import run_replies
from lyewitness.findings.answer.selecting import chooses_for_span, selecting_replies
from lyewitness.findings.answer.side_by_side import (
    SEEN,
    better_seen,
    level_of_groups,
    seen,
    types_apart,
    varied_by,
)
from lyewitness.findings.answer.span_replies import reply_words, taken_together
from lyewitness.findings.answer.symptoms import symptom_checks, symptom_replies
from lyewitness.findings.answer.treatments import asks_treatment, treatment_replies
from lyewitness.findings.answer.untested import untested_replies
from lyewitness.findings.answer.use_claims import (
    RUNS,
    Held,
    answers,
    asked_spans,
    first_limit_words,
    held,
    other_limit_words,
    passed_on,
    sooner_by_any,
)
from lyewitness.findings.answer.ways_of_failing import ways_replies
from lyewitness.findings.answer.without_doubtful import without_doubtful
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.swings import swing_words
from lyewitness.findings.records import Claim
from lyewitness.study.factor_words import is_absent, is_presence
from lyewitness.study.questions import asked_metric, named_factors, named_levels
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import metric_of_marker, the_metric
from lyewitness.words.numbers import DOWN, UP, as_printed, bound, p_value, rounded, with_unit
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    hours,
    kind_of,
    listed,
    mid_sentence,
    run_together,
    sentence,
    share_of,
    spelled,
)


def replies(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return the direct answers to a question, what it asks first first."""
    if first := _first_replies(evidence, scope):
        return first
    if treated := treatment_replies(evidence, scope):
        return treated
    if between := between_replies(evidence, scope):
        return between
    if untested := untested_replies(evidence, scope):
        return untested
    if turns := in_turn_replies(evidence, scope):
        return turns
    if runs := run_replies(evidence, scope):
        return runs
    if lots := lot_replies(evidence, scope, ranking):
        return lots
    if course := course_replies(evidence, points, scope):
        return [*cost_replies(evidence, points, scope), *course]
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    told = [one for one in found if one is not None]
    if chooses_for_span(evidence, scope):
        told = [replace(one, sooner=one.sooner or sooner_by_any(evidence, scope, one)) for one in told]
    asked, other = asked_sentence(scope.question.text), elsewhere(evidence, scope)
    levels_of = level_of_groups(evidence, scope.groups, scope.question.text)
    spans = reply_words(told, asked, other, levels_of) if told else []
    # Who is to take one of several types wants their order before what was varied within them.
    levels = [] if _wants_order(evidence, scope) else _levels_words(evidence, scope)
    slowed = _slowed(evidence, points, scope)
    factors = [] if spans or slowed else factor_replies(evidence, points, scope, ranking)
    costs = worth_replies(evidence, points, scope, ranking) or cost_replies(evidence, points, scope)
    # What each part of a question gets stands before the details of any.
    parts = _as_asked(scope.question.text, costs, slowed)
    needed = _columns_needed(evidence, points, scope, told, other is not None) if spans else []
    often = HOW_OFTEN.search(scope.question.text) is not None
    if often and not wants_yes_or_no(scope.question.text):
        # How often it must be changed is answered before: yes or no would answer nothing.
        spans = [re.sub(r"^(No|Yes|Not reliably)(, for the columns tested)?: ", "", one) for one in spans]
    if needed and often:
        spans = [*needed[:1], *spans]
    elif needed and HOW_MANY.search(scope.question.text):
        # Who asks for a number gets that first, and what a `no` would answer behind it.
        spans = [needed[-1], spans[0].removeprefix("No: "), *spans[1:]]
    else:
        spans = [*spans, *needed[:1]]
    if not (spans or factors or slowed or costs):
        factors = _levels_seen(evidence, scope, ranking)
    factors = factors or (_helped(evidence, scope) if spans else [])
    said = [*spans, *factors[:1], *(one[0] for one in parts), *levels, *factors[1:]]
    said += [detail for one in parts for detail in one[1:]]
    if not said:
        said = difference_replies(evidence, points, scope, ranking)
    if not said:
        said = _yes_or_no(evidence, points, scope, ranking)
        if said and IS_WORSE.search(scope.question.text):
            said = [*said, *one_limit_replies(evidence, points, scope, ranking)]
    # Of types of mixed levels the rates are not the doing of what was varied.
    mixed = bool(factors) and bool(pooled(evidence, scope))
    return [*said, *([] if slowed or mixed else rate_replies(evidence, scope))]


def _first_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return whether the limit that a question names is the first to be passed; nothing where not asked."""
    first = first_passed(evidence, scope, scope.question.text)
    if first is None:
        return []
    wants_one = re.match(r"\s*(which|what)\b", scope.question.text, re.IGNORECASE)
    word = "" if wants_one else REPLIES.get(first.leaning, "")
    return [f"{word}: {first.words}" if word else first.words]


def _levels_seen(evidence: Evidence, scope: Scope, ranking: Ranking) -> list[str]:
    """Return what was seen of two levels that a question holds against each other, type by type, where no
    effect of the factor is settled; nothing where it holds none."""
    text = scope.question.text
    pairs = pairs_compared(evidence, scope, text)
    compared = compared_levels(evidence, text)
    if pairs is None or (compared is not None and weighed(ranking, compared) is not None):
        return []
    leaning, said = judged_pairs(evidence, scope, pairs)
    happens = order_words.passes(scope) if scope.named else "columns fail"
    part = seen_in_part(evidence, scope, pairs, compared, happens) if compared is not None else ""
    if leaning == "open" and part:
        return [f"in part: {part}", said]
    if leaning == "open":
        what = order_words.passes(scope) if scope.named else "which lasts longer"
        lead = f"{CANNOT_TELL} " + (f"where {what} earlier" if scope.named else what)
        return [f"{lead}: {said}"]
    return [f"{REPLIES[leaning]}: {said}"]


def _helped(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that a part helped, as far as was seen, where that is asked beside a span; else nothing."""
    text = scope.question.text
    for name in (
        named_factors(text, [factor.name for factor in evidence.study.factors]) if HELPS.search(text) else ()
    ):
        varied, better = varied_by(evidence, name), better_seen(evidence, scope, name)
        if varied is not None and better and is_presence(name, varied.levels) and not is_absent(better):
            return [f"the {name} helped: {SEEN} every column with it outlasted those without"]
    return []


def _columns_needed(
    evidence: Evidence, points: Sequence[Point], scope: Scope, told: Sequence[Held], is_elsewhere: bool
) -> list[str]:
    """Return how many columns of one type a span takes that none of them lasts: by their typical life, and
    where each is replaced as early as is advised; behind it the same for who asks how many to order.

    `So 300 injections take three to four of them: a typical one does 149 (116 to 189), so plan with 75`.
    """
    (one, *more) = told or (None,)
    if one is None or more or is_elsewhere or not one.failed or one.verdict != "contradicted":
        return []
    life = evidence.group_life(one.group, *scope.deciding)
    hours = life.life.hours if life is not None and life.life.state == "reached" else Estimate()
    if not (hours.value and hours.low and hours.high) or hours.low * MOST_COLUMNS < one.span.hours:
        return []
    sure = replacement(evidence, points, scope, one.group).safe_h or hours.low
    least, most = (max(1, ceil(one.span.hours / end)) for end in (hours.value, sure))
    if most > MOST_COLUMNS:
        return []
    run = scope.question.run_time_min
    if not run or not RUNS.search(one.span.words):
        each_h = with_unit(bound(one.span.hours / least, 2, UP), "h")
        would = f"; {spelled(least)} would do only if each lasted {each_h}"
        taken = f"{one.span.words} take {spelled(most)} of them, one after the other{would * (least < most)}"
        return [f"so {taken}", f"{spelled(most)}: {taken}"]
    each, low, high = (end * 60 / run for end in (hours.value, hours.low, hours.high))
    figures = len(str(int(each)))
    runs = f"{rounded(each, 2)} ({bound(low, figures, DOWN)} to {bound(high, figures, UP)})"
    # Of the hours that are advised, as printed: whoever reckons finds the same.
    enough = floor(as_printed(sure, 2, DOWN) * 60 / run + 1e-9)
    needed = ceil(one.span.hours * 60 / run / least - 1e-9)
    would = f"; {spelled(least)} would do only if each did {needed}" if least < most else ""
    each_does = f"a typical one does {runs}, so plan with {enough}{would}"
    return [f"so {one.span.words} take {spelled(most)} of them: {each_does}", f"{spelled(most)}: {each_does}"]


HOW_MANY = re.compile(
    r"\bhow many (?:\w+ ){0,3}columns\b|\border (?:one|two|three|four|another|more|\d+)\b", re.IGNORECASE
)
"""How a question sounds that asks for the number of columns."""
MOST_COLUMNS = 10
"""Columns for one span beyond which nobody asks how many it takes."""


def _as_asked(text: str, costs: list[str], slowed: list[str]) -> list[list[str]]:
    """Return what is said of costs and of what slows something, that first which is asked first."""
    of_cost, of_pace = COST.search(text), SLOWING.search(text)
    pace_first = of_cost is not None and of_pace is not None and of_pace.start() < of_cost.start()
    return [said for said in ((slowed, costs) if pace_first else (costs, slowed)) if said]


def _wants_order(evidence: Evidence, scope: Scope) -> bool:
    return read_question(scope.question.text, evidence.study.groups).choice


def _levels_words(evidence: Evidence, scope: Scope) -> list[str]:
    """Return how the columns at each level of what was varied within a type stand to a span asked about."""
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    return [words for one in found if one is not None for words in at_levels(evidence.study, one)]


SLOWING = re.compile(r"\b(slow(s|er|ed|ing)?|delay(s|ed)?|reduc(e|es|ed|ing)|lessens?)\b", re.IGNORECASE)
"""How a question sounds that asks whether one type keeps a metric from going as fast as another does."""


def _slowed(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[str]:
    """Return yes or no to `does A slow the tailing of the base?`, with the rates; nothing where not asked."""
    text, metric = scope.question.text, rated_metric(evidence, scope)
    asks = read_question(text, evidence.study.groups)
    if not (asks.yes_or_no and SLOWING.search(text)) or len(scope.compared) != 2 or not scope.asked:
        return []
    rates = rate_replies(evidence, scope)
    if not rates or metric not in asked_metric(text, evidence.study):
        return []
    subject = scope.asked[0]
    (other,) = (group for group in scope.compared if group != subject)
    found = rank(evidence, points, replace(scope, deciding=metric)).of(subject, other)
    slower = "" if found is None else found.slower or (found.first if found.verdict == "longer" else "")
    if found is None or not slower:
        name = the_metric(*metric)
        does = "rises" if f"{name} rises" in rates[0] else "falls"
        told = rates[0].replace(name, "it", 1)
        doubt = f" ({p_value(found.pace_p)})" if found is not None and found.pace_p is not None else ""
        slowly = f"{does} more slowly on {columns_of(subject)}{doubt}"
        return [f"{CANNOT_TELL} whether {name} {slowly}: {told}", *went_words(evidence, scope, metric)]
    strength = found.pace if found.slower else found.strength
    word = "Yes" if slower == subject else "No"
    return [f"{word}{'' if strength == 'shown' else f', {order_words.AS_FAR}'}: {rates[0]}", *rates[1:]]


def _factor_held(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return the factor whose effect is held against the ratio that a question asks about; empty for none."""
    text = scope.question.text
    if not read_question(text, evidence.study.groups).yes_or_no:
        return ""
    expected = read_expectation(
        asked_sentence(text), evidence.study.groups, None, groups_by_factor(evidence, ranking)
    )
    own = [v for v in ranking.factors if expected and v.effect.factor == expected.factor and not v.by_rate]
    several = len(own) > 1
    return "" if expected is None or expected.ratio is None or several else expected.factor


def _yes_or_no(evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking) -> list[str]:
    """Return yes or no to `do A outlast B?` and `does A fail first?`, read as an expectation would be."""
    text = scope.question.text
    if not read_question(text, evidence.study.groups).yes_or_no:
        return []
    factors = groups_by_factor(evidence, ranking)
    expected = read_expectation(
        asked_sentence(text), evidence.study.groups, scope.question.run_time_min, factors
    )
    if scope.named and (worse := asked_worse(evidence, scope)):
        expected = Expected("shortest", (worse,))
    if expected is None and len(scope.asked) == 2 and IS_WORSE.search(text):
        expected = Expected("longer", scope.asked[::-1])
    if expected is None and read_ratio(asked_sentence(text)) is not None:
        return ["the question does not say beyond doubt which lives are to stand in the ratio that it names"]
    if expected is None or expected.span is not None:
        return _on_how_many(evidence, scope) if expected is None else []
    judged = weigh(evidence, points, scope, ranking, expected)
    if judged.leaning in REPLIES:
        return [f"{REPLIES[judged.leaning]}: {judged.words}"]
    if judged.leaning not in ("open", "fits") or one_limit_replies(evidence, points, scope, ranking):
        return []
    if longer := _longer_at_least(evidence, scope, expected):
        return [f"{longer}; that it is so much is not settled: {judged.words}"]
    if scope.named and judged.words.startswith("it is not settled between "):
        # Where no order is told, who asks after a shape still wants to hear on which columns it went.
        seen = passed_on(evidence, scope)
        did = f": it did {seen}" if seen else ""
        return [f"{CANNOT_TELL} {order_words.which(scope, len(scope.groups) > 2)}{did}"]
    open_between = judged.words.removeprefix("it is not settled between ")
    said = f": {judged.words}"
    if open_between != judged.words:
        of = "in" if open_between.endswith("pairs of groups") else "of"
        said = f" which lasts longer {of} {open_between.replace(', nor between ', ', nor of ')}"
    return [f"{CANNOT_TELL}{said}"]


IS_WORSE = re.compile(r"\b(worse|less stable|less durable)\b", re.IGNORECASE)
"""How it sounds that the first of two types named is asked to be the worse."""


def _longer_at_least(evidence: Evidence, scope: Scope, expected: Expected) -> str:
    """Return that a type outlasted the other, where it is asked whether by so many times; empty where not
    every column did."""
    if not expected.ratio or expected.ratio == 1 or expected.factor or len(expected.groups) != 2:
        return ""
    first, second = expected.groups if expected.ratio > 1 else expected.groups[::-1]
    apart = types_apart(evidence, scope, first, second)
    if apart is None or apart.longer != first:
        return ""
    than = f"{columns_of(first)} lasted longer in this test than {columns_of(second)}"
    return f"{'longer, yes' if expected.ratio > 1 else 'less, yes'}: {than}"


def _on_how_many(evidence: Evidence, scope: Scope) -> list[str]:
    """Return on how many columns the metric that a question names passed its limit: `does the base tail?`."""
    columns = [column.id for group in scope.groups for column in evidence.study.replicates(group)]
    found = [d for c in columns if (d := evidence.decline(c, *scope.deciding)) is not None]
    passed = _passed(found)
    if not scope.named or not found:
        return []
    if not passed and any(decline.life.state != "not reached" for decline in found):
        return []
    if passed and (places := _places_compared(evidence, scope, found)):
        return [f"{order_words.passes(scope)} {places}"]
    words = f"{order_words.passes(scope)} on {share_of(passed, len(found), 'column')}"
    return [f"{'Yes' if passed == len(found) else 'In part' if passed else 'No'}: {words}"]


def _places_compared(evidence: Evidence, scope: Scope, found: Sequence[Decline]) -> str:
    """Return on how many columns of each level of the factor that a question names, or of each group, a limit
    was passed: `on three of five B columns (two more may have) and on none of the four A columns`.

    Nothing where the question does not ask on which of several it comes earlier.
    """
    text = scope.question.text
    if not EARLIER.search(text):
        return ""
    names = named_factors(text, [factor.name for factor in evidence.study.factors])
    varied = next((one for design in designs_of(evidence.study) for one in design if one.name in names), None)
    at: dict[str, list[Decline]] = {}
    for decline in found:
        column = decline.series.column
        place = varied.of.get(column, "") if varied else kind_of(decline.series.group)
        at.setdefault(place, []).append(decline)
    if len(at) < 2 or "" in at:
        return ""
    said = []
    for place, own in sorted(at.items(), key=lambda one: -_passed(one[1]) / len(one[1])):
        perhaps = sum(d.life.state == "unclear" and d.life.bracket_h[1] is not None for d in own)
        more = f" ({spelled(perhaps)} more may have)" if perhaps else ""
        said.append(f"on {share_of(_passed(own), len(own), f'{place} column')}{more}")
    return listed(said)


def _passed(declines: Sequence[Decline]) -> int:
    return sum(decline.life.state == "reached" for decline in declines)


HOW_OFTEN = re.compile(
    r"\b(how (often|soon)|when)\b.*\b(change|changed|replace|replaced|exchange|exchanged|swap|renew)\b"
    r"|\breplacement interval\b|\bafter how (long|many)\b",
    re.IGNORECASE,
)
"""How a question sounds that asks after how long columns are to be replaced."""


def headline(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    signs: Sequence[Claim] = (),
) -> str:
    """Return the answer in a sentence or two; what the question asks of a time comes first.

    `signs`: what the signs point to, told where the question is how columns fail.
    """
    lives = [life for g in scope.groups if (life := evidence.group_life(g, *scope.deciding)) is not None]
    if scope.limit is None or not lives:
        return _without_lives(evidence, scope)
    if without_limit(evidence, scope) is not None:
        return run_together(
            [*_how_often(evidence, points, scope), *replies(evidence, points, scope, ranking)]
        )
    lives.sort(key=lambda life: -(life.life.hours.value or life.life.hours.low or 0.0))
    ways = ways_replies(evidence, scope, signs)
    symptoms = symptom_replies(evidence, scope)
    already = already_replies(evidence, scope, ranking)
    asked = [
        *symptoms,
        *ways,
        *_how_often(evidence, points, scope),
        *([] if symptoms else replies(evidence, points, scope, ranking)),
        *(symptom_checks(scope) if symptoms else []),
    ]
    if selected := selecting_replies(evidence, scope):
        # Who sorts many types wants none told pair by pair.
        spans = asked[:1] if asked_spans(evidence, scope) else []
        return run_together([*already, *selected, *spans])
    wants_order = _wants_order(evidence, scope)
    settles = chooses_for_span(evidence, scope) or asks_treatment(scope)
    if asked and (not wants_order or settles):
        asks = read_question(scope.question.text, evidence.study.groups)
        # Whoever asks how fast it goes has the rates; whoever asks for lives as well gets both.
        enough = asks.rate and not asks.lasting and len(asked) > 1
        # What a type lasts of which the levels are told apart describes no column.
        enough = enough or (bool(where := passed_on(evidence, scope)) and any(where in one for one in asked))
        enough = enough or (bool(asked_spans(evidence, scope)) and bool(pooled(evidence, scope)))
        # Beside how many lasted the time asked about, when and by which limit, a bare bound says less.
        enough = enough or (bool(asked_spans(evidence, scope)) and not _any_reached(scope, lives))
        enough = enough or _tells_what_was_seen(evidence, scope, asked)
        priced = asks.cost and any(one.startswith(SEEN) for one in asked)
        enough = enough or priced
        enough = enough or bool(ways) or _tells_spans_together(evidence, scope)
        enough = enough or bool(between_replies(evidence, scope)) or asks_treatment(scope)
        enough = (
            enough
            or chooses_for_span(evidence, scope)
            or bool(run_replies(evidence, scope))
            or bool(untested_replies(evidence, scope))
        )
        enough = enough or bool(_levels_seen(evidence, scope, ranking))
        beside = [] if enough else [_lives_asked_about(evidence, scope, lives), *pooled(evidence, scope)]
        asked = _with_yes_or_no(evidence, scope, asked)
        return run_together([*already, *asked, *beside, *_to_know(evidence, scope, priced=priced)])
    wanted = _of_types(evidence, scope, ranking)
    if wanted is not None:
        ranking, scope = wanted, replace(scope, groups=scope.asked)
        lives = [life for life in lives if life.group in scope.asked]
    by_life = [verdict for verdict in ranking.factors if not verdict.by_rate]
    know = [*_levels_words(evidence, scope), *_to_know(evidence, scope, bool(ranking.by_any))]
    said = (
        beside_effects(evidence, ranking, lives, scope)
        if by_life
        else ranked(evidence, scope, ranking, lives)
    )
    if not by_life and wanted is None:
        by_one = one_limit_replies(evidence, points, scope, ranking)
        both = ranking.of(*scope.compared) if by_one else None
        lead = both is not None and both.verdict == "open"
        said = [*by_one, *said] if lead else [*said[:1], *by_one, *said[1:]]
    untold = (
        []
        if by_life or scope.by_any or wanted is not None
        else [one for one in factors_untold(evidence, scope) if one not in asked]
    )
    if untold and len(ranking.open_pairs) == len(ranking.pairings):
        said = [*untold, *single_columns(evidence, scope), lives_words(evidence, lives, scope)]
    told = _factor_held(evidence, scope, ranking)
    # Where lives tell nothing, of a pace that is open, too, no second word is said.
    verdicts = [v for v in ranking.factors if by_life or v.verdict != "open"]
    # Of what a factor may do that varies within the types nobody asked who does not name it.
    about = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    within = {name for group in scope.groups for name in levels_within(evidence.study, group)} - {*about}
    verdicts = [v for v in verdicts if v.verdict != "open" or v.effect.factor not in within]
    # Who names one factor asks nothing of another.
    verdicts = [v for v in verdicts if not about or v.effect.factor in about]
    # What every column showed stands for the pace, too.
    shown = {
        name for name in about if (words := seen(evidence, scope, name)) and any(words in o for o in asked)
    }
    verdicts = [v for v in verdicts if not (v.by_rate and v.effect.factor in shown)]
    running = evidence.standing.running
    effects = [
        # What reads as a ratio of lives while nobody knows any is none.
        re.sub(r" to [^ ]+ \([^()]*\) times its rate", "", words) if running else words
        for words in headline_words([verdict for verdict in verdicts if verdict.effect.factor != told])
        if not any(one.endswith(mid_sentence(words.rstrip("."))) for one in asked)
    ]
    asked = _with_yes_or_no(evidence, scope, asked)
    untold_only = not asked or asked[0].lower().startswith(CANNOT_TELL)
    if by_life and untold_only and all(one.verdict == "open" for one in by_life):
        # Where no effect is settled, what did best in the test says more than that.
        seen_first = (
            first_limit_words(evidence, scope) if scope.by_any else [lives_words(evidence, lives, scope)]
        )
        if led := led_words(evidence, scope, ranking, seen_first):
            rest = sorted([*asked, *effects], key=lambda one: one.lower().startswith(CANNOT_TELL))
            return run_together([*already, *led, *rest, *pooled(evidence, scope), *know])
    if untold and said[: len(untold)] == untold:
        return run_together([*already, *asked, *untold, *effects, *said[len(untold) :], *know])
    return run_together([*already, *asked, *effects, *said, *pooled(evidence, scope), *know])


WORTH = re.compile(r"\b(worth|pays?|cheap(er|est)?|economical|afford|less)\b", re.IGNORECASE)
"""How a question on cost sounds of which yes says that use costs less."""


def _with_yes_or_no(evidence: Evidence, scope: Scope, said: list[str]) -> list[str]:
    """Return what is said first of what was seen with the yes or no that it is to who asks for that."""
    asks = read_question(scope.question.text, evidence.study.groups)
    if not said or not said[0].startswith(SEEN) or not asks.yes_or_no or scope.named:
        return said
    if asks.cost:
        # `Is the dear one really dear?` would get the yes of `is it worth its price?`.
        pays = WORTH.search(scope.question.text) is not None
        return [f"yes, {said[0]}", *said[1:]] if pays else said
    names = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    better = next((level for name in names if (level := better_seen(evidence, scope, name))), "")
    varied = next((one for name in names if (one := varied_by(evidence, name)) is not None), None)
    if not better or varied is None or not is_presence(varied.name, varied.levels):
        return said
    return [f"{'no' if is_absent(better) else 'yes'}, {said[0]}", *said[1:]]


def _of_types(evidence: Evidence, scope: Scope, ranking: Ranking) -> Ranking | None:
    """Return the ranking of the types alone that a question sets against each other, in a design whose
    factors it does not name, by their levels either; None where it names one, or nothing is said of any."""
    text = scope.question.text
    named = named_factors(text, [factor.name for factor in evidence.study.factors])
    if len(scope.asked) < 2 or not ranking.factors or named:
        return None
    if any(named_levels(text, factor) for factor in evidence.study.factors):
        return None
    own = tuple(one for one in ranking.pairings if one.groups <= {*scope.asked})
    return replace(ranking, groups=scope.asked, pairings=own, factors=(), told=frozenset(), alone=frozenset())


def _tells_spans_together(evidence: Evidence, scope: Scope) -> bool:
    """Return whether the reply says in one sentence how all groups stand to the span that is asked about."""
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    levels = level_of_groups(evidence, scope.groups, scope.question.text)
    told, asked = [one for one in found if one is not None], asked_sentence(scope.question.text)
    return bool(told and taken_together(told, asked, elsewhere(evidence, scope), levels))


def _tells_what_was_seen(evidence: Evidence, scope: Scope, said: Sequence[str]) -> bool:
    """Return whether the lives at the levels of a factor that is named stand side by side already."""
    names = named_factors(scope.question.text, [factor.name for factor in evidence.study.factors])
    told = [words for name in names if (words := seen(evidence, scope, name))]
    return any(words in one for words in told for one in said)


def _to_know(evidence: Evidence, scope: Scope, limits_told: bool = False, priced: bool = False) -> list[str]:
    """Return what a reader must know beside the lives: other limits, where these are not told yet, what is
    expected of a running test, and the bottle."""
    own = {column.id for group in scope.groups for column in evidence.study.replicates(group)}
    several = len(scope.groups) > 1
    sound = without_doubtful(evidence, scope)
    soonest = [one for one in expected_passings(evidence) if one.column in own]
    expected = [f"by their courses so far, {expected_together(soonest[:MOST_NAMED])}"] if soonest else []
    return [
        *sound,
        *([] if _told_elsewhere(evidence, scope) else asked_conditions(evidence, scope)),
        *([] if limits_told or (scope.by_any and several) or priced else other_limit_words(evidence, scope)),
        *expected,
        *swing_words(evidence, scope.single, scope.groups),
    ]


def _told_elsewhere(evidence: Evidence, scope: Scope) -> bool:
    """Return whether the reply has said already that the columns were tested at other conditions."""
    found = [held(evidence, scope, group, span) for group, span in asked_spans(evidence, scope)]
    told = any(one is not None and answers(one) for one in found)
    return told or bool(between_replies(evidence, scope)) or bool(untested_replies(evidence, scope))


def _how_often(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[str]:
    """Return after how long to replace the columns of each group, where the question asks that."""
    if not HOW_OFTEN.search(scope.question.text):
        return []
    groups = scope.asked or scope.groups
    return [replacement(evidence, points, scope, group).words for group in groups]


def _without_lives(evidence: Evidence, scope: Scope) -> str:
    seen = what_was_seen(evidence, scope)
    if not evidence.study.limits:
        what = "the column lasts" if len(evidence.study.columns) == 1 else "the columns last"
        return run_together([f"{CANNOT_TELL} how long {what}: the study names no limit", seen])
    told = [d for d in evidence.judgement.declines if d.reason != left_out_words(d)]
    reasons = dict.fromkeys(d.reason for d in told)
    why = listed(list(reasons)[:2]) if reasons else "no metric with a limit was measured"
    groups = listed(columns_of(group) for group in scope.groups)
    return run_together([f"{CANNOT_TELL} how long {groups} last: {why}", seen])


def _lives_asked_about(evidence: Evidence, scope: Scope, lives: Sequence[GroupLife]) -> str:
    """Return the lives of the groups that the question names, or of all."""
    return lives_words(evidence, [life for life in lives if life.group in scope.asked] or lives, scope)


def _any_reached(scope: Scope, lives: Sequence[GroupLife]) -> bool:
    """Return whether a life of the groups that a question names, or of any, is more than a bound."""
    own = [life for life in lives if life.group in scope.asked] or lives
    return any(life.life.state == "reached" and life.life.hours.value is not None for life in own)


METRICS = ("plate_number_half_height", "retention_factor", "symmetry_factor", "retention_time_min")


def what_was_seen(evidence: Evidence, scope: Scope) -> str:
    """Return by how much the metric that moved most went from the first to the last injection, per group."""
    said = []
    for group in scope.groups:
        moves = [
            (abs(last / first - 1), column.id, marker.id, metric, first, last)
            for column in evidence.study.replicates(group)
            for marker in evidence.study.markers
            if marker.role != "void"
            for metric in METRICS
            if len(values := evidence.values(column.id, marker.id, metric)) > 1
            and (first := values[0])
            and (last := values[-1])
        ]
        plates = [move for move in moves if move[3] == METRICS[0]]
        if not moves:
            continue
        _, column_id, marker_id, metric, first, last = max(plates or moves)
        seen = evidence.hours(column_id)
        said.append(
            f"in {hours(seen[-1] - seen[0])} the {metric_of_marker(marker_id, metric)} "
            f"{_went(first, last)} from {_shown(first)} to {_shown(last)} on {column_id}"
        )
    return " ".join(sentence(one) for one in said)


def _went(first: float, last: float) -> str:
    return "fell" if last < first else "rose"


def _shown(value: float) -> str:
    """Return a measured value with three figures, whole thousands in digits."""
    return rounded(float(f"{value:.3g}"), 3)
