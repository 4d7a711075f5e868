"""What was believed before the data, held against them: only where the words allow it.

In: the expectation of a question, a `Ranking`, the claims. Out: one `Claim`. A free text is read for group
names and a few plain words; where that is not enough the reader is told what the data say, and judges.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.findings import because
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.ranking import Pairing, Ranking
from lyewitness.findings.records import Claim, Strength
from lyewitness.findings.scope import Scope
from lyewitness.findings.wording import (
    CANNOT_TELL,
    columns_of,
    hours,
    life_words,
    listed,
    quoted,
    run_together,
)

Kind = Literal["shortest", "longest", "longer", "alike", "holds"]

READ: tuple[tuple[Kind, str], ...] = (
    ("alike", r"\b(no (meaningful )?difference|equally|alike|the same|as long as)\b"),
    (
        "longest",
        r"\b(longest|fails? last|last to fail|most stable|best|outlasts? (all|both|the others?|every))\b",
    ),
    ("shortest", r"\b(fails? first|first to fail|shortest|least stable|worst|goes? first|dies? first)\b"),
    ("longer", r"\b(outlasts?|longer than|more stable than|better than|after|outlives?)\b"),
    ("holds", r"\b(holds?|lasts?|survives?|stays?)\b[^.]*?(\d+(?:\.\d+)?)\s*(h|hours?)\b"),
)
"""What each kind of expectation sounds like; the first that fits is taken."""

REVERSED = r"\b(shorter than|less stable than|worse than|fails? before|sooner than|earlier than|before)\b"
NEGATION = r"\b(not|never|neither|nor|unlikely|doubt|hardly|cannot|isn't|won't|doesn't|don't)\b"


@dataclass(frozen=True, slots=True)
class Expected:
    """An expectation that could be read."""

    kind: Kind
    groups: tuple[str, ...]
    """In the order in which they stand; for `longer` the first is the longer-lived."""
    hours: float | None = None


def read_expectation(text: str, groups: Sequence[str]) -> Expected | None:
    """Return what `text` expects of `groups`, or None where it cannot be read beyond doubt."""
    sentences = [part for part in re.split(r"[.;!?](?:\s|$)", text.strip()) if part.strip()]
    if len(sentences) != 1 or re.search(NEGATION, text, re.IGNORECASE):
        return None
    named = named_groups(text, groups)
    if re.search(REVERSED, text, re.IGNORECASE):
        return Expected("longer", named[::-1]) if len(named) == 2 else None
    for kind, pattern in READ:
        if found := re.search(pattern, text, re.IGNORECASE):
            return _fitting(kind, named, groups, found)
    return None


def _fitting(
    kind: Kind, named: tuple[str, ...], groups: Sequence[str], found: re.Match[str]
) -> Expected | None:
    """Return the expectation where the number of named groups suits its kind."""
    if kind == "alike":
        return Expected(kind, named or tuple(groups)) if len(named) != 1 else None
    if kind == "longer":
        return Expected(kind, named) if len(named) == 2 else None
    if len(named) != 1:
        return None
    return Expected(kind, named, float(found.group(2)) if kind == "holds" else None)


def named_groups(text: str, groups: Sequence[str]) -> tuple[str, ...]:
    """Return the groups whose words all stand in `text`, in its order; of nested names only the longer."""
    words = _words(text)
    tokens = {group: _words(group) for group in groups}
    present = [g for g, own in tokens.items() if own and all(word in words for word in own)]
    meant = [g for g in present if not any(set(tokens[g]) < set(tokens[other]) for other in present)]
    return tuple(sorted(meant, key=lambda g: min(words.index(word) for word in tokens[g])))


def _words(text: str) -> list[str]:
    return [word.rstrip("s") or word for word in re.findall(r"[^\W_]+", text.lower())]


def expectation_verdict(
    evidence: Evidence, scope: Scope, ranking: Ranking, claims: Sequence[Claim]
) -> Claim | None:
    """Return whether the expectation held; None where the question has none."""
    text = scope.question.expectation.strip()
    if not text:
        return None
    expected = read_expectation(text, evidence.study.groups)
    if expected is None or not set(expected.groups) <= set(scope.groups):
        verdict: tuple[Strength, str] = (
            "not settled",
            f"compare yourself; the data say: {_data(evidence, scope)}",
        )
    elif expected.kind == "holds":
        verdict = _holds(evidence, scope, expected)
    else:
        verdict = _by_ranking(ranking, expected)
    strength, words = verdict
    links = because.of_claims(
        c for c in claims if c.id.startswith((scope.claim_id("pair"), scope.claim_id("life")))
    )
    return Claim(
        scope.claim_id("expectation"),
        run_together([f"expected was: {quoted(text)}", words]),
        strength,
        links or because.of_columns(evidence, scope.groups[0]),
    )


def _data(evidence: Evidence, scope: Scope) -> str:
    lives = [(g, life) for g in scope.groups if (life := evidence.group_life(g, *scope.deciding)) is not None]
    said = listed(f"{group} {life_words(life.life)}" for group, life in lives)
    return said or f"{CANNOT_TELL} how long any group lasts"


def _by_ranking(ranking: Ranking, expected: Expected) -> tuple[Strength, str]:
    """Hold an order of groups against the pairings it is about."""
    pairings = [p for p in ranking.pairings if _about(p, expected)]
    if not pairings:
        return "not settled", f"{CANNOT_TELL}: these groups were not compared"
    against = [p for p in pairings if _speaks_against(p, expected)]
    surely = [p for p in against if p.strength == "shown"]
    if surely:
        return "contradicted", f"the data contradict it: {_orders(surely)}"
    if against:
        return "not settled", f"the data lean against it: {_orders(against)}, which is indicated only"
    open_pairs = [p for p in pairings if p.verdict == "open"]
    if open_pairs:
        return "not settled", (
            f"{CANNOT_TELL}: not settled between {listed(' and '.join(sorted(p.groups)) for p in open_pairs)}"
        )
    strength: Strength = "shown" if all(p.strength == "shown" for p in pairings) else "indicated"
    return strength, "the data bear it out" if strength == "shown" else "the data point the same way"


def _about(pairing: Pairing, expected: Expected) -> bool:
    if expected.kind in ("longest", "shortest"):
        return expected.groups[0] in pairing.groups
    return pairing.groups <= set(expected.groups)


def _speaks_against(pairing: Pairing, expected: Expected) -> bool:
    """Return whether a settled pairing says otherwise than was expected."""
    if pairing.verdict == "open":
        return False
    if expected.kind == "alike":
        return pairing.verdict == "longer"
    longer = pairing.second if expected.kind == "shortest" else pairing.first
    winner = expected.groups[0]
    if pairing.verdict == "alike":
        return True
    return longer != winner


def _orders(pairings: Sequence[Pairing]) -> str:
    return listed(
        f"{columns_of(p.first)} outlast {columns_of(p.second)}"
        if p.verdict == "longer"
        else f"{columns_of(p.first)} and {columns_of(p.second)} last equally long"
        for p in pairings
    )


def _holds(evidence: Evidence, scope: Scope, expected: Expected) -> tuple[Strength, str]:
    """Hold 'lasts so many hours' against the group's life and its interval."""
    life = evidence.group_life(expected.groups[0], *scope.deciding)
    wanted = expected.hours or 0.0
    if life is None:
        return "not settled", f"{CANNOT_TELL}: the life of this group was not measured"
    said = f"{columns_of(life.group)} last {life_words(life.life)}"
    if life.life.hours.low is not None and life.life.hours.low >= wanted:
        return ("shown" if len(life.columns) > 1 else "indicated"), f"the data bear it out: {said}"
    if life.life.hours.high is not None and life.life.hours.high < wanted:
        many = len(life.columns) > 1
        return ("contradicted" if many else "not settled"), f"the data speak against {hours(wanted)}: {said}"
    return "not settled", f"{CANNOT_TELL} whether it is {hours(wanted)}: {said}"
