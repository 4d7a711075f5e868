"""What `python -m tests.accuracy` measures, on one seed, and what the program ships of it."""

from dataclasses import replace

import pytest

from lyewitness.peaks.method_notes import accuracy_from, shipped_accuracy
from tests import accuracy


def test_the_noisiest_decline_with_a_swap_keeps_every_limit() -> None:
    """At S/N 50 and above median errors and biases keep to their limits, and no marker is lost."""
    plan = accuracy.scenarios()[7]
    assert plan.detector.white_noise_mAU == max(accuracy.NOISES_MAU)
    table = accuracy.accuracy_of(accuracy.pairs_of(plan, 11), 1, (11,))
    assert {metric.metric: metric.is_within for metric in table.metrics} == dict.fromkeys(
        accuracy.LIMITS, True
    )
    assert table.peaks_lost == 0
    assert table.peaks_misnamed <= 1


def test_markers_that_were_not_injected_are_not_found() -> None:
    """A marker left out of the sample is absent in the rows, whatever the seed."""
    table = accuracy.accuracy_of(accuracy.pairs_of(accuracy.scenarios()[2], 12), 1, (12,))
    assert table.markers_absent > 40
    assert table.peaks_invented == 0


def test_the_shipped_table_keeps_every_limit() -> None:
    """The table for the method page holds every metric with the limit that it is judged by here."""
    table = shipped_accuracy()
    limits = {metric: limit for metric, (_, _, limit) in accuracy.LIMITS.items()}
    for rows in (table.metrics, table.noisiest):
        assert {row.metric: row.limit_percent for row in rows} == limits
    assert accuracy.keeps_limits(table)


def test_a_bias_above_a_third_of_the_limit_is_not_within() -> None:
    """The verdict of a row looks at the bias as well as at the median error."""
    row = shipped_accuracy().metrics[0]
    assert not replace(row, bias_percent=0.34 * row.limit_percent).is_within
    assert not replace(row, median_error_percent=1.01 * row.limit_percent).is_within
    with pytest.raises(TypeError):
        accuracy_from({"metrics": 1, "noisiest": 1})
