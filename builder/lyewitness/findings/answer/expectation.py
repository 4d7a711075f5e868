"""What was believed before the data, held against them.

In: the expectation of a question, `Evidence`, a `Ranking`, the claims. Out: one `Claim`. Where the
words cannot be read beyond doubt, the reader is told what the data say, and judges.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Literal, TypeVar

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.as_asked import elsewhere
from lyewitness.findings.answer.claims import pace_words
from lyewitness.findings.answer.cost_claims import cost_words, unit_of
from lyewitness.findings.answer.costs import cost_ratios
from lyewitness.findings.answer.course_replies import TAILS, ends_of
from lyewitness.findings.answer.factor_claims import (
    FactorVerdict,
    at_part,
    effect_words,
    parts_words,
    upright,
)
from lyewitness.findings.answer.factor_replies import (
    compared_levels,
    comparison_words,
    settled_elsewhere,
    weighed,
)
from lyewitness.findings.answer.first_to_pass import FIRST, first_passed
from lyewitness.findings.answer.levels_compared import judged_pairs, pairs_compared
from lyewitness.findings.answer.markers_in_turn import InTurn, markers_in_turn
from lyewitness.findings.answer.question_scope import Metric, Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking, rank
from lyewitness.findings.answer.reading_questions import (
    CLAUSES,
    COST,
    NEGATED,
    REASONING,
    Clause,
    Expected,
    in_full,
    read_clauses,
    read_expectation,
    read_question,
    with_subject,
)
from lyewitness.findings.answer.side_by_side import Apart, told_apart, types_apart
from lyewitness.findings.answer.treatments import asks_treatment
from lyewitness.findings.answer.use_claims import (
    Held,
    answers,
    asked_spans,
    failures,
    held,
    held_words,
    span_words,
    tally,
)
from lyewitness.findings.answer.ways_expected import WayExpected, ways_expected
from lyewitness.findings.answer.ways_of_failing import asks_ways
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.study.questions import asked_metric, named_factors, named_groups, words_of
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import is_known, is_vague, lasting, tell, tell_ratio
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import rounded, stated
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    down,
    hours,
    kind_of,
    listed,
    run_together,
    share_of,
    spelled,
)

Leaning = Literal[
    "borne out", "same way", "fits", "seen so", "in part", "more", "not seen", "contradicted", "against",
    "seen otherwise", "open", "unread",
]  # fmt: skip
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
REPLIES: Mapping[Leaning, str] = {
    "borne out": "Yes",
    "same way": "Yes, as far as these data tell",
    "in part": "In part",
    "contradicted": "No",
    "against": "No, as far as these data tell",
    "seen so": "In this test, yes",
    "seen otherwise": "Not in this test",
}
"""What the same verdicts are in answer to a question."""


Statement = TypeVar("Statement", WayExpected, InTurn)
"""What was expected of how columns fail."""


@dataclass(frozen=True, slots=True)
class Judged:
    """How the data stand to what was expected or asked."""

    leaning: Leaning
    words: str
    """What the data say, a clause."""


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
            judged = _held(evidence, points, scope, Expected("holds", (group,), span, every=True))
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
            leaning = _held_against(longer, not longer, found.strength, "").leaning
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
    judged = _held_against(agrees, not agrees, verdict.strength, "")
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


def groups_by_factor(evidence: Evidence, ranking: Ranking) -> dict[str, list[str]]:
    """Return the groups at the levels that each factor brings, by the factor's name."""
    found: dict[str, list[str]] = {factor.name: [] for factor in evidence.study.factors}
    for verdict in ranking.factors:
        groups = (evidence.study.column(column).group for column in verdict.effect.columns)
        found[verdict.effect.factor] = list(dict.fromkeys((*found[verdict.effect.factor], *groups)))
    return found


def _relevant(scope: Scope, ranking: Ranking, expected: Expected | None) -> set[str]:
    """Return the ids of the claims on which the verdict rests."""
    if expected is None or not set(expected.groups) <= set(scope.groups):
        named = named_groups(scope.question.expectation, scope.groups)
        return {scope.claim_id("life", group) for group in named or scope.groups}
    if expected.factor:
        told = _of_factor(ranking, expected)
        return {scope.claim_id(v.kind, v.effect.factor, v.effect.level) for v in told}
    if expected.span is not None:
        group = expected.groups[0]
        return {scope.claim_id("life", group), scope.claim_id("span", group, expected.span.words)}
    pairings = [pairing for pairing in ranking.of_use.pairings if _about(pairing, expected)]
    kinds = ("pair", "any")
    return {scope.claim_id(kind, pairing.first, pairing.second) for pairing in pairings for kind in kinds}


def weigh(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    expected: Expected | None,
) -> Judged:
    """Hold what was expected, or asked for yes or no, against the data."""
    if expected is None or not set(expected.groups) <= set(scope.groups):
        # What failed first, and to what the signs point, the answer has just told.
        seen = "what failed first is told above" if asks_ways(scope.question.text) else ""
        seen = seen or ("what was seen is told above" if asks_treatment(scope) else "")
        return Judged("unread", seen or _data(evidence, scope))
    if expected.span is not None:
        return (_at_most if expected.at_most else _held)(evidence, points, scope, expected)
    if expected.ratio == 1 and (judged := _no_effect(evidence, points, scope, ranking, expected)):
        return judged
    if expected.ratio is not None:
        return _by_ratio(evidence, points, scope, ranking, expected, expected.ratio)
    return _by_ranking(evidence, points, scope, ranking, expected)


def _data(evidence: Evidence, scope: Scope) -> str:
    named = [g for g in named_groups(scope.question.expectation, evidence.study.groups) if g in scope.groups]
    lives = [
        (g, life)
        for g in named or scope.groups
        if (life := evidence.group_life(g, *scope.deciding)) is not None
    ]
    said = listed(
        f"{columns_of(group, len(life.columns))} "
        + (lasting(life.life) if is_known(life.life) else f"({tell(life.life)})")
        for group, life in lives
    )
    if not said:
        return f"{CANNOT_TELL} how long any group lasts"
    others = []
    for group, _ in lives:
        if failed := scope.failed_sooner(evidence, group):
            which, when = failures(group, scope.usable_lives(evidence, group, every_limit=True), failed)
            others.append(f"{which} failed by another limit ({when})")
    if not others:
        return said
    # One limit alone does not tell how long a column was of use.
    return f"by {the_metric(*scope.deciding)} alone, {said}; {'; '.join(others)}"


def _held(
    evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected, of_each: bool = False
) -> Judged:
    """Hold 'lasts so many hours' against the lives of the columns; of several types, of each."""
    if len(expected.groups) > 1:
        return _all_held(evidence, points, scope, expected)
    group = expected.groups[0]
    found = held(evidence, scope, group, expected.span) if expected.span is not None else None
    if found is None:
        return Judged("open", f"the lives of {columns_of(group)} are not known")
    words = _expected_and_seen(evidence, scope, group, found, of_each)
    other = elsewhere(evidence, scope)
    if other is not None and answers(found):
        words = f"{words}, {other.than_asked}"
        if not other.tells(found):
            # What failed under harder conditions may hold under milder ones; what held under milder ones is
            # no proof of harder ones.
            return Judged("against" if answers(found) == "No" else "open", words)
    if found.verdict == "contradicted" or (expected.every and found.failed):
        firm = bounded("shown", points, (group,)) == "shown"
        return Judged("contradicted" if firm else "against", words)
    return Judged(_leaning_of(bounded(found.verdict, points, (group,))), words)


def _all_held(evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected) -> Judged:
    """Hold 'every type lasts so many hours' against each: it is so where it is so of all."""
    each = [
        _held(evidence, points, scope, replace(expected, groups=(group,), every=True), of_each=True)
        for group in expected.groups
    ]
    for leaning in HARDEST_FIRST:
        own = [one for one in each if one.leaning == leaning]
        if own:
            said = dict.fromkeys(one.words.partition("; ")[2] or one.words for one in own)
            span = span_words(expected.span) if expected.span is not None else ""
            return Judged(leaning, f"you expected at least {span}; {'; '.join(said)}")
    return each[0]


HARDEST_FIRST: tuple[Leaning, ...] = ("contradicted", "against", "open", "same way", "borne out")
"""Of what is expected of every type, the verdict on the one that speaks most against it."""


def _leaning_of(strength: Strength) -> Leaning:
    return {"shown": "borne out", "indicated": "same way"}.get(strength, "open")  # type: ignore[return-value]


def _expected_and_seen(
    evidence: Evidence, scope: Scope, group: str, found: Held, of_each: bool = False
) -> str:
    """Return `you expected two days (48 h); the silica columns lasted 25 h (24 to 27)`."""
    if found.failed and (found.every_limit or of_each):
        # The life by the deciding limit may be long where another was passed; of every column one is enough.
        return f"you expected at least {span_words(found.span)}; {held_words(found)}"
    life = evidence.group_life(group, *scope.deciding)
    seen = lasting(life.life) if life is not None else CANNOT_TELL
    failed = (
        f"; of {spelled(len(found.lives))} tested, {tally(found)}"
        if life is not None and max(found.failed, found.surely) < len(found.lives) > 1
        else ""
    )
    alone = ", a single column, which says nothing of the next" if len(found.lives) == 1 else ""
    return f"you expected at least {span_words(found.span)}; {columns_of(group)} {seen}{alone}{failed}"


def _at_most(evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected) -> Judged:
    """Hold 'lasts so many hours at most' against the life of the group."""
    group = expected.groups[0]
    life = evidence.group_life(group, *scope.deciding)
    if life is None or expected.span is None:
        return Judged("open", f"the lives of {columns_of(group)} are not known")
    words = f"you expected at most {span_words(expected.span)}; {columns_of(group)} {lasting(life.life)}"
    low, high = life.life.hours.low, life.life.hours.high
    within = high is not None and high <= expected.span.hours
    beyond = low is not None and low > expected.span.hours
    span = expected.span.hours
    if beyond and (unknown := [one for one in scope.less_known(evidence, group) if one.low <= span]):
        # One limit alone does not tell how long a column was of use.
        beyond = False
        metric = the_metric(*key_of(unknown[0].decline))
        words += f" by the metric that decides, but by {metric} nothing sure is known of "
        words += listed(f"{one.column} beyond {hours(down(one.low))}" for one in unknown)
    return _held_against(within, beyond, bounded("shown", points, (group,)), words)


def _held_against(within: bool, beyond: bool, allowed: Strength, words: str) -> Judged:
    """Return the verdict where an interval lies within what was expected, beyond it, or neither."""
    if beyond and allowed != "not settled":
        return Judged("contradicted" if allowed == "shown" else "against", words)
    return Judged(_leaning_of(allowed) if within else "open", words)


def _by_ratio(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    expected: Expected,
    wanted: float,
) -> Judged:
    """Hold an expected ratio of lives, or of rates, against the interval of the ratio.

    It is borne out where the whole interval lies within the margin of equivalence around it, or beyond it in
    the direction that was expected; contradicted where the interval does not hold it. Where a factor surely
    does otherwise at one level of another than at the next, each level is judged by itself.
    """
    ratio, allowed, subject = _ratio_seen(points, scope, evidence, ranking, expected)
    what = "rates" if expected.of_rates else "lives"
    if ratio is None or not tell_ratio(ratio):
        return Judged("open", f"the ratio of these {what} is not known")
    if is_vague(ratio):
        return Judged("open", f"the ratio of these {what} is {tell_ratio(ratio)}")
    number = stated(float(f"{wanted:.3g}"))
    where = f"where {number} was expected" if wanted != 1 else "where no effect was expected"
    own = next(iter(_of_factor(ranking, expected)), None)
    if own is not None and (parted := _parted(own, wanted)) and allowed != "not settled":
        return Judged("in part", f"{subject} {parted}, {where}; {tell_ratio(ratio)} on the whole")
    words = f"{subject} {tell_ratio(ratio)}, {where}{parts_words(own) if own is not None else ''}"
    margin = 1 + evidence.study.choices.equivalence_margin_percent / 100
    low, high = ratio.low, ratio.high
    more = _more(ratio, wanted)
    beyond = not _holds(ratio, wanted)
    near = low is not None and high is not None and wanted / margin <= low and high <= wanted * margin
    judged = _held_against((near and not beyond) or more, beyond and not more, allowed, words)
    # That a factor helps, and how much may be as expected, is more than nothing.
    fits = judged.leaning == "open" and allowed != "not settled" and not beyond and own is not None
    apart = (low is not None and low > 1) if wanted > 1 else (high is not None and high < 1)
    return Judged("fits", words) if fits and apart and own and own.verdict == "changes" else judged


def _no_effect(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, expected: Expected
) -> Judged | None:
    """Hold `it does nothing` against what another metric settles, where the deciding one leaves it open.

    What the answer says that a part does contradicts that it does nothing.
    """
    if not expected.of_rates or any(one.verdict != "open" for one in _of_factor(ranking, expected)):
        return None
    found = settled_elsewhere(evidence, points, scope, [expected.factor])
    changes = [one for one in found if one.verdict == "changes"]
    if not changes:
        return None
    return Judged("contradicted" if changes[0].strength == "shown" else "against", effect_words(changes[0]))


def _more(ratio: Estimate, wanted: float) -> bool:
    """Return whether the whole interval lies beyond what was expected, in the direction expected."""
    if wanted == 1:
        return False
    if wanted > 1:
        return ratio.low is not None and ratio.low > wanted
    return ratio.high is not None and ratio.high < wanted


def _holds(ratio: Estimate, wanted: float) -> bool:
    """Return whether the interval leaves room for what was expected."""
    return (ratio.low is None or ratio.low <= wanted) and (ratio.high is None or wanted <= ratio.high)


def _parted(verdict: FactorVerdict, wanted: float) -> str:
    """Return `2.0 (1.8 to 2.2) on C18, and not on phenyl, by 1.27 (1.18 to 1.37)`, where levels differ so.

    Nothing where the effect does not surely differ, or the expectation holds at all levels or at none.
    """
    differs = any(verdict.same(one) == "differs" for one in verdict.interactions)
    told = [(part, tell_ratio(verdict.told_of(part))) for part in verdict.parts]
    others = {part.other for part, _ in told}
    if not differs or len(others) != 1 or not all(words for _, words in told):
        return ""
    meets = [_holds(verdict.told_of(p), wanted) or _more(verdict.told_of(p), wanted) for p, _ in told]
    if all(meets) or not any(meets):
        return ""
    as_expected, otherwise = (
        listed(
            f"{words} {at_part(verdict, part)}"
            for (part, words), met in zip(told, meets, strict=True)
            if met == way
        )
        for way in (True, False)
    )
    return f"{as_expected}, but by {otherwise}"


def _of_factor(ranking: Ranking, expected: Expected) -> list[FactorVerdict]:
    """Return what is said of the factor that the expectation is about, of lives or of rates as it has it."""
    return [
        verdict
        for verdict in ranking.factors
        if expected.factor
        and verdict.effect.factor == expected.factor
        and verdict.by_rate == expected.of_rates
    ]


def _ratio_seen(
    points: Sequence[Point], scope: Scope, evidence: Evidence, ranking: Ranking, expected: Expected
) -> tuple[Estimate | None, Strength, str]:
    """Return the ratio that the expectation is about, how strong a claim may be, and words."""
    for verdict in _of_factor(ranking, expected):
        open_because_of_audit = any(point.bound == "not settled" for point in verdict.points)
        weak = any(point.bound == "indicated" for point in verdict.points) or verdict.effect.additive
        allowed: Strength = "not settled" if open_because_of_audit else "indicated" if weak else "shown"
        what = "life"
        if expected.of_rates:
            what = f"the pace at which {the_metric(*scope.deciding)} declines"
        does = {"shown": f"multiplies {what} by", "indicated": f"seems to multiply {what} by"}
        doing = does.get(verdict.strength, f"may change {what}: the ratio is")
        return verdict.ratio, allowed, f"the {expected.factor} {doing}"
    if expected.factor:
        return None, "not settled", ""
    first, second = expected.groups
    found = evidence.comparison(first, second, *scope.deciding)
    if found is None:
        return None, "not settled", ""
    ratio = found.life_ratio if found.group_a == first else because.turned(found.life_ratio)
    alone = min(found.columns_a, found.columns_b) < 2
    allowed = "not settled" if alone else bounded("shown", points, (first, second))
    return ratio, allowed, f"the life of {columns_of(first)} ÷ that of {columns_of(second)} is"


def _by_ranking(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, expected: Expected
) -> Judged:
    """Hold an order of groups against the pairings it is about.

    Where the metric that decides leaves a pair open, by whichever limit is passed first; where nothing
    settles it, by what every column showed.
    """
    pairings = [pairing for pairing in ranking.of_use.pairings if _about(pairing, expected)]
    earlier, by_any = expected.kind == "shortest", ranking.by_any
    if not pairings and len(ranking.groups) == 1 < len(evidence.study.groups):
        # One type is asked about, and said to be the first or the last of all.
        wide = replace(scope, groups=evidence.study.groups)
        return _by_ranking(evidence, points, wide, rank(evidence, points, wide), expected)
    if not pairings:
        alone = (
            "only one group is asked about" if len(ranking.groups) == 1 else "these groups were not compared"
        )
        return Judged("open", alone)
    against = [pairing for pairing in pairings if _speaks_against(pairing, expected)]
    surely = [pairing for pairing in against if _sure(pairing)]
    if surely:
        return Judged("contradicted", _told(scope, surely, by_any, earlier))
    if against:
        return Judged("against", f"{_told(scope, against, by_any, earlier)}, which is indicated only")
    undecided = [pairing for pairing in pairings if pairing.verdict == "open" and not pairing.slower]
    if undecided:
        seen = _as_seen(evidence, scope, undecided, expected)
        return seen or Judged("open", f"it is not settled between {_named(undecided)}")
    return Judged(
        "borne out" if all(map(_sure, pairings)) else "same way", _told(scope, pairings, by_any, earlier)
    )


def _as_seen(
    evidence: Evidence, scope: Scope, pairings: Sequence[Pairing], expected: Expected
) -> Judged | None:
    """Hold an order against types whose columns were all apart, where nothing is settled; None where some
    overlap."""
    found = [types_apart(evidence, scope, one.first, one.second) for one in pairings]
    apart = [one for one in found if one is not None]
    ordered = [Pairing(one.longer, one.shorter, "longer", "not settled", None, (), ()) for one in apart]
    against = [x for x, order in zip(apart, ordered, strict=True) if _speaks_against(order, expected)]
    if against:
        return Judged("seen otherwise", told_apart(against))
    if len(apart) < len(found):
        left = [one for one, pair in zip(pairings, found, strict=True) if pair is None]
        return _in_many(apart, left, expected)
    return Judged("seen so", told_apart(apart))


def _in_many(apart: Sequence[Apart], left: Sequence[Pairing], expected: Expected) -> Judged | None:
    """Return against how many types it was so in this test that one outlasts all, and of which it is open."""
    (group, *more) = expected.groups
    if expected.kind != "longest" or more or not apart:
        return None
    others = listed(columns_of(one.shorter) for one in apart)
    rest = listed((columns_of(next(iter(one.groups - {group}))) for one in left), "or")
    so = f"in this test {columns_of(group)} outlasted {others}"
    return Judged("open", f"{so}; whether they outlast {rest} is not settled")


def _named(pairings: Sequence[Pairing]) -> str:
    """Return the pairs by their groups, or how many they are."""
    if len(pairings) > MOST_NAMED:
        return f"{spelled(len(pairings))} pairs of groups"
    return ", nor between ".join(" and ".join(sorted(pairing.groups)) for pairing in pairings)


MOST_NAMED = 3
"""Pairs that a sentence names; the claims name all."""


def _sure(pairing: Pairing) -> bool:
    """Return whether the order of two groups, by their lives or else by their rates, is shown."""
    return (pairing.pace if pairing.slower else pairing.strength) == "shown"


def _about(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a pairing can speak for or against the expectation."""
    if expected.kind in ("longest", "shortest"):
        return expected.groups[0] in pairing.groups
    return pairing.groups <= set(expected.groups)


def _speaks_against(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a settled pairing says otherwise than was expected."""
    if pairing.verdict == "open" and not pairing.slower:
        return False
    if expected.kind == "alike":
        return pairing.verdict != "alike"
    if pairing.verdict == "alike":
        return expected.kind != "not shorter"
    longer = pairing.slower or pairing.first
    (shorter,) = pairing.groups - {longer}
    singled_out = shorter if expected.kind == "shortest" else longer
    return singled_out != expected.groups[0]


def _told(
    scope: Scope,
    pairings: Sequence[Pairing],
    by_any: Sequence[Pairing],
    earlier: bool = False,
    shown: bool = True,
) -> str:
    """Return the order of each pair, with what is known by whichever limit is passed first as such."""
    own = [pairing for pairing in pairings if pairing not in by_any]
    used = [pairing for pairing in pairings if pairing in by_any]
    said = [_orders(scope, own, earlier, shown)] if own else []
    if used:
        said.append(f"{order_words.BY_ANY}, {_orders(scope, used, earlier, shown)}")
    return "; ".join(said)


def _orders(scope: Scope, pairings: Sequence[Pairing], earlier: bool = False, shown: bool = True) -> str:
    """Return the order of each pair, those of one longer-lived group together; `earlier`: as the question has
    it, where it is after a metric."""
    longer: dict[str, list[str]] = {}
    for one in pairings:
        if one.verdict == "longer" and not one.slower:
            longer.setdefault(one.first, []).append(one.second)
    said = []
    for p in pairings:
        if p.slower:
            said.append(pace_words(p))
        elif p.verdict == "longer" and scope.named and earlier:
            said.append(order_words.earlier(scope, p.second, p.first, shown))
        elif p.verdict == "longer":
            said.append(order_words.longer(scope, p.first, longer[p.first], shown))
        else:
            said.append(order_words.alike(scope, f"{columns_of(p.first)} and {columns_of(p.second)}"))
    return listed(dict.fromkeys(said))
