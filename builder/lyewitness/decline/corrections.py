"""What comparisons find once their p values are corrected for how many there are.

In: comparisons with a p value each, and the families of those that the study's questions ask for. Out: the
same with corrected p values and findings.

A question that was stated before the data were seen asks for so many comparisons and no more: they are
corrected for each other (Holm 1979), and what else the study could compare takes nothing from them. What no
question asks for is corrected for all comparisons of the study. A comparison that several questions ask for
stands in every answer by the one that makes it the least sure: two answers of one study that order the same
columns in two ways would be believed in neither, and by the surest one a study that asks for all pairs, and
for each by itself, would correct nothing (four equal groups of three columns: a false `longer` in 10 of 100
studies, and in 2 as it is).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from lyewitness.decline.life_ratios import Longer
from lyewitness.decline.records import Comparison, Finding
from lyewitness.decline.small_samples import holm
from lyewitness.study.questions import Family
from lyewitness.study.records import Choices


def settle(
    comparisons: Sequence[Comparison], choices: Choices, families: Iterable[Family] = ()
) -> tuple[Comparison, ...]:
    """Return the comparisons with corrected p values and findings, in the given order, one for one."""
    found = _within(dict(enumerate(comparisons)), choices, None)
    asked: dict[int, list[Comparison]] = {}
    for family in families:
        for index, one in _within(_held(comparisons, family), choices, family.question).items():
            asked.setdefault(index, []).append(one)
    found |= {index: _least_sure(own) for index, own in asked.items()}
    return tuple(found[index] for index in range(len(comparisons)))


def _least_sure(found: Sequence[Comparison]) -> Comparison:
    """Return the one comparison of those that several questions found of it that stands for all.

    A finding is one of its largest corrected p value; what shows two groups alike is corrected in the same
    steps, so that `not settled` goes before every finding.
    """
    return max(found, key=lambda one: (one.finding == "not settled", one.p_adjusted or 0.0))


def _held(comparisons: Sequence[Comparison], family: Family) -> dict[int, Comparison]:
    """Return the comparisons that a family holds, by place."""
    return {
        index: one
        for index, one in enumerate(comparisons)
        if family.holds(one.group_a, one.group_b, (one.marker, one.metric))
    }


def _tested(comparisons: Iterable[Comparison]) -> int:
    return sum(one.p_value is not None for one in comparisons)


def _within(
    comparisons: Mapping[int, Comparison], choices: Choices, question: str | None
) -> dict[int, Comparison]:
    """Return the comparisons of one family, corrected for each other, by place.

    Groups compared with a control by Dunnett's procedure count as one for each marker and metric.
    """
    adjusted = _adjusted(comparisons, {index: one.p_value for index, one in comparisons.items()})
    tested = {
        index: one.equivalence_p if one.p_value is not None else None for index, one in comparisons.items()
    }
    alike = _adjusted(comparisons, tested)
    many = _tested(comparisons.values())
    return {
        index: replace(
            _settled(one, adjusted.get(index), alike.get(index, 1.0), choices),
            corrected_over=many,
            of_question=question,
        )
        for index, one in comparisons.items()
    }


def _adjusted(
    comparisons: Mapping[int, Comparison], p_values: Mapping[int, float | None]
) -> dict[int, float]:
    """Return the p values that are known after Holm, by place."""
    known = {index: p_value for index, p_value in p_values.items() if p_value is not None}
    words = [_as_one(index, comparisons[index]) for index in known]
    return dict(zip(known, holm(list(known.values()), words), strict=True))


def _as_one(index: int, one: Comparison) -> tuple[int, str, str]:
    """Return what is adjusted as one: all groups against a control by one metric, else a pair by itself."""
    return (-1, one.marker, one.metric) if one.control else (index, "", "")


def _settled(comparison: Comparison, adjusted: float | None, alike_p: float, choices: Choices) -> Comparison:
    """Return one comparison with its finding; equivalence goes before a difference too small to matter."""
    if adjusted is None:
        return comparison
    alpha = choices.alpha
    finding: Finding = "not settled"
    reason = comparison.reason
    # Half of alpha on either side, so that the interval that is shown lies within the margin, too.
    if alike_p <= alpha / 2:
        finding = "no meaningful difference"
        reason = (
            f"the ratio of lives lies surely within the margin of {choices.equivalence_margin_percent:g} %"
        )
    elif adjusted <= alpha and (longer := _longer(comparison)):
        finding = "a lasts longer" if longer == "a" else "b lasts longer"
        reason = ""
    elif not reason:
        reason = _why_open(comparison, adjusted, alpha)
    return replace(comparison, p_adjusted=adjusted, finding=finding, reason=reason)


def _longer(comparison: Comparison) -> Longer:
    """Return which side's lives are the longer ones by the ratio, its value or its closed end."""
    ratio = comparison.life_ratio
    if ratio.value is not None:
        return "a" if ratio.value > 1 else "b"
    if ratio.low is not None and ratio.low > 1:
        return "a"
    return "b" if ratio.high is not None and ratio.high < 1 else ""


def _why_open(comparison: Comparison, adjusted: float, alpha: float) -> str:
    """Return why a tested pair is not settled, and what would settle it."""
    few = min(comparison.columns_a, comparison.columns_b)
    if comparison.p_value is not None and comparison.p_value <= alpha < adjusted:
        why = "the difference does not outlive the correction for the number of comparisons"
    else:
        why = f"{few} columns a side cannot tell the lives apart, nor show that they are alike"
    if comparison.columns_needed is None:
        return why
    return f"{why}; about {comparison.columns_needed} columns a side would show such a ratio"
