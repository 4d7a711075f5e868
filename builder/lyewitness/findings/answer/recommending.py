"""What to do or to mind: each from claims, never stronger than they are, and at these conditions only.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`, the claims. Out: `Claim`s, most important first.
"""

import re
from collections import Counter
from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from math import inf

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import FirstFailure
from lyewitness.findings import because
from lyewitness.findings.answer.as_asked import elsewhere
from lyewitness.findings.answer.choosing import (
    PREFERRED_TO,
    PREFERRING,
    cost_is_open,
    dear_and_cheap,
    do_for_span,
    for_span,
    type_taken,
    which_level,
    which_type,
)
from lyewitness.findings.answer.costs import unpriced_groups
from lyewitness.findings.answer.course_replies import without_limit
from lyewitness.findings.answer.factor_replies import lot_replies
from lyewitness.findings.answer.first_to_pass import first_passed
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking
from lyewitness.findings.answer.reading_questions import RIGHT, read_question
from lyewitness.findings.answer.replacing import (
    HELD,
    LONE,
    NO_TIME,
    Replacement,
    fails_otherwise,
    replacement,
    span_and_runs,
)
from lyewitness.findings.answer.selecting import chooses_for_span, selecting_replies
from lyewitness.findings.answer.starting_plates import fewer_plates
from lyewitness.findings.answer.stress_words import conditions_words
from lyewitness.findings.answer.treatments import asks_treatment
from lyewitness.findings.answer.untested import ran_elsewhere
from lyewitness.findings.answer.use_claims import (
    asked_spans,
    concerned,
    held,
    short_of,
    span_words,
)
from lyewitness.findings.answer.ways_of_failing import asks_ways, asks_what_to_watch
from lyewitness.findings.audit.points import MOST_LETTERS, STRENGTHS, Point, bearing_on
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, GroupAdvice, Strength
from lyewitness.words.metrics import any_of, the_metric
from lyewitness.words.numbers import DASH
from lyewitness.words.phrases import (
    columns_of,
    listed,
    mid_sentence,
    run_together,
    share_of,
    spelled,
)

ENOUGH = 3
"""Columns a group of which the audit asks for no more."""

AS_IF = "injections are counted as if the method ran at the conditions of the stress throughout"


def advice(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking
) -> tuple[GroupAdvice, ...]:
    """Return what to do with each group, in one line: its place in the order, and when to replace it."""
    ranking = ranking.of_use
    found = [replacement(evidence, points, scope, group) for group in scope.groups]
    found.sort(key=lambda one: (one.group != ranking.longest, -_held_h(one)))
    lines = []
    dear, cheap = dear_and_cheap(evidence, points, scope)
    priced_open = cost_is_open(evidence, points, scope)
    for_span = {} if ranking.longest else do_for_span(evidence, points, scope)
    fewer = type_taken(evidence, scope, ranking, False)
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
            do, strength = f"{do}; not sure for {unsure}", min(strength, "indicated", key=STRENGTHS.index)
        elif do in PREFERRING or do.startswith(PREFERRED_TO):
            # Another limit has ended its columns: nobody takes them for the one that they kept.
            do = f"by this limit alone, {do}" if scope.failed_sooner(evidence, one.group) else do
        if one.group == fewer and fewer_plates(evidence, scope, fewer):
            do = f"{do}; mind its fewer plates"
        after, tested = _after(evidence, scope, one), _tested(evidence, scope, one)
        why = "" if one.group in _timed_groups(evidence, scope) else _why_no_time(one)
        lines.append(GroupAdvice(one.group, do, after, tested, strength, why))
    return tuple(lines)


def _why_no_time(one: Replacement) -> str:
    """Return why no time for replacing follows, without the lives that show it; empty where one does."""
    reason = one.words.removeprefix(f"{NO_TIME} {columns_of(one.group)}: ")
    return re.split(r" \(|; ", reason)[0] if one.safe_h is None else ""


def _unsure_for(evidence: Evidence, scope: Scope, group: str) -> str:
    """Return the span that the columns tested lasted and a next one need not; empty for none."""
    for about, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span) if about == group else None
        if found is not None and found.verdict == "indicated" and (found.next_h or span.hours) < span.hours:
            return span.words[:1].lower() + span.words[1:]
    return ""


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


def _after(evidence: Evidence, scope: Scope, one: Replacement) -> str:
    """Return when to replace a group; how long it held where none failed; a dash where no time follows."""
    if one.safe_h is None:
        return DASH
    if any(life.high is not None for life in one.lives):
        return span_and_runs(scope, one.safe_h)
    by = f" by {the_metric(*scope.deciding)}" if fails_otherwise(evidence, one.group) else ""
    return f"none failed{by} in {span_and_runs(scope, one.safe_h, HELD)}"


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
    dear, _ = dear_and_cheap(evidence, points, scope)
    priced_open = cost_is_open(evidence, points, scope)
    if without_limit(evidence, scope) is not None and not asks.lasting:
        cured = _cure(evidence, points, scope, planned)
        return _at_these_conditions(evidence, scope, [cured] if cured else [])
    several = len({group for group, _ in asked_spans(evidence, scope)}) > 1
    chosen = (
        for_span(evidence, points, scope, ranking, claims)
        if (asks.choice or (several and asks.yes_or_no)) and not ranking.longest
        else None
    )
    # `Does A outlast B?` is asked by who has to take one of them.
    tells_ways = (
        asks_ways(scope.question.text) or first_passed(evidence, scope, scope.question.text) is not None
    )
    # Who asks whether somebody is right takes none of them.
    treated = asks_treatment(scope)
    hearsay = RIGHT.search(scope.question.text) is not None and not asks.choice
    which = asks.choice or (
        not tells_ways and not hearsay and not treated and (not asks.narrow or len(scope.asked) > 1)
    )
    level = None if ranking.longest else which_level(evidence, scope, ranking, claims)
    choose = [
        (chosen if asked_spans(evidence, scope) else None)
        or level
        or chosen
        or (which_type(evidence, scope, ranking, claims, dear, priced_open, by_any) if which else None)
    ]
    selected = bool(selecting_replies(evidence, scope)) or chooses_for_span(evidence, scope)
    if selected:
        # The answer has named them.
        choose = [None]
    choose += [_price(evidence, scope)] if asks.cost else []
    # Of a flush or storage more columns of a type tell nothing.
    cure = [] if treated else [_cure(evidence, points, scope, planned)]
    one_span = len(scope.asked) == 1 and bool(asked_spans(evidence, scope))
    ran_there = ran_elsewhere(evidence, scope)
    by_time = (not ran_there and (not treated and (asks.lasting or not asks.narrow))) or one_span
    replace_by = _replace(evidence, points, scope) if by_time and not selected else []
    if choose[0] is not None and (taken := type_taken(evidence, scope, ranking, level is not None)):
        fewer = fewer_plates(evidence, scope, taken)
        choose[0] = replace(choose[0], text=run_together([choose[0].text, fewer])) if fewer else choose[0]
    # Who asks what use costs asks nothing of what to watch.
    watch = None if asks.cost and not asks.lasting else _watch(evidence, scope, claims)
    if chooses_for_span(evidence, scope):
        watch = None
    begins_with_it = len(scope.about) > 1 and asks_what_to_watch(scope.question.text)
    if begins_with_it or treated or lot_replies(evidence, scope, ranking):
        # The answer begins with it, or is about a lot.
        watch = None
    # What use costs is told up to whichever limit came first: no other one is left to mind.
    rest = [watch, *(_mind(points, scope) if not asks.cost or asks.lasting else [])]
    if one_span and elsewhere(evidence, scope) is not None and replace_by:
        replace_by = [_spare(evidence, scope), *replace_by]
    settled = bool(ranking.longest) and ranking.strength_of(ranking.longest) == "shown"
    if tells_ways:
        order = [*rest, *choose, *replace_by, *cure]
    elif settled or not choose[0]:
        order = [*choose, *replace_by, *rest, *cure]
    else:
        order = [*choose, *cure, *replace_by, *rest]
    return _at_these_conditions(evidence, scope, [found for found in order if found is not None])


def _spare(evidence: Evidence, scope: Scope) -> Claim:
    """Say to keep another column at hand where other conditions are asked about than were tested."""
    ((group, span), *_) = asked_spans(evidence, scope)
    text = f"for {span_words(span)} at your conditions, keep a second column at hand"
    links = because.of_declines(evidence, group, *scope.single)
    words = run_together([f"{text}: what these make of its life we have not measured"])
    return Claim(scope.claim_id("do", "spare"), words, "indicated", tuple(links))


def _at_these_conditions(evidence: Evidence, scope: Scope, found: Sequence[Claim]) -> tuple[Claim, ...]:
    """Return the recommendations, the first of which names the conditions that all of them are for."""
    if not found or found[0].id in (scope.claim_id("do", "mend"), scope.claim_id("do", "price")):
        # What is to be mended or stated is so at any conditions.
        return tuple(found)
    numbers = conditions_words(evidence.study, scope.groups).removeprefix("at ")
    # Beside the reader's own conditions `these` would be read as those.
    where = HERE if elsewhere(evidence, scope) is None else TESTED_HERE
    here = f"{where} ({numbers})" if numbers else where
    found = [replace(one, text=_as_settings(scope, one.text)) for one in found]
    first, *others = found
    if first.id == scope.claim_id("do", "spare"):
        # At the reader's own conditions.
        return (first, *_at_these_conditions(evidence, scope, others))
    return (replace(first, text=run_together([f"{here}, {mid_sentence(first.text)}"])), *others)


A_SETTING = re.compile(r"^(?:pH\s*\d+(?:\.\d+)?|\d+(?:\.\d+)?\s*°C)$")
"""The name of a group that is a setting of the method: who may choose works at it."""


def _as_settings(scope: Scope, text: str) -> str:
    """Return an advice with the settings it names in the place of columns: `work at pH 10.0`."""
    for group in scope.groups:
        if A_SETTING.match(group):
            whose = r"\s".join(map(re.escape, columns_of(group).split()))
            text = re.sub(f"take {whose}", f"work at {group}", text, flags=re.IGNORECASE)
    return text


def _price(evidence: Evidence, scope: Scope) -> Claim | None:
    """Ask for the prices without which nobody can say what use costs."""
    groups = unpriced_groups(evidence, scope)
    if not groups:
        return None
    of = "the columns" if len(groups) == len(scope.groups) else listed(map(columns_of, groups))
    text = f"state the price of {of}: the cost of use follows from it"
    links = tuple(link for group in groups for link in because.of_columns(evidence, group))
    return Claim(scope.claim_id("do", "price"), run_together([text]), "not settled", links)


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


def _timed_groups(evidence: Evidence, scope: Scope) -> Sequence[str]:
    """Return the groups of which it is said when to replace them, or why that is not known."""
    return [group for group, _ in asked_spans(evidence, scope)] or scope.asked or scope.groups


def _replace(evidence: Evidence, points: Sequence[Point], scope: Scope) -> list[Claim]:
    """Say after how long to replace columns: of the groups whose span is asked for, else of all."""
    if not scope.deciding[1]:
        return []
    groups = _timed_groups(evidence, scope)
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
        return _watch_each(evidence, scope, failed, firsts)
    which = "column" if len(failed) == total > 1 else "column that failed"
    where = share_of(len(own), len(failed), which).replace("column that faileds", "columns that failed")
    all_of = "all " if len(own) == len(failed) > 2 else ""
    where = where if not all_of or where.startswith("all ") else all_of + where
    doubtful = [f for f in own if f.tied_with]
    # What may have been first on one of several says nothing of the others.
    often = Counter(key for one in doubtful for key in ((one.marker, one.metric), *one.tied_with))
    ties = [one for one in _most_first(doubtful) if one != scope.deciding and 2 * often[one] > len(doubtful)]
    others = any_of(ties[: MOST_WATCHED - 1])
    as_early = ", others about as early" if len(ties) >= MOST_WATCHED else ""
    text = f"watch {the_metric(*scope.deciding)}: it crossed its limit first on {where}"
    if doubtful and not ties:
        text += f"; on {spelled(len(doubtful))} of them another may have been as early"
    elif len(doubtful) == len(own):
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


def _watch_each(
    evidence: Evidence, scope: Scope, failed: Sequence[FirstFailure], firsts: Sequence[Claim]
) -> Claim | None:
    """Say which metrics to watch on the columns of each group, where they do not fail by the same."""
    on: dict[str, list[str]] = {}
    more = ""
    for group in scope.about:
        own = [one for one in failed if one.group == group]
        metrics = _earliest_markers(evidence, group, _most_first(own))
        if own:
            on.setdefault(any_of(metrics[:MOST_WATCHED]), []).append(columns_of(group))
        if left := metrics[MOST_WATCHED:]:
            sure = any((one.marker, one.metric) in left and not one.tied_with for one in own)
            more = "; others came first on some columns" if sure else more or "; others were about as early"
    if not on:
        return None
    if len(on) == 1:
        ((which, where),) = on.items()
        text = f"watch what crossed its limit first: {which} on {listed(where)}{more}"
    else:
        told = "; ".join(f"on {listed(where)}, {which}" for which, where in on.items())
        text = f"watch what crossed its limit first: {told}{more}"
    strength: Strength = min((claim.strength for claim in firsts), key=STRENGTHS.index)
    return Claim(scope.claim_id("do", "watch"), run_together([text]), strength, because.of_claims(firsts))


def _earliest_markers(
    evidence: Evidence, group: str, found: Sequence[tuple[str, str]]
) -> list[tuple[str, str]]:
    """Return of each metric the marker that passes its limit earliest on the columns of a group."""

    def life(key: tuple[str, str]) -> float:
        told = evidence.group_life(group, *key)
        return told.life.hours.value or inf if told is not None else inf

    metrics = dict.fromkeys(metric for _, metric in found)
    return [min((key for key in found if key[1] == metric), key=life) for metric in metrics]


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
