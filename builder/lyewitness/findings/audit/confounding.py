"""Could a difference in treatment be the answer? Its size is held against the ratio of lives that was seen.

In: `Evidence` and, by group, how hard each was treated. Out: `Point`s that share one
check, with a bound for each pair.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from lyewitness.findings.audit.points import Asked, Pair, Point, all_pairs, worst
from lyewitness.findings.audit.results import longer_lived
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import CheckResult, Strength
from lyewitness.words.numbers import rounded

HARMLESS = 1.05
"""A treatment that can change a life by no more than this is left alone."""


@dataclass(frozen=True, slots=True)
class Weight:
    """How a difference in treatment weighs on one pair."""

    pair: Pair
    result: CheckResult
    bound: Strength
    words: str


def weigh(
    evidence: Evidence,
    asked: Asked,
    cause: str,
    detail: str,
    hardness: Mapping[str, float],
    factor: Callable[[float, float], float],
    rough: bool,
) -> Iterator[Point]:
    """Return one check, with a bound for each pair of groups.

    `factor(hard, soft)` is by how much the harder treatment can shorten a life at most. Where it is `rough`,
    the ratio of lives must exceed its square for the ranking to stand as shown, else the factor itself.
    """
    pairs = [pair for pair in all_pairs(evidence.study) if pair <= set(hardness)]
    weights = [_weight(evidence, pair, cause, hardness, factor, rough) for pair in sorted(pairs, key=sorted)]
    heavy = [weight for weight in weights if weight.result != "good"]
    if not heavy:
        yield asked.good(detail)
        return
    words = "; ".join(dict.fromkeys(weight.words for weight in heavy))
    result = worst(weight.result for weight in heavy)
    for bound in dict.fromkeys(weight.bound for weight in heavy):
        concerned = [weight.pair for weight in heavy if weight.bound == bound]
        yield asked.says(result, f"{detail}: {words}", bound=bound, pairs=concerned)


def _weight(
    evidence: Evidence,
    pair: Pair,
    cause: str,
    hardness: Mapping[str, float],
    factor: Callable[[float, float], float],
    rough: bool,
) -> Weight:
    soft, hard = sorted(pair, key=lambda group: (hardness[group], group))
    size = factor(hardness[hard], hardness[soft])
    if size < HARMLESS:
        return Weight(pair, "good", "shown", "")
    possible = f"a factor of {rounded(size, 3)}"
    seen = evidence.comparison(hard, soft, *evidence.judgement.deciding)
    longer = longer_lived(seen) if seen else ""
    if seen is None or not longer:
        return Weight(pair, "caution", "indicated", f"{cause} can shorten lives of {hard} by {possible}")
    if longer == hard:
        return Weight(
            pair, "caution", "shown", f"{hard} was treated harder and outlasted {soft} all the same"
        )
    low, high = seen.life_ratio.low, seen.life_ratio.high
    surely = (low or 0.0) if seen.group_a == longer else (1 / high if high else 0.0)
    said = f"{soft} outlasts {hard} by at least a factor of {rounded(surely, 3)}"
    if surely > size**2 or (surely > size and not rough):
        return Weight(pair, "caution", "shown", f"{said}, and {cause} can explain {possible} at most")
    if surely > size:
        return Weight(pair, "caution", "indicated", f"{said}, and {cause} can explain {possible}")
    return Weight(
        pair, "problem", "not settled", f"{cause} can explain {possible}, and so why {soft} outlasts {hard}"
    )
