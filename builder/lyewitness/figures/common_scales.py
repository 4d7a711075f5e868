"""The axis of time and the height of peaks that chromatograms of several groups have in common.

In: a report's traces and peak rows. Out: injections, minutes, a signal. Nothing here draws.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from lyewitness.study.records import Column, Injection
from lyewitness.traces.records import Trace

Rows = dict[str, list[PeakRow]]
"""Peak rows by injection."""


def usable(report: Report, column: Column) -> list[Injection]:
    """Return the column's injections that count and have a trace, by exposure where it is known."""
    own = [
        one
        for one in report.study.injections
        if one.column == column.id and one.used and one.id in report.traces
    ]
    hours = {row.injection: row.exposure_h for row in report.measurements.rows}
    return sorted(own, key=lambda one: hours.get(one.id, one.exposure_h or 0.0))


def typical_column(report: Report, group: str) -> Column:
    """Return the column of `group` in the middle by what remained of the deciding metric."""
    columns = report.study.replicates(group)
    left = {
        one.series.column: one.remaining.value
        for one in report.judgement.declines
        if (one.series.marker, one.series.metric) == report.judgement.deciding
    }
    ranked = sorted(columns, key=lambda column: left.get(column.id) or 0.0)
    return ranked[(len(ranked) - 1) // 2]


def last_minute(report: Report, injections: Sequence[Injection], rows: Rows) -> float:
    """Return where the time axis ends: a little behind the last peak, as far as the traces go."""
    ends = [
        row.outline.end_min for one in injections for row in rows.get(one.id, []) if row.outline is not None
    ]
    strangers = [
        peak.end_min for one in injections for peak in report.measurements.unassigned.get(one.id, ())
    ]
    recorded = max(report.traces[one.id].end_min for one in injections)
    return min(recorded, 1.12 * max([*ends, *strangers], default=recorded))


def tallest(traces: Sequence[Trace]) -> float:
    """Return the height of the highest peak above the median of its trace; 1 where all are flat."""
    heights = [float(trace.signal.max() - np.median(trace.signal)) for trace in traces]
    return max(heights) or 1.0


@dataclass(frozen=True, slots=True)
class Common:
    """What the first and last chromatograms of all groups share, to be held against each other."""

    end_min: float | None = None
    """Where the axis of time ends; None where each has its own."""
    tallest: float | None = None
    """Signal that is drawn `PEAK_PX` high; None where each has its own."""


# An axis half as long again still shows every peak; at a third of the height a peak is still a peak.
MOST_LONGER, MOST_HIGHER = 1.5, 3.0


def common_scales(report: Report, rows: Rows) -> Common:
    """Return what chromatograms of all groups can share: neither where one would be squeezed by another."""
    pairs = [pair for group in report.study.groups if (pair := first_and_last(report, group))]
    if not pairs:
        return Common()
    traces = [[report.traces[one.id] for one in pair] for pair in pairs]
    ends = [last_minute(report, pair, rows) for pair in pairs]
    heights = [tallest(some) for some in traces]
    one_unit = len({trace.signal_unit for some in traces for trace in some}) == 1
    return Common(
        max(ends) if max(ends) <= MOST_LONGER * min(ends) else None,
        max(heights) if one_unit and max(heights) <= MOST_HIGHER * min(heights) else None,
    )


def first_and_last(report: Report, group: str) -> tuple[Injection, Injection] | None:
    """Return the first and the last injection of a typical column; None without two."""
    injections = usable(report, typical_column(report, group))
    return (injections[0], injections[-1]) if len(injections) > 1 else None
