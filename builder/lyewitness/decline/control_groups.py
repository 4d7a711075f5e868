"""Comparisons with the group that the study names as its control.

In: the study, and the groups' columns for one marker and metric with their comparisons. Out: the same
comparisons, those with the control by Dunnett's procedure where every life of the groups is known.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import exp

import numpy as np

from lyewitness.decline.column_lives import errors_of, values_of
from lyewitness.decline.dunnett import AgainstControl, against_control
from lyewitness.decline.life_ratios import Side
from lyewitness.decline.records import Comparison
from lyewitness.decline.small_samples import log_margin
from lyewitness.study.records import Choices
from lyewitness.words.estimates import Estimate

LEAST_COLUMNS = 2


def with_control(
    comparisons: Sequence[Comparison], sides: Sequence[Side], choices: Choices
) -> tuple[Comparison, ...]:
    """Return the `comparisons` of one marker and metric, those with the control adjusted for each other.

    Groups of one column, and groups of which a column has no life but a bound, are compared as without a
    control; so is everything where columns are paired in blocks, which are not independent.
    """
    whole = {side.group: side for side in sides if len(side.lives) >= LEAST_COLUMNS and not side.censored}
    control = whole.pop(choices.control, None)
    if control is None or not whole or choices.paired_blocks:
        return tuple(comparisons)
    own = np.concatenate([errors_of(side.lives) for side in (control, *whole.values())])
    found = against_control(
        [values_of(side.lives) for side in whole.values()], values_of(control.lives), own, choices.confidence
    )
    by_group = dict(zip(whole, found, strict=True))
    return tuple(_replaced(one, by_group, choices) for one in comparisons)


def _replaced(comparison: Comparison, by_group: Mapping[str, AgainstControl], choices: Choices) -> Comparison:
    """Return one comparison by Dunnett's procedure where it is with the control, else as it is."""
    pair = (comparison.group_a, comparison.group_b)
    other = pair[0] if pair[1] == choices.control else pair[1]
    if choices.control not in pair or other not in by_group:
        return comparison
    found, many = by_group[other], len(by_group)
    value, (low, high) = found.difference.value, found.interval
    if other == pair[1]:
        value, low, high = -value, -high, -low
    margin = log_margin(choices.equivalence_margin_percent)
    return replace(
        comparison,
        life_ratio=Estimate(exp(value), exp(low), exp(high)),
        p_value=found.p_value,
        method=f"Dunnett's test on log lives, {_counted(many)} against {choices.control}, pooled scatter",
        control=choices.control,
        # As sure for all groups together as one pair would have to be alone (Bonferroni).
        equivalence_p=min(1.0, many * found.difference.equivalence_p(margin)),
    )


def _counted(many: int) -> str:
    return "one group" if many == 1 else f"{many} groups"
