"""What tails is no stranger, and what is one is found."""

import numpy as np
import pytest

from lyewitness.peaks.measuring import measure
from tests.peaks.conditions import judged
from tests.peaks.signals import as_trace
from tests.peaks.tailing import SHAPES, counted, series


@pytest.mark.parametrize("kind", SHAPES)
def test_a_clean_tailing_peak_is_neither_split_nor_foreign(kind: str) -> None:
    """However a peak tails, and though its area creeps, no second peak is seen in it."""
    count = counted([kind], range(2), with_stranger=False)
    assert count.clean == 96
    assert count.called == 0
    assert count.foreign == 0


def test_a_marker_beside_a_nameless_peak_keeps_its_shape() -> None:
    """Where a product stands in the tail of two sites, the marker is what it was, and not half of both."""
    markers = [case for case in judged("product0p6_sites", 77) if case.marker == "nortriptyline"]
    assert len(markers) == 6
    assert all(abs(case.errors["plate_number_half_height"]) < 0.2 for case in markers)


@pytest.mark.parametrize(("apart", "least"), [((0.8, 1.5), 0.85), ((0.6, 1.2), 0.65)])
def test_a_stranger_that_grows_beside_a_marker_is_seen_or_told(
    apart: tuple[float, float], least: float
) -> None:
    """Strangers of 3 … 15 % of the marker are seen or told of in whatever tail; clean peaks bear no flag."""
    counts = [counted([kind], range(2), with_stranger=True, apart=apart) for kind in SHAPES]
    assert sum(one.strangers for one in counts) > 50
    assert sum(one.found for one in counts) > least * sum(one.strangers for one in counts)
    assert sum(one.called for one in counts) <= 0.005 * sum(one.clean for one in counts)


def test_what_stood_beside_a_marker_at_first_has_not_grown() -> None:
    """A small peak in the tail of a fresh marker, and of every later one, is no stranger of the stress."""
    one = series("gamma", 4, with_stranger=False)
    traces = {}
    for name, trace in one.traces.items():
        apex, wide = one.apexes[name, "neutral"]
        beside = 4.0 * np.exp(-0.5 * ((trace.time_min - apex - 1.9 * wide) / (0.42 * wide)) ** 2)
        traces[name] = as_trace(trace.time_min, trace.signal + beside)
    rows = [row for row in measure(one.study, traces).rows if row.marker == "neutral"]
    assert len(rows) == 12
    assert not any("stranger" in row.flags for row in rows)


def test_nothing_is_told_before_a_fresh_column_is_known() -> None:
    """A stranger that was there from the first injection on is part of the fresh peak; nothing grows."""
    one = series("lognormal", 3, with_stranger=False)
    shown = dict(list(one.traces.items())[:3])
    assert not any("stranger" in row.flags for row in measure(one.study, shown).rows if row.found)


def test_the_first_injection_that_a_product_stands_in_is_told_too() -> None:
    """At a resolution of 0.5 it only widens the marker, whose area then tells of it beside the next ones."""
    one = series("lognormal", 3, with_stranger=False)
    traces = {}
    for age, (name, trace) in enumerate(one.traces.items()):
        apex, wide = one.apexes[name, "neutral"]
        tall = 0.5 * (age / 11) ** 0.5 * float(np.interp(apex, trace.time_min, trace.signal))
        beside = tall * np.exp(-0.5 * ((trace.time_min - apex - 0.85 * wide) / (0.42 * wide)) ** 2)
        traces[name] = as_trace(trace.time_min, trace.signal + beside)
    rows = [row for row in measure(one.study, traces).rows if row.marker == "neutral"]
    assert rows[0].peak_area is not None
    more = [row for row in rows if row.peak_area is not None and row.peak_area > 1.05 * rows[0].peak_area]
    assert len(more) > 8
    assert all({"stranger", "split"} & set(row.flags) for row in more)
