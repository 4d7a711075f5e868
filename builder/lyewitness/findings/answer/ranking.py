"""Which group lasts longer than which, and how surely: never further than ratio, p value and audit allow.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Pairing`s and a `Ranking`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from lyewitness.decline.records import Comparison
from lyewitness.decline.small_samples import holm
from lyewitness.findings import because
from lyewitness.findings.answer.factor_claims import (
    FactorVerdict,
    designed_pairs,
    factor_verdicts,
    told_pairs,
)
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.audit.points import Pair, Point, bearing_on, bounded
from lyewitness.findings.audit.results import longer_lived
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Strength
from lyewitness.words.phrases import counted, kind_of, listed, mid_sentence, spelled

Verdict = Literal["longer", "alike", "open"]
LEAST_COLUMNS = 2
"""Columns a side below which nothing is said of a type: one shows no scatter."""


@dataclass(frozen=True, slots=True)
class Pairing:
    """What can be said of two groups."""

    first: str
    """The longer-lived one where the verdict is `longer`."""
    second: str
    verdict: Verdict
    strength: Strength
    """`not settled` where the verdict is `open`."""
    comparison: Comparison | None
    why: tuple[str, ...]
    """Why it is no stronger, in words."""
    points: tuple[Point, ...]
    """The points of the audit that bear on it, gravest first."""
    slower: str = ""
    """The group that declines more slowly, where no life was reached and the rates tell."""
    pace: Strength = "not settled"
    """How surely it does."""
    pace_p: float | None = None
    """p value of the ratio of rates, corrected for all comparisons in which no life was reached."""

    @property
    def groups(self) -> frozenset[str]:
        """Return the two groups."""
        return frozenset((self.first, self.second))


def pairing_of(evidence: Evidence, points: Sequence[Point], scope: Scope, first: str, second: str) -> Pairing:
    """Judge two groups by the scope's deciding metric, bounded by the audit."""
    comparison = evidence.comparison(first, second, *scope.deciding)
    heavy = bearing_on(points, (first, second))
    if comparison is None:
        return Pairing(first, second, "open", "not settled", None, ("they were not compared",), heavy)
    objections = _objections(evidence, comparison)
    longer = longer_lived(comparison)
    alike = comparison.finding == "no meaningful difference"
    if objections or not (longer or alike):
        why = tuple(objections) or ((comparison.reason,) if comparison.reason else ())
        return Pairing(first, second, "open", "not settled", comparison, why, heavy)
    # Two one-sided tests can pass where an end of the two-sided interval still reaches out of the margin.
    firm = _within_margin(evidence, comparison) if alike else comparison.p_adjusted is not None
    strength: Strength = "shown" if firm else "indicated"
    held = bounded(strength, points, (first, second))
    if held == "not settled":
        why = _audit_words(p for p in heavy if p.bound == "not settled")
        return Pairing(first, second, "open", held, comparison, why, heavy)
    why = () if held == "shown" else _audit_words(p for p in heavy if p.bound == "indicated")
    if not firm:
        lacking = "an end of the interval reaches past the margin" if alike else "no test was possible"
        why = (lacking, *why)
    shorter = second if longer == first else first
    pair = (longer, shorter) if longer else (first, second)
    return Pairing(*pair, "alike" if alike else "longer", held, comparison, why, heavy)


def _audit_words(points: Iterable[Point]) -> tuple[str, ...]:
    return tuple(mid_sentence(point.check.detail.rstrip(".")) for point in points)


def _objections(evidence: Evidence, comparison: Comparison) -> list[str]:
    """Return what forbids to settle the pair, whatever the comparison itself says of it."""
    if comparison.finding == "these columns only" or min(comparison.columns_a, comparison.columns_b) < 2:
        return [_too_few(evidence, comparison)]
    if comparison.finding == "not settled":
        return [_overlap(evidence, comparison)]
    if comparison.finding == "no meaningful difference":
        return _objections_to_alike(evidence, comparison)
    return _objections_to_longer(evidence, comparison)


def _too_few(evidence: Evidence, comparison: Comparison) -> str:
    """Return which side has but one column of known life, and whether more were tested."""
    sides = ((comparison.group_a, comparison.columns_a), (comparison.group_b, comparison.columns_b))
    tested = {group: len(evidence.study.replicates(group)) for group, _ in sides}
    single = [f"one {kind_of(group)} column" for group, number in tested.items() if number < 2]
    said = []
    if single:
        types = "its type" if len(single) == 1 else "their types"
        was = "was" if len(single) == 1 else "were"
        said.append(f"only {listed(single)} {was} tested, which says nothing of {types}")
    said += [
        f"the life of {spelled(known)} of {spelled(tested[group])} {kind_of(group)} columns alone is known"
        for group, known in sides
        if known < 2 <= tested[group]
    ]
    return listed(said) or comparison.reason or "too few columns can be compared"


def _overlap(evidence: Evidence, comparison: Comparison) -> str:
    """Return why a tested pair is not settled; columns are counted a group, since the sides may differ."""
    if comparison.reason and "columns a side" not in comparison.reason:
        return comparison.reason
    counts = list(dict.fromkeys((comparison.columns_a, comparison.columns_b)))
    tested = (
        f"{counted(counts[0], 'column')} a group"
        if len(counts) == 1
        else (
            f"{counted(comparison.columns_a, f'{kind_of(comparison.group_a)} column')} and "
            f"{counted(comparison.columns_b, f'{kind_of(comparison.group_b)} column')}"
        )
    )
    return f"with {tested}, the lives can neither be told apart nor be shown to be alike"


def _objections_to_longer(evidence: Evidence, comparison: Comparison) -> list[str]:
    found = []
    low, high = comparison.life_ratio.low, comparison.life_ratio.high
    a_longer = comparison.finding == "a lasts longer"
    side = 1 if a_longer else -1
    end = low if a_longer else high
    if (end is None and comparison.p_adjusted is None) or (end is not None and (end - 1) * side <= 0):
        found.append("the interval of the life ratio reaches to 1 or past it")
    level = evidence.study.choices.alpha if evidence.standing.level is None else evidence.standing.level
    if comparison.p_adjusted is not None and comparison.p_adjusted > level:
        look = f" at look {evidence.standing.look} of {evidence.standing.looks}"
        found.append(f"chance alone could do it{look if evidence.standing.level is not None else ''}")
    if _neither_failed(evidence, comparison):
        found.append("neither reached the limit")
    return found


def _objections_to_alike(evidence: Evidence, comparison: Comparison) -> list[str]:
    """'No meaningful difference' needs the ratio surely within the margin: absence of proof is none."""
    if _within_margin(evidence, comparison) or (
        comparison.equivalence_p is not None and comparison.equivalence_p <= evidence.study.choices.alpha
    ):
        return []
    return ["the interval of the life ratio is wider than the margin"]


def _within_margin(evidence: Evidence, comparison: Comparison) -> bool:
    """Return whether the whole interval of the life ratio lies within the margin."""
    margin = 1 + evidence.study.choices.equivalence_margin_percent / 100
    low, high = comparison.life_ratio.low, comparison.life_ratio.high
    return low is not None and high is not None and low >= 1 / margin and high <= margin


def _neither_failed(evidence: Evidence, comparison: Comparison) -> bool:
    """Return whether no column of either group is known to have reached the limit."""
    lives = [
        evidence.group_life(group, comparison.marker, comparison.metric)
        for group in (comparison.group_a, comparison.group_b)
    ]
    return all(life is not None and "reached" not in life.states for life in lives)


@dataclass(frozen=True, slots=True)
class Ranking:
    """All pairs of a scope."""

    groups: tuple[str, ...]
    pairings: tuple[Pairing, ...]
    factors: tuple[FactorVerdict, ...] = ()
    """What the factors of the design do."""
    told: frozenset[Pair] = frozenset()
    """Pairs of groups of which the factors tell."""
    alone: frozenset[Pair] = frozenset()
    """Pairs of a design that are settled by themselves, where the factor in which they differ is not."""
    by_any: tuple[Pairing, ...] = ()
    """Pairs that the metric which decides leaves open, and whichever limit is passed first tells: what is
    advised follows them."""

    @property
    def of_use(self) -> "Ranking":
        """Return the ranking with what whichever limit is passed first tells of the pairs that are open."""
        told = {pairing.groups: pairing for pairing in self.by_any}
        return replace(self, pairings=tuple(told.get(p.groups, p) for p in self.pairings), by_any=())

    def of(self, first: str, second: str) -> Pairing | None:
        """Return the pairing of two groups."""
        return next((p for p in self.pairings if p.groups == {first, second}), None)

    def beaten_by(self, group: str) -> tuple[str, ...]:
        """Return the groups that are longer-lived than `group`."""
        return tuple(p.first for p in self.pairings if p.verdict == "longer" and p.second == group)

    def outlasts(self, group: str) -> tuple[str, ...]:
        """Return the groups that `group` outlasts."""
        return tuple(p.second for p in self.pairings if p.verdict == "longer" and p.first == group)

    @property
    def longest(self) -> str:
        """Return the group that outlasts all others; empty where none does."""
        others = len(self.groups) - 1
        return next((g for g in self.groups if others and len(self.outlasts(g)) == others), "")

    @property
    def shortest(self) -> str:
        """Return the group that all others outlast; empty where there is none."""
        others = len(self.groups) - 1
        return next((g for g in self.groups if others and len(self.beaten_by(g)) == others), "")

    @property
    def open_pairs(self) -> tuple[Pairing, ...]:
        """Return the pairs of which we cannot tell, and no factor tells."""
        return tuple(p for p in self.pairings if p.verdict == "open" and p.groups not in self.told)

    @property
    def untold(self) -> tuple[Pairing, ...]:
        """Return the pairs of which no factor tells."""
        return tuple(p for p in self.pairings if p.groups not in self.told)

    def strength_of(self, group: str) -> Strength:
        """Return the weakest strength among the settled pairs of `group`."""
        settled = [p.strength for p in self.pairings if group in p.groups and p.verdict != "open"]
        return "indicated" if "indicated" in settled else ("shown" if settled else "not settled")


def rank(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Ranking:
    """Judge every pair of the scope."""
    found = (pairing_of(evidence, points, scope, a, b) for a, b in scope.pairs)
    rates = _adjusted_rates(evidence)
    pairings = tuple(_with_pace(evidence, points, pairing, rates) for pairing in found)
    factors = factor_verdicts(evidence, points, scope)
    alone = _settled_alone(evidence, pairings, factors)
    return Ranking(scope.groups, pairings, factors, designed_pairs(evidence, factors) - alone, alone)


def with_any_limit(ranking: Ranking, by_any: Ranking) -> Ranking:
    """Return the ranking with what `by_any`, that by whichever limit is passed first, tells of open pairs.

    A stated metric was to decide: what does so in its place is indicated at most.
    """
    still_open = {pairing.groups for pairing in ranking.open_pairs}
    found = [p for p in by_any.pairings if p.verdict == "longer" and p.groups in still_open]
    return replace(ranking, by_any=tuple(_indicated(pairing) for pairing in found))


def _indicated(pairing: Pairing) -> Pairing:
    if pairing.strength != "shown":
        return pairing
    return replace(pairing, strength="indicated", why=("the metric that is to decide leaves it open",))


def _settled_alone(
    evidence: Evidence, pairings: Iterable[Pairing], factors: Iterable[FactorVerdict]
) -> frozenset[Pair]:
    """Return the settled pairs that differ in factors of which we cannot tell: no effect tells of them.

    What is advised of them would stand beside ‘we cannot tell’ without a word on why.
    """
    verdicts = tuple(factors)
    return frozenset(
        pairing.groups
        for pairing in pairings
        for telling in [
            [v for v in verdicts if not v.by_rate and pairing.groups in told_pairs(evidence, v.effect)]
        ]
        if pairing.verdict == "longer" and telling and all(v.verdict == "open" for v in telling)
    )


def _adjusted_rates(evidence: Evidence) -> dict[int, float]:
    """Return the p values of the rates after Holm, of the comparisons in which no life was reached.

    Those that one question asks for are corrected for each other, all others for all of them.
    """
    found = evidence.judgement.comparisons
    without = [one for one in found if one.rate_p is not None and not because.has_number(one.life_ratio)]
    questions = dict.fromkeys(one.of_question for one in without if one.of_question is not None)
    adjusted: dict[int, float] = {}
    for family in (without, *([x for x in without if x.of_question == one] for one in questions)):
        p_values = holm([one.rate_p or 0.0 for one in family])
        adjusted |= dict(zip(map(id, family), p_values, strict=True))
    return adjusted


def _with_pace(
    evidence: Evidence, points: Sequence[Point], pairing: Pairing, rates: Mapping[int, float]
) -> Pairing:
    """Return an open pairing with which group declines more slowly, by the same rules as for lives."""
    found = pairing.comparison
    p_value = rates.get(id(found), 1.0)
    pairing = replace(pairing, pace_p=rates.get(id(found)))
    if found is None or pairing.verdict != "open" or p_value > evidence.study.choices.alpha:
        return pairing
    few = min(found.columns_a, found.columns_b) < LEAST_COLUMNS
    if few or found.finding != "not settled" or not _neither_failed(evidence, found):
        return pairing
    low, high = found.rate_ratio.low, found.rate_ratio.high
    if low is None or high is None or low <= 1 <= high:
        return pairing
    pace = bounded("shown", points, (pairing.first, pairing.second))
    slower = found.group_b if low > 1 else found.group_a
    return replace(pairing, slower=slower, pace=pace) if pace != "not settled" else pairing


def why_words(pairings: Iterable[Pairing]) -> str:
    """Return the reasons of several pairings, each once."""
    return listed(dict.fromkeys(reason.rstrip(".") for pairing in pairings for reason in pairing.why))
