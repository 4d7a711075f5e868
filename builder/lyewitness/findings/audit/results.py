"""Audit of the results: do limits agree, is life bracketed, could a difference in treatment be the answer?

In: `Evidence`. Out: `Point`s.

How hard each group was treated is held against the ratio of lives that was seen (`weigh`).
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from math import inf
from statistics import median

from lyewitness.decline.first_limits import ANY
from lyewitness.decline.records import Comparison
from lyewitness.findings.audit.points import (
    Asked,
    Pair,
    Point,
    all_pairs,
    groups_of,
    pairs_with,
    subject_of,
    worst,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import CheckResult, Strength
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import ANY_LIMIT, metric_of_marker, the_metric
from lyewitness.words.numbers import DOWN, UP, bound, rounded, with_unit
from lyewitness.words.phrases import counted, hours, listed

AGREE = Asked(
    "limits-agree",
    "Do the other limits rank the groups the same way?",
    "Which group lasts longer then depends on which limit matters to the user.",
    "Say which limit matters in use, and answer for that one.",
)


def limits_agree(evidence: Evidence) -> Iterator[Point]:
    """Ask whether any limited metric settles a pair the other way round than the deciding one."""
    deciding = evidence.judgement.deciding
    settled: dict[Pair, dict[str, list[Comparison]]] = {}
    for comparison in evidence.judgement.comparisons:
        if comparison.metric != ANY_LIMIT and (longer := longer_lived(comparison)):
            pair = frozenset((comparison.group_a, comparison.group_b))
            settled.setdefault(pair, {}).setdefault(longer, []).append(comparison)
    torn = {pair: winners for pair, winners in settled.items() if len(winners) > 1}
    if not settled:
        return
    if not torn:
        number = sum(len(found) for winners in settled.values() for found in winners.values())
        yield AGREE.good(f"of {counted(number, 'settled comparison')} none settles its pair the other way")
        return
    said = "; ".join(
        listed(f"{listed(metric_of_marker(c.marker, c.metric) for c in found)} favours {winner}"
               for winner, found in winners.items())
        for winners in torn.values()
    )  # fmt: skip
    by_deciding = any((c.marker, c.metric) == deciding for w in torn.values() for f in w.values() for c in f)
    yield AGREE.says("problem" if by_deciding else "caution", said, bound="indicated", pairs=torn)


def longer_lived(comparison: Comparison) -> str:
    """Return the group that the comparison finds longer-lived; empty where it finds none."""
    return {"a lasts longer": comparison.group_a, "b lasts longer": comparison.group_b}.get(
        comparison.finding, ""
    )


FIRST = Asked(
    "same-first-failure",
    "Did the deciding metric fail first?",
    "The ranking is by one metric: a column that failed another limit before was lost to its user before.",
    "Read the lives by every limit, or say which limit matters in use.",
)


def failed_before(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a column surely passed another limit before it passed the deciding one."""
    marker, metric = evidence.judgement.deciding
    earlier: dict[str, tuple[str, Estimate]] = {}
    for first in evidence.judgement.first_failures:
        deciding = evidence.decline(first.column, marker, metric)
        if not first.metric or (first.marker, first.metric) == (marker, metric) or deciding is None:
            continue
        end, start = first.life.hours.high, deciding.life.hours.low
        if first.life.hours.value is not None and end is not None and start is not None and end < start:
            what = metric_of_marker(first.marker, first.metric)
            earlier[first.column] = what, first.life.hours
    if not metric or not evidence.judgement.first_failures:
        return
    if not earlier:
        yield FIRST.good(f"no column surely failed another limit before {the_metric(marker, metric)}")
        return
    turned = _turned_by_first_failures(evidence)
    groups = groups_of(evidence, earlier)
    for pairs, allowed in ((turned, "indicated"), (pairs_with(evidence.study, groups) - turned, "shown")):
        if pairs:
            yield FIRST.says(
                "problem" if turned else "caution",
                f"other limits were passed before that of {the_metric(marker, metric)}: "
                f"{earlier_words(earlier)}",
                subject_of(evidence, earlier),
                bound="indicated" if allowed == "indicated" else "shown",
                pairs=pairs,
            )


def earlier_words(earlier: Mapping[str, tuple[str, Estimate]]) -> str:
    """Return each metric once, with the columns on which it was passed and between which hours, surely."""
    by_metric: dict[str, list[str]] = {}
    for column, (what, _) in earlier.items():
        by_metric.setdefault(what, []).append(column)
    said = []
    for what, columns in by_metric.items():
        lives = [earlier[column][1] for column in columns]
        low = bound(min(one.low or 0.0 for one in lives), 2, DOWN)
        high = bound(max(one.high or 0.0 for one in lives), 2, UP)
        said.append(f"{what} on {listed(columns)} between {low} and {with_unit(high, 'h')}")
    return listed(said)


def _turned_by_first_failures(evidence: Evidence) -> frozenset[Pair]:
    """Return the settled pairs of which the shorter-lived group has the later first failures (median)."""
    firsts: dict[str, list[float]] = {}
    for first in evidence.judgement.first_failures:
        hours_ = first.life.hours.value
        # A column that failed nothing counts as what it surely held.
        firsts.setdefault(first.group, []).append(
            hours_ if hours_ is not None else first.life.hours.low or inf
        )
    turned = set()
    for comparison in evidence.judgement.comparisons:
        longer = longer_lived(comparison)
        if (comparison.marker, comparison.metric) != evidence.judgement.deciding or not longer:
            continue
        shorter = comparison.group_b if longer == comparison.group_a else comparison.group_a
        if longer in firsts and shorter in firsts and median(firsts[longer]) <= median(firsts[shorter]):
            turned.add(frozenset((longer, shorter)))
    return frozenset(turned)


BRACKET = Asked(
    "life-bracketed",
    "Was the failure seen closely?",
    "Where the last good and the first failed injection lie far apart, the life rests on the model.",
    "Inject more often around the expected life.",
)


def bracketed(evidence: Evidence) -> Iterator[Point]:
    """Ask whether last injection within the limit and first past it lie within a fifth of the life."""
    marker, metric = evidence.judgement.deciding
    wide: dict[str, tuple[float, float]] = {}
    seen = 0
    for column in evidence.study.columns:
        decline = evidence.decline(column.id, marker, metric)
        if decline is None or decline.life.state != "reached" or decline.life.hours.value is None:
            continue
        low, high = decline.life.bracket_h
        seen += 1
        if low is not None and high is not None and high - low > 0.2 * decline.life.hours.value:
            wide[column.id] = (low, high)
    if not seen:
        return
    if wide:
        groups = groups_of(evidence, wide)
        said = listed(
            f"on {column} between {hours(low)} and {hours(high)}" for column, (low, high) in wide.items()
        )
        yield BRACKET.says(
            "caution", f"{metric_of_marker(marker, metric)} crossed its limit in a wide gap: {said}",
            subject_of(evidence, wide),
            pairs=pairs_with(evidence.study, groups), groups=groups,
        )  # fmt: skip
    else:
        yield BRACKET.good(f"{metric_of_marker(marker, metric)}: each failure lies between close injections")


def folder(evidence: Evidence) -> Iterator[Point]:
    """Show each caution about the folder, and each thing missing in it, as a point of its own."""
    results: dict[str, CheckResult] = {"caution": "caution", "missing": "not possible"}
    for number, problem in enumerate(evidence.problems, start=1):
        if problem.severity not in results:
            continue
        where = ", ".join(part for part in (problem.file, problem.place) if part) or "the folder"
        asked = Asked(f"folder-{number}", "Is the study folder complete and consistent?", "", problem.cure)
        yield asked.says(
            results[problem.severity], f"{problem.found}; expected {problem.expected} ({where})", where
        )


HARMLESS = 1.05
"""A treatment that can change a life by no more than this is left alone."""


@dataclass(frozen=True, slots=True)
class Weight:
    """How a difference in treatment weighs on one pair."""

    pair: Pair
    result: CheckResult
    bound: Strength
    words: str
    shortens: str = ""
    """`1.11 (B against A)`: by how much the treatment can shorten lives of a pair that is not settled."""


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
    words = "; ".join(dict.fromkeys(weight.words for weight in heavy if not weight.shortens))
    # What could shorten several lives is one cause, told once.
    if several := [weight for weight in heavy if weight.shortens]:
        factors = listed(weight.shortens for weight in several)
        shortens = (
            several[0].words if len(several) == 1 else f"{cause} can shorten lives by factors of {factors}"
        )
        words = "; ".join(part for part in (words, shortens) if part)
    result = worst(weight.result for weight in heavy)
    for allowed in dict.fromkeys(weight.bound for weight in heavy):
        concerned = [weight.pair for weight in heavy if weight.bound == allowed]
        yield asked.says(result, f"{detail}: {words}", bound=allowed, pairs=concerned)


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
    # Columns that another limit ended have not outlasted by the one that decides.
    by_any = evidence.comparison(hard, soft, *ANY)
    seen = by_any or evidence.comparison(hard, soft, *evidence.judgement.deciding)
    longer = longer_lived(seen) if seen else ""
    if seen is None or not longer:
        said = f"{cause} can shorten lives of {hard} by {possible}"
        return Weight(pair, "caution", "indicated", said, f"{rounded(size, 3)} ({hard} against {soft})")
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
