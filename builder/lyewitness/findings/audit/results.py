"""Audit of the results themselves: do the limits agree, is the life well bracketed, is the folder whole?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Iterator

from lyewitness.decline.records import Comparison
from lyewitness.findings.audit.points import (
    Asked,
    Pair,
    Point,
    groups_of,
    pairs_with,
    subject_of,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import CheckResult
from lyewitness.findings.wording import hours, listed, metric_of

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
        if longer := longer_lived(comparison):
            pair = frozenset((comparison.group_a, comparison.group_b))
            settled.setdefault(pair, {}).setdefault(longer, []).append(comparison)
    torn = {pair: winners for pair, winners in settled.items() if len(winners) > 1}
    if not settled:
        return
    if not torn:
        number = sum(len(found) for winners in settled.values() for found in winners.values())
        yield AGREE.good(f"the {number} comparisons that settle a pair all settle it one way")
        return
    said = "; ".join(
        listed(f"{listed(metric_of(c.marker, c.metric) for c in found)} favours {winner}"
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
            f"{column} between {hours(low)} and {hours(high)}" for column, (low, high) in wide.items()
        )
        yield BRACKET.says(
            "caution", f"{metric_of(marker, metric)} passed its limit unseen: {said}",
            subject_of(evidence, wide),
            pairs=pairs_with(evidence.study, groups), groups=groups,
        )  # fmt: skip
    else:
        yield BRACKET.good(f"{metric_of(marker, metric)}: each failure lies between close injections")


def folder(evidence: Evidence) -> Iterator[Point]:
    """Show each caution about the folder, and each thing missing in it, as a point of its own."""
    results: dict[str, CheckResult] = {"caution": "caution", "missing": "not possible"}
    for number, problem in enumerate(evidence.problems, start=1):
        if problem.severity not in results:
            continue
        where = ", ".join(part for part in (problem.file, problem.place) if part) or "the folder"
        asked = Asked(f"folder-{number}", "Is the folder whole and clear?", "", problem.cure)
        yield asked.says(
            results[problem.severity], f"{where}: {problem.found}; expected {problem.expected}", where
        )
