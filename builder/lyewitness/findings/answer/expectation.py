"""What was believed before the data, held against them.

In: the expectation of a question, `Evidence`, a `Ranking`, the claims. Out: one `Claim`. Where the
words cannot be read beyond doubt, the reader is told what the data say, and judges.
"""

from collections.abc import Sequence

from lyewitness.findings import because
from lyewitness.findings.answer.group_names import named_groups
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking
from lyewitness.findings.answer.reading_expectations import Expected, read_expectation
from lyewitness.findings.answer.use_claims import Held, held, span_words, tally
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.words.lives import tell
from lyewitness.words.phrases import CANNOT_TELL, columns_of, listed, run_together, spelled

Judged = tuple[Strength, str]
BORNE_OUT = "the data bear the expectation out"
SAME_WAY = "the data point the way that was expected"


def expectation_verdict(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Return whether the expectation held; None where the question has none."""
    text = scope.question.expectation.strip()
    if not text:
        return None
    expected = read_expectation(text, evidence.study.groups, scope.question.run_time_min)
    strength, words = _judged(evidence, points, scope, ranking, expected)
    links = because.of_claims(claim for claim in claims if claim.id in _relevant(scope, ranking, expected))
    return Claim(
        scope.claim_id("expectation"),
        run_together([words]),
        strength,
        links or because.of_columns(evidence, scope.groups[0]),
    )


def _relevant(scope: Scope, ranking: Ranking, expected: Expected | None) -> set[str]:
    """Return the ids of the claims on which the verdict rests."""
    if expected is None or not set(expected.groups) <= set(scope.groups):
        named = named_groups(scope.question.expectation, scope.groups)
        return {scope.claim_id("life", group) for group in named or scope.groups}
    if expected.span is not None:
        group = expected.groups[0]
        return {scope.claim_id("life", group), scope.claim_id("span", group, expected.span.words)}
    pairings = [pairing for pairing in ranking.pairings if _about(pairing, expected)]
    return {scope.claim_id("pair", pairing.first, pairing.second) for pairing in pairings}


def _judged(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    expected: Expected | None,
) -> Judged:
    if expected is None or not set(expected.groups) <= set(scope.groups):
        return "not settled", f"compare the expectation yourself; the data say: {_data(evidence, scope)}"
    if expected.span is not None:
        return _held(evidence, points, scope, expected)
    return _by_ranking(ranking, expected)


def _data(evidence: Evidence, scope: Scope) -> str:
    named = [g for g in named_groups(scope.question.expectation, evidence.study.groups) if g in scope.groups]
    lives = [
        (g, life)
        for g in named or scope.groups
        if (life := evidence.group_life(g, *scope.deciding)) is not None
    ]
    said = listed(f"{group} {tell(life.life)}" for group, life in lives)
    return said or f"{CANNOT_TELL} how long any group lasts"


def _held(evidence: Evidence, points: Sequence[Point], scope: Scope, expected: Expected) -> Judged:
    """Hold 'lasts so many hours' against the lives of the columns."""
    group = expected.groups[0]
    found = held(evidence, scope, group, expected.span) if expected.span is not None else None
    if found is None:
        return "not settled", f"{CANNOT_TELL}: the lives of {columns_of(group)} are not known"
    words = _expected_and_seen(evidence, scope, group, found)
    if found.verdict == "contradicted" or (expected.every and found.failed):
        firm = bounded("shown", points, (group,)) == "shown"
        lead = "the data contradict the expectation" if firm else "the data lean against the expectation"
        return ("contradicted" if firm else "not settled"), f"{lead}: {words}"
    strength = bounded(found.verdict, points, (group,))
    lead = {"shown": f"{BORNE_OUT}: ", "indicated": f"{SAME_WAY}: "}.get(strength, "")
    return strength, lead + words


def _expected_and_seen(evidence: Evidence, scope: Scope, group: str, found: Held) -> str:
    """Return `you expected two days (48 h); silica lasted 25 h (24 to 27)`."""
    life = evidence.group_life(group, *scope.deciding)
    seen = tell(life.life) if life is not None else CANNOT_TELL
    failed = (
        f"; of {spelled(len(found.lives))} tested, {tally(found)}"
        if life is not None and found.failed < len(found.lives) > 1
        else ""
    )
    return f"you expected {span_words(found.span)}; {group} lasted {seen}{failed}"


def _by_ranking(ranking: Ranking, expected: Expected) -> Judged:
    """Hold an order of groups against the pairings it is about."""
    pairings = [pairing for pairing in ranking.pairings if _about(pairing, expected)]
    if not pairings:
        return "not settled", f"{CANNOT_TELL}: these groups were not compared"
    against = [pairing for pairing in pairings if _speaks_against(pairing, expected)]
    surely = [pairing for pairing in against if pairing.strength == "shown"]
    if surely:
        return "contradicted", f"the data contradict the expectation: {_orders(surely)}"
    if against:
        return (
            "not settled",
            f"the data lean against the expectation: {_orders(against)}, which is indicated only",
        )
    undecided = [pairing for pairing in pairings if pairing.verdict == "open"]
    if undecided:
        pairs = listed(" and ".join(sorted(pairing.groups)) for pairing in undecided)
        return (
            "not settled",
            f"{CANNOT_TELL} whether the expectation holds: it is not settled between {pairs}",
        )
    strength: Strength = "shown" if all(p.strength == "shown" for p in pairings) else "indicated"
    lead = BORNE_OUT if strength == "shown" else SAME_WAY
    return strength, f"{lead}: {_orders(pairings)}"


def _about(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a pairing can speak for or against the expectation."""
    if expected.kind in ("longest", "shortest"):
        return expected.groups[0] in pairing.groups
    return pairing.groups <= set(expected.groups)


def _speaks_against(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a settled pairing says otherwise than was expected."""
    if pairing.verdict == "open":
        return False
    if expected.kind == "alike":
        return pairing.verdict == "longer"
    if pairing.verdict == "alike":
        return expected.kind != "not shorter"
    singled_out = pairing.second if expected.kind == "shortest" else pairing.first
    return singled_out != expected.groups[0]


def _orders(pairings: Sequence[Pairing]) -> str:
    return listed(
        f"{columns_of(p.first)} outlast {columns_of(p.second)}"
        if p.verdict == "longer"
        else f"{columns_of(p.first)} and {columns_of(p.second)} last equally long"
        for p in pairings
    )
