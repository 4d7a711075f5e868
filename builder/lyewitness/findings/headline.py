"""The short answer: a sentence or two that stand alone, with the lives.

In: `Evidence`, a `Scope`, a `Ranking`. Out: text; its verb says how strong the claims behind it are.
"""

from collections.abc import Iterable

from lyewitness.decline.records import GroupLife
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.ranking import Pairing, Ranking
from lyewitness.findings.scope import Scope
from lyewitness.findings.wording import (
    CANNOT_TELL,
    as_stated,
    columns_of,
    falls_past,
    life_words,
    listed,
    metric_of,
    run_together,
)
from lyewitness.quantities import with_unit


def headline(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return the answer in a sentence or two."""
    lives = [life for g in scope.groups if (life := evidence.group_life(g, *scope.deciding)) is not None]
    if scope.limit is None or not lives:
        return _without_lives(evidence, scope)
    return run_together([_verdict(evidence, scope, ranking, lives), _lives(scope, lives)])


def _without_lives(evidence: Evidence, scope: Scope) -> str:
    if not evidence.study.limits:
        return f"{CANNOT_TELL.capitalize()} how long the columns last: the study names no limit."
    reasons = dict.fromkeys(d.reason for d in evidence.judgement.declines if d.reason)
    why = f": {listed(list(reasons)[:2])}" if reasons else ": no limited metric was measured"
    return run_together([f"{CANNOT_TELL} how long {listed(columns_of(g) for g in scope.groups)} last{why}"])


def _verdict(evidence: Evidence, scope: Scope, ranking: Ranking, lives: list[GroupLife]) -> str:
    if len(scope.groups) == 1:
        return ""
    if not any("reached" in life.states for life in lives):
        return f"no column is known to have reached the limit, so {CANNOT_TELL} which lasts longest"
    if min(len(evidence.study.replicates(group)) for group in scope.groups) < 2 and not ranking.longest:
        return _single_columns(scope, ranking, lives)
    if ranking.longest:
        return _winner(ranking)
    return _partly(evidence, ranking)


def _winner(ranking: Ranking) -> str:
    last = "last" if ranking.strength_of(ranking.longest) == "shown" else "seem to last"
    degree = "longest" if len(ranking.groups) > 2 else "longer"
    than = (
        f" than {columns_of(next(g for g in ranking.groups if g != ranking.longest))}"
        if degree == "longer"
        else ""
    )
    open_rest = [p for p in ranking.open_pairs if ranking.longest not in p.groups]
    rest = f"; between {_pairs(p.groups for p in open_rest)} {CANNOT_TELL}" if open_rest else ""
    return f"{columns_of(ranking.longest)} {last} {degree}{than} at these conditions{rest}"


def _partly(evidence: Evidence, ranking: Ranking) -> str:
    """Say what is settled of some pairs, then of which we cannot tell."""
    said = []
    if ranking.shortest:
        fail = "fail" if ranking.strength_of(ranking.shortest) == "shown" else "seem to fail"
        said.append(f"{columns_of(ranking.shortest)} {fail} first at these conditions")
    else:
        for pairing in ranking.pairings:
            if pairing.verdict == "longer":
                said.append(_outlast(pairing))
    margin = with_unit(as_stated(evidence.study.choices.equivalence_margin_percent), "%")
    alike = [p for p in ranking.pairings if p.verdict == "alike"]
    if alike:
        last = "last" if all(p.strength == "shown" for p in alike) else "seem to last"
        said.append(f"{_pairs(p.groups for p in alike)} {last} equally long within {margin}")
    if ranking.open_pairs:
        said.append(
            f"between {_pairs(p.groups for p in ranking.open_pairs)} {CANNOT_TELL} which lasts longer"
        )
    return "; ".join(said)


def _pairs(pairs: Iterable[frozenset[str]]) -> str:
    return listed((" and ".join(sorted(pair)) for pair in pairs), "or")


def _single_columns(scope: Scope, ranking: Ranking, lives: list[GroupLife]) -> str:
    single = [life.group for life in lives if len(life.columns) == 1]
    what = f"a single column of {listed(single)}" if single else "these columns"
    settled = _partly_settled(ranking)
    return f"{settled}{CANNOT_TELL} which type lasts longest: {what} says nothing of the type"


def _partly_settled(ranking: Ranking) -> str:
    settled = [p for p in ranking.pairings if p.verdict == "longer"]
    words = [_outlast(pairing) for pairing in settled]
    return f"{listed(words)}; otherwise " if words else ""


def _outlast(pairing: Pairing) -> str:
    verb = "outlast" if pairing.strength == "shown" else "seem to outlast"
    return f"{columns_of(pairing.first)} {verb} {columns_of(pairing.second)}"


def _lives(scope: Scope, lives: list[GroupLife]) -> str:
    """Return the lives of all groups, longest first, with the metric and limit said once."""
    if scope.limit is None:
        return ""
    ordered = sorted(lives, key=lambda life: -(life.life.hours.value or life.life.hours.low or 0.0))
    said = listed(f"{life_words(life.life)} for {life.group}" for life in ordered)
    until = f"until {metric_of(*scope.deciding)} {falls_past(scope.limit)}"
    return f"lives {until}: {said}"
