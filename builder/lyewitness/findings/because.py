"""The links from a claim to what it rests on; every target exists in the report.

In: records of the stages before. Out: `Because`.
"""

from collections.abc import Iterable

from lyewitness.decline.records import Comparison, Decline
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import tell, tell_ratio
from lyewitness.words.metrics import ANY_LIMIT, metric_of_marker
from lyewitness.words.names import slug
from lyewitness.words.numbers import p_value


def of_decline(decline: Decline) -> Because:
    """Link to one decline, with its life in the label; to the column where its life is by any limit."""
    series = decline.series
    if series.metric == ANY_LIMIT:
        return Because("column", series.column, f"{series.column}, by any limit: {tell(decline.life)}")
    target = f"{series.column}/{series.marker}/{series.metric}"
    words = f"{series.column}, {metric_of_marker(series.marker, series.metric)}"
    life = "" if decline.life.state == "not measured" else f": {tell(decline.life)}"
    return Because("decline", target, words + life)


def of_declines(evidence: Evidence, group: str, marker: str, metric: str) -> tuple[Because, ...]:
    """Link to the declines of a group's columns for that marker and metric, those that exist."""
    found = (evidence.decline(column.id, marker, metric) for column in evidence.study.replicates(group))
    return tuple(of_decline(decline) for decline in found if decline is not None)


def of_columns(evidence: Evidence, group: str) -> tuple[Because, ...]:
    """Link to the columns of a group."""
    return tuple(Because("column", column.id, column.label) for column in evidence.study.replicates(group))


def of_comparison(comparison: Comparison) -> Because:
    """Link to one comparison, with ratio and adjusted p value in the label.

    One by any limit stands in no table: the lives that it rests on are linked beside it.
    """
    target = f"{comparison.group_a}/{comparison.group_b}/{comparison.marker}/{comparison.metric}"
    first, second, ratio = upright(comparison)
    words = f"{first} against {second}"
    told = tell_ratio(ratio)
    numbers = [f"life ratio {told}"] if told else []
    if comparison.p_adjusted is not None:
        numbers.append(p_value(comparison.p_adjusted))
    if comparison.metric == ANY_LIMIT:
        target, words = "lives", f"{words} by any limit"
        return Because("figure", target, ": ".join([words, ", ".join(numbers)]) if numbers else words)
    return Because("comparison", target, ": ".join([words, ", ".join(numbers)]) if numbers else words)


def upright(comparison: Comparison) -> tuple[str, str, Estimate]:
    """Return the two groups and their life ratio, turned so that it is above one."""
    ratio = comparison.life_ratio
    middle = ratio.value
    if middle is None:
        below = ratio.high is not None and ratio.high <= 1
        middle = 0.5 if below else 2.0
    if middle >= 1:
        return comparison.group_a, comparison.group_b, ratio
    return comparison.group_b, comparison.group_a, turned(ratio)


def turned(ratio: Estimate) -> Estimate:
    """Return 1 ÷ ratio, with the ends exchanged."""
    value, low, high = (1 / end if end else None for end in (ratio.value, ratio.low, ratio.high))
    return Estimate(value, high, low, ratio.reason)


def has_number(estimate: Estimate) -> bool:
    """Return whether there is anything to print but a reason."""
    return any(end is not None for end in (estimate.value, estimate.low, estimate.high))


def of_points(points: Iterable[Point]) -> tuple[Because, ...]:
    """Link to points of the audit."""
    return tuple(dict.fromkeys(Because("check", point.check.id, point.check.check) for point in points))


def of_claims(claims: Iterable[Claim]) -> tuple[Because, ...]:
    """Link to claims of the same answer."""
    return tuple(Because("claim", claim.id, claim.text) for claim in claims)


def of_lives() -> Because:
    """Link to the figure of all lives."""
    return Because("figure", "lives", "the lives of all groups")


def of_factors(marker: str, metric: str) -> Because:
    """Link to the figure of what each factor does."""
    return Because("figure", f"factors-{slug(marker)}-{slug(metric)}", "the effects of all factors")


def of_decline_figure(marker: str, metric: str) -> tuple[Because, ...]:
    """Link to the figure of a decline; several limits together have none."""
    if metric == ANY_LIMIT:
        return ()
    label = f"decline of {metric_of_marker(marker, metric)}"
    return (Because("figure", f"decline-{slug(marker)}-{slug(metric)}", label),)
