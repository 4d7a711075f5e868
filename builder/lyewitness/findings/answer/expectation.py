"""What was believed before the data, held against them.

In: the expectation of a question, `Evidence`, a `Ranking`, the claims. Out: one `Claim`. Where the
words cannot be read beyond doubt, the reader is told what the data say, and judges.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import inf
from typing import TypeVar

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.against_data import (
    Judged,
    Leaning,
    groups_by_factor,
    held_against,
    is_about,
    of_factor,
    span_held,
    weigh,
)
from lyewitness.findings.answer.cost_claims import cost_words, unit_of
from lyewitness.findings.answer.costs import cost_ratios
from lyewitness.findings.answer.course_replies import TAILS, ends_of
from lyewitness.findings.answer.factor_claims import (
    upright,
)
from lyewitness.findings.answer.factor_replies import (
    compared_levels,
    comparison_words,
    weighed,
)
from lyewitness.findings.answer.first_to_pass import FIRST, first_passed
from lyewitness.findings.answer.levels_compared import judged_pairs, pairs_compared
from lyewitness.findings.answer.markers_in_turn import InTurn, markers_in_turn
from lyewitness.findings.answer.question_scope import Metric, Scope
from lyewitness.findings.answer.ranking import Ranking, rank
from lyewitness.findings.answer.reading_questions import (
    CLAUSES,
    COST,
    NEGATED,
    REASONING,
    Clause,
    Expected,
    in_full,
    own_span,
    read_clauses,
    read_expectation,
    read_question,
    with_subject,
)
from lyewitness.findings.answer.use_claims import (
    asked_spans,
    held,
)
from lyewitness.findings.answer.ways_expected import WayExpected, ways_expected
from lyewitness.findings.answer.ways_of_failing import asks_ways
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.study.questions import asked_metric, named_factors, named_groups, words_of
from lyewitness.words.lives import tell_ratio
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import (
    CANNOT_TELL,
    down,
    hours,
    kind_of,
    listed,
    run_together,
    share_of,
)

LEADS: Mapping[Leaning, str] = {
    "borne out": "the data bear the expectation out: ",
    "same way": "the data point the expected way: ",
    "fits": "the data are in keeping with the expectation: ",
    "in part": "the data bear the expectation out in part: ",
    "more": "the data show more than was expected: ",
    "not seen": "we did not see that: ",
    "contradicted": "the data contradict the expectation: ",
    "against": "the data lean against the expectation: ",
    "seen so": "in this test it was so, though not settled for further columns: ",
    "seen otherwise": "in this test it was otherwise, though not settled for further columns: ",
    "open": f"{CANNOT_TELL} whether the expectation holds: ",
    "unread": "we leave the judgement to you; the data say: ",
}
AGAINST = ("contradicted", "against")
"""Verdicts that a reader must not miss."""
CLAUSE_LEADS: Mapping[Leaning, str] = {
    "borne out": "the data bear out ‘{0}’: ",
    "same way": "the data point the way of ‘{0}’: ",
    "fits": "the data are in keeping with ‘{0}’: ",
    "in part": "the data bear out ‘{0}’ in part: ",
    "more": "the data show more than ‘{0}’: ",
    "not seen": "we did not see ‘{0}’: ",
    "contradicted": "the data contradict ‘{0}’: ",
    "against": "the data lean against ‘{0}’: ",
    "seen so": "in this test ‘{0}’ was so, though not settled for further columns: ",
    "seen otherwise": "in this test it was otherwise than ‘{0}’, though not settled for further columns: ",
    "open": f"{CANNOT_TELL} whether ‘{{0}}’ holds: ",
    "unread": "of ‘{0}’ we leave the judgement to you",
}
"""What the verdicts are on one of several statements."""
STRENGTHS: Mapping[Leaning, Strength] = {
    "borne out": "shown",
    "same way": "indicated",
    "fits": "indicated",
    "in part": "indicated",
    "more": "indicated",
    "not seen": "not settled",
    "contradicted": "contradicted",
    "against": "indicated",
    "seen so": "not settled",
    "seen otherwise": "not settled",
    "open": "not settled",
    "unread": "not settled",
}
Statement = TypeVar("Statement", WayExpected, InTurn)
"""What was expected of how columns fail."""


def expectation_verdict(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Return whether the expectation held; None where the question has none."""
    text = scope.question.expectation.strip()
    if not text:
        return None
    factors = groups_by_factor(evidence, ranking)
    meant = named_factors(scope.question.text, list(factors))
    full = in_full(text, scope.question.text, scope.groups)
    plain = with_subject(full, meant[0]) if len(meant) == 1 else full
    clauses = read_clauses(plain, evidence.study.groups, scope.question.run_time_min, factors)
    if read_question(scope.question.text, scope.groups).rate:
        # `It does nothing` to one who asks whether it slows a decline.
        clauses = tuple(map(_of_rates, clauses))
    clauses = tuple(_in_own_weeks(clause, scope) for clause in clauses)
    if (by_effect := _of_effect(scope, ranking, plain, text, meant, claims)) is not None:
        return by_effect
    if (by_ways := _of_ways(evidence, scope, text, claims)) is not None:
        return by_ways
    if (by_first := _of_first_limit(evidence, scope, text)) is not None:
        return by_first
    if (by_statement := _of_mixed(evidence, points, scope, ranking, text, factors, claims)) is not None:
        return by_statement
    if (by_level := _of_levels(evidence, scope, ranking, clauses, claims)) is not None:
        return by_level
    if all(clause.expected is None for clause in clauses) and not any(
        _of_pairs(evidence, scope, ranking, clause) for clause in clauses
    ):
        if (by_part := _of_parts(evidence, points, scope, text)) is not None:
            return by_part
        clauses = (Clause(text, None),)
    judged = [
        _choice_for_span(evidence, points, scope, clause.expected)
        or _of_pairs(evidence, scope, ranking, clause)
        or weigh(evidence, points, *_on_its_metric(evidence, points, scope, ranking, clause), clause.expected)
        for clause in clauses
    ]
    told = [clause for clause in clauses if clause.expected is not None] or clauses
    own = {name for clause in told for name in _relevant(scope, ranking, clause.expected)}
    links = because.of_claims(claim for claim in claims if claim.id in own)
    return Claim(
        scope.claim_id("expectation"),
        run_together(_verdict_words(clauses, judged)),
        _strength_of(judged),
        links or because.of_columns(evidence, scope.groups[0]),
    )


def _on_its_metric(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, clause: Clause
) -> tuple[Scope, Ranking]:
    """Return the scope and ranking by the metric that a statement on an order names, where that is not the
    one that decides the question and has a limit."""
    if clause.expected is None or clause.expected.kind not in ORDERS:
        return scope, ranking
    named = list(asked_metric(clause.words, evidence.study))
    limits = {key_of(one): one.limit for one in evidence.judgement.declines if one.limit is not None}
    own = [key for key in named if key in limits]
    if not own or len({metric for _, metric in own}) > 1 or (scope.deciding in named and not scope.by_any):
        return scope, ranking
    # Of several markers the one that fails first: where it holds, the others do.
    first = min(own, key=lambda key: min(_ends(evidence, scope, key), default=inf))
    by_own = replace(scope, deciding=first, limit=limits[first], named=True)
    return by_own, rank(evidence, points, by_own)


def _ends(evidence: Evidence, scope: Scope, key: Metric) -> list[float]:
    """Return the typical lives of the groups by one limit, as far as they are known, hours."""
    lives = [evidence.group_life(group, *key) for group in scope.groups]
    return [life.life.hours.value for life in lives if life is not None and life.life.hours.value]


ORDERS = ("shortest", "longest", "longer", "not shorter", "alike")
"""What is expected of which type comes before which."""


def _of_pairs(evidence: Evidence, scope: Scope, ranking: Ranking, clause: Clause) -> Judged | None:
    """Hold a statement on two levels of a factor, at one level of another or type by type, against what was
    seen; None where it is none, or where the effect at these levels is settled on the whole."""
    # Of how columns fail, `first` is said of limits and not of types.
    of_ways = asks_ways(scope.question.text)
    pairs = None if of_ways else pairs_compared(evidence, scope, clause.words)
    if pairs is None:
        return None
    everywhere = len(pairs.groups) * 2 == len(scope.groups)
    settled = any(one.verdict != "open" and not one.by_rate for one in ranking.factors)
    return None if everywhere and settled else Judged(*judged_pairs(evidence, scope, pairs))


def _choice_for_span(
    evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected | None
) -> Judged | None:
    """Hold the choice of a type for a span against its columns that did not last it; None where all may have.

    Whoever asks what to take for seven days and expects the coated type does not expect it to last longest.
    """
    if expected is None or expected.kind != "longest" or len(expected.groups) != 1:
        return None
    for group, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span) if group == expected.groups[0] else None
        if found is not None and (found.failed or found.typical):
            judged = span_held(evidence, points, scope, Expected("holds", (group,), span, every=True))
            return replace(judged, words=judged.words.partition("; ")[2])
    return None


def _of_parts(evidence: Evidence, points: Sequence[Point], scope: Scope, text: str) -> Claim | None:
    """Return the verdict on `it does not tail, so it is worth it`, each statement by what it is about.

    None where no statement is about a tailing that has a limit or about a cost that is asked after.
    """
    parts = [part.strip(" .!") for part in REASONING.split(text) if part.strip(" .!")]
    found = [_of_tailing(evidence, points, scope, p) or _of_cost(evidence, points, scope, p) for p in parts]
    if not any(found):
        return None
    judged = [one or Judged("unread", "") for one in found]
    clauses = [Clause(part, None) for part in parts]
    metric = _tailing(evidence, scope)
    links = [link for group in scope.compared for link in because.of_declines(evidence, group, *metric)]
    return Claim(
        scope.claim_id("expectation"),
        run_together(_verdict_words(clauses, judged)),
        _strength_of(judged),
        tuple(links) or because.of_columns(evidence, scope.groups[0]),
    )


def _tailing(evidence: Evidence, scope: Scope) -> Metric:
    """Return the symmetry of the peak whose tailing a question is about; of two empty words where of none."""
    named = asked_metric(scope.question.text, evidence.study)
    return next((one for one in named if one[1] == "symmetry_factor"), ("", ""))


def _of_tailing(evidence: Evidence, points: Sequence[Point], scope: Scope, words: str) -> Judged | None:
    """Hold `it does not tail`, or that it does, against the limit of the peak's symmetry; None for another
    statement.

    `It` is the group that the question names first.
    """
    if not TAILS.search(words):
        return None
    group = next(iter((*named_groups(words, scope.groups), *scope.asked)), "")
    metric = _tailing(evidence, scope)
    if not group:
        return None
    declines = [evidence.decline(one.id, *metric) for one in under_one_stress(evidence.study, group)]
    limit = next((one.limit for one in declines if one is not None and one.limit is not None), None)
    known = [one for one in declines if one is not None and one.life.state in ("reached", "not reached")]
    if limit is None or not known:
        return None
    passed = sum(one.life.state == "reached" for one in known)
    past = order_words.passes(replace(scope, deciding=metric, limit=limit))
    which = f"{kind_of(group)} column"
    held_h = min((one.end_h or 0.0 for one in known if one.life.state == "not reached"), default=0.0)
    on = (
        f"on no {which} in {hours(down(held_h))}"
        if not passed
        else f"on {share_of(passed, len(known), which)}"
    )
    ends = ends_of(evidence, group, metric)
    said = f"{past} {on}" + (f" ({ends[0]} at first and {ends[1]} at last)" if ends is not None else "")
    firm = bounded("shown", points, (group,)) == "shown"
    expects = not NEGATED.search(words)
    if len(known) < len(declines) and not passed:
        return Judged("open", said)
    if 0 < passed < len(known):
        return Judged("in part" if expects else "against", said)
    if (passed > 0) == expects:
        # That a limit was kept is no proof that no peak tails a little.
        return Judged("fits" if not expects else "borne out" if firm else "same way", said)
    return Judged("contradicted" if firm and passed else "against", said)


def _of_cost(evidence: Evidence, points: Sequence[Point], scope: Scope, words: str) -> Judged | None:
    """Hold `it is worth it` against what use costs, where the question asks for that; else None."""
    asks = read_question(scope.question.text, evidence.study.groups)
    found = cost_ratios(evidence, points, scope)
    if not (asks.cost and COST.search(words) and found) or NEGATED.search(words):
        return None
    costs = dict.fromkeys(cost_words(cost) for one in found for cost in (one.subject, one.against))
    said = f"{unit_of(scope)} costs {listed(costs)}"
    verdicts = {one.verdict for one in found}
    if len(verdicts) != 1 or verdicts == {"open"}:
        return Judged("open", said)
    firm = all(one.strength == "shown" for one in found)
    if verdicts == {"less"}:
        return Judged("borne out" if firm else "same way", said)
    return Judged("contradicted" if firm else "against", said)


def _in_own_weeks(clause: Clause, scope: Scope) -> Clause:
    """Return a statement on a week as one on the hours that a week of the asker's runs takes."""
    expected = clause.expected
    if expected is None or expected.span is None:
        return clause
    span = own_span(expected.span, scope.question.text, scope.question.run_time_min)
    return replace(clause, expected=replace(expected, span=span))


def _of_rates(clause: Clause) -> Clause:
    """Return a statement that a factor does nothing as one about rates."""
    expected = clause.expected
    if expected is None or expected.ratio != 1 or not expected.factor:
        return clause
    return replace(clause, expected=replace(expected, of_rates=True))


HELPS = re.compile(r"\b(helps?|protects?|prolongs?|lengthens?|extends?)\b", re.IGNORECASE)
A_LITTLE = re.compile(r"\b(a little|a bit|slightly|somewhat|hardly|marginally)\b", re.IGNORECASE)
MORE_THAN_A_LITTLE = 1.5
"""Ratio of lives that nobody calls a little: it is half of a life more."""
MORE_AT = re.compile(r"\b(more|most|less|especially|above all)\b.*\b(for|on|with|at|in)\b", re.IGNORECASE)
"""How it sounds that something does more at one level of another factor."""


def _of_ways(evidence: Evidence, scope: Scope, text: str, claims: Sequence[Claim]) -> Claim | None:
    """Return the verdict on `the A loses its retention, the B dies by pressure first`; None for another."""
    ways = (
        _gravest_first(ways_expected(evidence, scope, text, claims)) if asks_ways(scope.question.text) else []
    )
    turns = [] if len(ways) > 1 else _gravest_first(markers_in_turn(evidence, scope, text))
    said: Sequence[WayExpected | InTurn] = turns if len(turns) > 1 else ways
    judged = [Judged(one.leaning, one.words) for one in said]
    if len(said) < 2:
        return None
    links = tuple(
        because.of_decline(decline)
        for decline in evidence.judgement.declines
        if decline.series.group in scope.about and decline.life.state == "reached"
    )
    words = run_together(_verdict_words([Clause(one.quoted, None) for one in said], judged))
    return Claim(scope.claim_id("expectation"), words, _strength_of(judged), links)


def _of_mixed(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    text: str,
    factors: Mapping[str, Sequence[str]],
    claims: Sequence[Claim],
) -> Claim | None:
    """Return the verdict on `A outlasts the others, and B goes by losing its phase`: one statement on lives
    and one on how a type fails; None where the text is not of both kinds."""
    ways = _gravest_first(ways_expected(evidence, scope, text, claims))
    minutes = scope.question.run_time_min
    lives = [read_expectation(one.quoted, evidence.study.groups, minutes, factors) for one in ways]
    of_lives = [one is not None and way.leaning == "unread" for one, way in zip(lives, ways, strict=True)]
    read = [one for one in ways if one.leaning != "unread"]
    if not read or not any(of_lives) or FIRST.search(text):
        return None
    judged = [
        weigh(evidence, points, scope, ranking, expected)
        if expected is not None and of_life
        else Judged(way.leaning, way.words)
        for way, expected, of_life in zip(ways, lives, of_lives, strict=True)
    ]
    own = {name for expected in lives if expected for name in _relevant(scope, ranking, expected)}
    links = because.of_claims(claim for claim in claims if claim.id in own)
    words = run_together(_verdict_words([Clause(one.quoted, None) for one in ways], judged))
    return Claim(
        scope.claim_id("expectation"),
        words,
        _strength_of(judged),
        links or because.of_columns(evidence, scope.groups[0]),
    )


def _gravest_first(ways: Sequence[Statement]) -> list[Statement]:
    """Return first what the data speak against: of a long verdict a letter may hold no more."""
    return sorted(ways, key=lambda one: one.leaning not in AGAINST)


def _of_first_limit(evidence: Evidence, scope: Scope, text: str) -> Claim | None:
    """Return the verdict on `it loses retention first`, said of the one type that is asked about."""
    found = first_passed(evidence, scope, text)
    if found is None:
        return None
    words = LEADS[found.leaning] + found.words
    links = tuple(
        because.of_decline(decline)
        for decline in evidence.judgement.declines
        if decline.series.group in (scope.asked or scope.groups)[:1] and decline.life.state == "reached"
    )
    return Claim(scope.claim_id("expectation"), run_together([words]), STRENGTHS[found.leaning], links)


def _of_effect(
    scope: Scope, ranking: Ranking, text: str, asked: str, meant: Sequence[str], claims: Sequence[Claim]
) -> Claim | None:
    """Return the verdict on `it helps a little, and more for the phenyl`; None where no factor is to help.

    What is said of levels of another factor is the interaction of both. `asked`: the same as it was put, of
    which the quotations are.
    """
    own = [v for v in ranking.factors if v.effect.factor in meant and not v.by_rate and v.verdict != "open"]
    parts = [part.strip(" .!") for part in CLAUSES.split(text) if part.strip(" .!")]
    as_put = [part.strip(" .!") for part in CLAUSES.split(asked) if part.strip(" .!")]
    if len(meant) != 1 or not own or not HELPS.search(text) or NEGATED.search(text):
        return None
    found = upright(own[0])
    longer = found.verdict == "changes" and (found.ratio.value or 1.0) > 1
    judged, clauses = list[Judged](), list[Clause]()
    for place, part in enumerate(parts):
        if HELPS.search(part) and not MORE_AT.search(part):
            leaning = held_against(longer, not longer, found.strength, "").leaning
            much = longer and (found.ratio.low or 0.0) >= MORE_THAN_A_LITTLE
            words = f"the life ratio is {tell_ratio(found.ratio)}"
            if A_LITTLE.search(part) and much:
                leaning, words = "more", f"columns last {tell_ratio(found.ratio)} times as long"
            judged.append(Judged(leaning, words))
        elif MORE_AT.search(part) and found.seen:
            each = listed(f"{rounded(ratio, 2)} on {level}" for level, ratio in found.seen)
            if _seen_no_more_at(part, dict(found.seen)):
                judged.append(Judged("not seen", f"ratios of {each}, on too few columns to exclude it"))
            else:
                judged.append(Judged("open", f"seen were ratios of {each}, on too few columns"))
        else:
            judged.append(Judged("unread", ""))
        clauses.append(Clause(as_put[place] if len(as_put) == len(parts) else part, None))
    if not any(HELPS.search(part) and not MORE_AT.search(part) for part in parts):
        return None
    links = because.of_claims(
        c for c in claims if c.id == scope.claim_id(own[0].kind, own[0].effect.factor, own[0].effect.level)
    )
    return Claim(
        scope.claim_id("expectation"),
        run_together(_verdict_words(clauses, judged)),
        _strength_of(judged),
        links,
    )


def _seen_no_more_at(part: str, seen: Mapping[str, float]) -> bool:
    """Return whether the level that is said to gain more was not seen to: `and more for the phenyl`."""
    tokens = set(words_of(part))
    named = [level for level in seen if set(words_of(level)) & tokens]
    if len(named) != 1 or re.search(r"\bless\b", part, re.IGNORECASE):
        return False
    return all(seen[named[0]] <= other for level, other in seen.items() if level != named[0])


def _of_levels(
    evidence: Evidence,
    scope: Scope,
    ranking: Ranking,
    clauses: Sequence[Clause],
    claims: Sequence[Claim],
) -> Claim | None:
    """Return the verdict on one statement about two levels of a factor: `beta fails earlier`; else None."""
    if len(clauses) != 1 or clauses[0].expected is not None:
        return None
    compared = compared_levels(evidence, clauses[0].words)
    found = weighed(ranking, compared) if compared is not None else None
    if compared is None or found is None:
        return None
    verdict, agrees = found
    judged = held_against(agrees, not agrees, verdict.strength, "")
    words = LEADS[judged.leaning] + comparison_words(scope, compared, verdict, agrees)
    own = scope.claim_id(verdict.kind, verdict.effect.factor, verdict.effect.level)
    links = because.of_claims(claim for claim in claims if claim.id == own)
    identity = scope.claim_id("expectation")
    return Claim(identity, run_together([words]), STRENGTHS[judged.leaning], links)


def _verdict_words(clauses: Sequence[Clause], judged: Sequence[Judged]) -> list[str]:
    """Return the verdict, or one on each statement of several: what cannot be read is left without data."""
    if len(clauses) == 1:
        return [LEADS[judged[0].leaning] + judged[0].words]
    quoted: dict[Judged, list[str]] = {}
    for clause, one in zip(clauses, judged, strict=True):
        quoted.setdefault(one if one.leaning != "unread" else Judged("unread", ""), []).append(clause.words)
    said = []
    for one, own in quoted.items():
        lead = CLAUSE_LEADS[one.leaning].format("’ and ‘".join(own))
        several = lead.replace("’ holds: ", "’ hold: ").replace("’ was so, ", "’ were so, ")
        said.append((several if len(own) > 1 else lead) + one.words)
    return said


def _strength_of(judged: Sequence[Judged]) -> Strength:
    """Return how strong the verdict on all statements is: one that is contradicted contradicts the whole."""
    strengths = [STRENGTHS[one.leaning] for one in judged]
    if "contradicted" in strengths:
        return "contradicted"
    return (
        "not settled" if "not settled" in strengths else "indicated" if "indicated" in strengths else "shown"
    )


def _relevant(scope: Scope, ranking: Ranking, expected: Expected | None) -> set[str]:
    """Return the ids of the claims on which the verdict rests."""
    if expected is None or not set(expected.groups) <= set(scope.groups):
        named = named_groups(scope.question.expectation, scope.groups)
        return {scope.claim_id("life", group) for group in named or scope.groups}
    if expected.factor:
        told = of_factor(ranking, expected)
        return {scope.claim_id(v.kind, v.effect.factor, v.effect.level) for v in told}
    if expected.span is not None:
        group = expected.groups[0]
        return {scope.claim_id("life", group), scope.claim_id("span", group, expected.span.words)}
    pairings = [pairing for pairing in ranking.of_use.pairings if is_about(pairing, expected)]
    kinds = ("pair", "any")
    return {scope.claim_id(kind, pairing.first, pairing.second) for pairing in pairings for kind in kinds}
