"""Exports put together at random from everything that programs do: the trace comes out as it went in."""

import gzip
from dataclasses import dataclass

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.words.arrays import FloatArray

MINUTES_IN = {"ms": 1 / 60_000, "s": 1 / 60, "min": 1.0, "h": 60.0}
WORDS = {
    "ms": ["ms", "msec", "milliseconds"],
    "s": ["s", "sec", "Seconds", "sec."],
    "min": ["min", "Min", "minutes", "MIN"],
    "h": ["h", "hours"],
}
PREAMBLE = [
    "Sample name{m}blank 3",
    "Injection volume{m}1.0{m}uL",
    "Method{m}isocratic, 30 % B",
    "Acquired{m}2026-03-02T10:11:12",
    "Flow (mL/min){m}0.4",
    "Run time (min){m}12",
    "Operator{m}A. Private",
    "",
    "=====",
    "[Trace]",
    "Comment: none",
    "Wavelength: 220 nm",
    "Vial 12",
    "Time constant{m}2 s",
    "Time{m}10:11:12",
    "Wavelength{m}220 nm",
    "Sampling rate{m}10{m}Hz",
    "Data points{m}6000",
    "Time (s){m}60",
    "Gradient time unit{m}h",
    "Retention window{m}0.5 min",
    "Injected by{m}A. Private{m}Lab 3",
    "Peaks: 3 (min)",
    "6000",
    "Date{m}02.03.2026 10:11",
]
FOOTERS = ["", "End of data\n", "\n\n", "# checksum 12ab\n"]


@dataclass(frozen=True)
class Written:
    """A file and what it holds."""

    data: bytes
    exports: Exports
    time_unit: str
    times: FloatArray
    signals: tuple[FloatArray, ...]


@st.composite
def written(draw: st.DrawFn) -> Written:
    """Return an export of one to three traces in one of many shapes."""
    points, traces = draw(st.integers(25, 90)), draw(st.integers(1, 3))
    separator = draw(st.sampled_from([",", ";", "\t", "  ", " ", "; ", ", ", "|", "\t "]))
    decimal = "." if separator.strip() == "," else draw(st.sampled_from([".", ","]))
    unit = draw(st.sampled_from(sorted(WORDS)))
    step = draw(st.sampled_from([0.1, 0.25, 0.5, 1.2]))
    decimals = draw(st.integers(2, 6))
    shape = draw(st.integers(0, 2**32 - 1))
    random = np.random.default_rng(shape)
    times: FloatArray = np.round(np.arange(points) * step + draw(st.sampled_from([0.0, 0.35, 2.0])), 2)
    level = draw(st.sampled_from([0.0, 12.5, -3.0, 1500.0]))
    signals = tuple(np.round(level + random.normal(0, 5, points), decimals) for _ in range(traces))
    lines = draw(st.lists(st.sampled_from(PREAMBLE), max_size=12))
    head = [line.replace("{m}", separator) for line in lines]
    stated, heading = draw_heading(draw, unit, traces, separator)
    pad = draw(st.sampled_from(["", "", "{m}", "  "])).replace("{m}", separator.strip() and separator)
    rows = [
        separator.join([f"{t:.2f}", *(f"{s[i]:.{decimals}f}" for s in signals)]).replace(".", decimal) + pad
        for i, t in enumerate(times)
    ]
    end = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    text = "\n".join([*head, *heading, *rows]) + "\n" + draw(st.sampled_from(FOOTERS))
    data = text.replace("\n", end).encode(
        draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le"]))
    )
    data = gzip.compress(data, 1) if draw(st.booleans()) else data
    return Written(data, Exports(time_unit="" if stated else unit), unit, times, signals)  # type: ignore[arg-type]


def draw_heading(draw: st.DrawFn, unit: str, traces: int, separator: str) -> tuple[bool, list[str]]:
    """Return whether the unit of time is stated, and the lines of the heading."""
    word = draw(st.sampled_from(WORDS[unit]))
    names = [f"UV{number}" for number in range(traces)]
    style = draw(
        st.sampled_from(["brackets", "square", "slash", "row", "axis", "none", "unstated", "quoted"])
    )
    if style == "none":
        return False, []
    if style == "unstated":
        return False, [separator.join(["Time", *names])]
    if style == "row":
        return True, [separator.join(["Time", *names]), separator.join([word, *["mAU"] * traces])]
    if style == "axis":
        return True, [f"X axis title: Time ({word})", separator.join(["Time", *names])]
    form = {"brackets": "{} ({})", "square": "{} [{}]", "slash": "{}/{}", "quoted": '"{} ({})"'}[style]
    return True, [separator.join([form.format("Time", word), *(form.format(name, "mAU") for name in names)])]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(written())
def test_what_was_written_is_read(export: Written) -> None:
    """Times, signals and unit are those that were written, and nothing private comes along."""
    traces = read_traces(export.data, "a.txt", export.exports)
    assert len(traces) == len(export.signals)
    for trace, signal in zip(traces, export.signals, strict=True):
        assert trace.time_unit == export.time_unit
        np.testing.assert_allclose(trace.time_min, export.times * MINUTES_IN[export.time_unit], rtol=1e-9)
        np.testing.assert_allclose(trace.signal, signal, rtol=1e-12)
        assert "rivate" not in repr(trace)
        assert trace.cautions == ()
