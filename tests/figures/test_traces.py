"""One injection's chromatogram: every tick has its number, and no words lie on others."""

import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from lyewitness.figures.style import look_from
from lyewitness.figures.traces import ENLARGED, Frame, names_of, trace_figure
from lyewitness.findings.records import Report
from lyewitness.peaks.records import PeakRow
from tests.figures.making import made_report

LOOK = look_from({})
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def report() -> Report:
    """Return a study of one column with two injections."""
    return made_report(1, 2, groups=("one",))


def rows_of(report: Report) -> list[PeakRow]:
    """Return the rows of the first injection."""
    return [row for row in report.measurements.rows if row.injection == report.study.injections[0].id]


def words_in(data: bytes) -> list[ElementTree.Element]:
    """Return all words of a drawing."""
    return ElementTree.fromstring(data).findall(f"{SVG}text")


def test_every_tick_of_minutes_has_its_number(report: Report) -> None:
    """The axis runs from 0 to 5 min and says both; its name stands below the numbers."""
    words = words_in(trace_figure(report, LOOK, report.study.injections[0], rows_of(report)).data)
    (name,) = [one for one in words if one.text == "time / min"]
    lowest = float(name.get("y", "0"))
    numbers = [one for one in words if lowest - 20 < float(one.get("y", "0")) < lowest]
    assert [one.text for one in numbers] == ["0", "1", "2", "3", "4", "5"]


def test_the_signal_has_an_axis_with_its_unit(report: Report) -> None:
    """Numbers at the left say how high the peaks are, in the unit of the export."""
    words = [
        one.text
        for one in words_in(trace_figure(report, LOOK, report.study.injections[0], rows_of(report)).data)
    ]
    assert "signal / mAU" in words
    assert {"0", "100", "200"} <= set(words)


def test_crowded_names_touch_neither_peaks_nor_each_other(report: Report) -> None:
    """Six names with flags above peaks that stand close together keep clear of the trace and apart."""
    injection = report.study.injections[0]
    trace = report.traces[injection.id]
    first = rows_of(report)[1]
    assert first.outline is not None
    rows = [
        replace(first, marker=f"marker number {i}", flags=("merged", "low plate number")[: i % 3],
                outline=replace(first.outline, apex_min=2.0 + 0.06 * i, apex_signal=30.0 * i))
        for i in range(6)
    ]  # fmt: skip
    frame = Frame(trace, LOOK)
    names = names_of(rows, (), trace, frame, LOOK)
    across, up = frame.x(trace.time_min), frame.top - frame.y(trace.signal)
    for i, ((x, low), (wide, tall)) in enumerate(zip(names.places, names.sizes, strict=True)):
        assert low >= up[np.abs(across - x) <= wide / 2].max()
        for (other_x, other_low), (other_wide, other_tall) in zip(
            names.places[:i], names.sizes[:i], strict=True
        ):
            beside = abs(other_x - x) >= (wide + other_wide) / 2
            assert beside or low >= other_low + other_tall - 1e-6 or other_low >= low + tall - 1e-6
    figure = trace_figure(report, LOOK, injection, rows)
    assert figure.height_px > trace_figure(report, LOOK, injection, rows[:1]).height_px
    heights = [float(one.get("y", "0")) for one in words_in(figure.data)]
    assert min(heights) >= LOOK.label_px
    assert max(heights) <= figure.height_px


def test_a_peak_without_neighbours_needs_no_leader(report: Report) -> None:
    """Dotted lines are for names that had to move."""
    data = trace_figure(report, LOOK, report.study.injections[0], rows_of(report)).data
    assert not re.search(rb'class="u" d="M\d', data)


def test_letters_of_a_trace_can_be_read_on_a_telephone() -> None:
    """On 358 pixels of a telephone the drawing of 640 has letters of no less than 12."""
    assert ENLARGED * LOOK.label_px * 358 / LOOK.width_px >= 12


def test_letters_made_larger_stay_on_the_sheet_and_apart(report: Report) -> None:
    """The names of both axes have room at the size that they have on a telephone."""
    figure = trace_figure(report, LOOK, report.study.injections[0], rows_of(report))
    tall = {str(one.text): float(one.get("y", "0")) for one in words_in(figure.data)}
    letters = ENLARGED * LOOK.label_px
    minutes = tall.pop("time / min")
    assert tall["signal / mAU"] >= 0.75 * letters
    assert minutes + 0.2 * letters <= figure.height_px
    assert minutes - max(tall.values()) >= 0.8 * letters
