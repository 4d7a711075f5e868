"""The many ways in which programs write two columns of numbers: each gives the same trace."""

import codecs
import gzip
from dataclasses import dataclass, field

import numpy as np
import pytest

from lyewitness.study.records import Exports
from lyewitness.words.arrays import FloatArray
from tests.traces.expecting import only

POINTS = 40
MINUTES: FloatArray = np.round(np.arange(POINTS) * 0.025, 3)
SIGNAL: FloatArray = np.round(1500 * np.exp(-(((np.arange(POINTS) - 15) / 4.0) ** 2)) - 2.5, 2)
IN_UNIT = {"min": 1.0, "s": 60.0, "ms": 60_000.0, "h": 1 / 60}
MIN = Exports(time_unit="min")
NONE = Exports()
HEAD = "Time (min),Signal (mAU)\n"


def table(
    separator: str = ",",
    unit: str = "min",
    decimal: str = ".",
    time: str = "{:.5f}",
    signal: str = "{:.2f}",
    row: str = "{t}{separator}{s}",
    end: str = "\n",
) -> str:
    """Return the rows of the trace."""
    lines: list[str] = []
    for minutes, value in zip(MINUTES, SIGNAL, strict=True):
        words = [form.format(number) for form, number in ((time, minutes * IN_UNIT[unit]), (signal, value))]
        t, s = (word.replace(".", decimal) for word in words)
        lines.append(row.format(t=t, s=s, separator=separator) + end)
    return "".join(lines)


def thousands(value: float, mark: str, decimal: str) -> str:
    """Return a number with a mark between its thousands."""
    return f"{value:,.2f}".replace(",", "§").replace(".", decimal).replace("§", mark)


def rows(form: str, **formats: tuple[str, str]) -> str:
    """Return rows of a form over `i` (from 0), `t` (minutes) and `s` (signal)."""
    lines: list[str] = []
    for index, (minutes, value) in enumerate(zip(MINUTES, SIGNAL, strict=True)):
        marked = {key: thousands(value, *mark) for key, mark in formats.items()}
        lines.append(form.format(i=index, t=minutes, s=value, **marked))
    return "\n".join(lines) + "\n"


@dataclass(frozen=True)
class Variant:
    """One way of writing the trace, and what must come out."""

    text: str | bytes
    exports: Exports = NONE
    unit: str = "min"
    signal_unit: str = "mAU"
    name: str | None = None
    cautions: int = 0
    keep: slice = field(default_factory=lambda: slice(None))


LONG_PREAMBLE = "".join(f"# parameter {number} = {number % 17}.{number % 9}\n" for number in range(4000))
PEAKS = "Peak,Time,Area,Height\n1,0.31,12.5,3\n2,0.55,180.1,44\n3,0.93,7.7,2\n\n"
JOINED = rows("{t:.3f};{s:.2f}").replace(".", ",").replace(";", ",")

VARIANTS: dict[str, Variant] = {
    # separators and decimal signs
    "comma": Variant(HEAD + table()),
    "semicolon": Variant("Time (min);Signal (mAU)\n" + table(";")),
    "semicolon, decimal comma": Variant("Time (min);Signal (mAU)\n" + table(";", decimal=",")),
    "tab": Variant("Time (min)\tSignal (mAU)\n" + table("\t")),
    "tab, decimal comma": Variant("Time (min)\tSignal (mAU)\n" + table("\t", decimal=",")),
    "one blank": Variant("Time (min) Signal (mAU)\n" + table(" ")),
    "blanks, decimal comma": Variant("Time (min)  Signal (mAU)\n" + table("  ", decimal=",")),
    "right-aligned blanks": Variant("   Time (min)   Signal (mAU)\n" + table(row="  {t:>12}   {s:>14}")),
    "comma and blank": Variant("Time (min), Signal (mAU)\n" + table(", ")),
    "semicolon and blank, decimal comma": Variant("Time (min); Signal (mAU)\n" + table("; ", decimal=",")),
    "bar": Variant("Time (min)|Signal (mAU)\n" + table("|")),
    "tab and blanks": Variant("Time (min)\t Signal (mAU)\n" + table("\t  ")),
    "quoted decimal commas": Variant(
        '"Time (min)","Signal (mAU)"\n' + table(",", decimal=",", row='"{t}","{s}"')
    ),
    "quoted points": Variant('"Time (min)","Signal (mAU)"\n' + table(row='"{t}","{s}"')),
    "quoted headings only": Variant('"Time (min)","Signal (mAU)"\n' + table()),
    "comma as separator and decimal sign": Variant(HEAD + JOINED),
    "commas twice without a heading": Variant(rows("{t:.3f},{s:.2f}").replace(".", ","), MIN, signal_unit=""),
    "thousands, point": Variant("Time (min)\tSignal (mAU)\n" + rows("{t:.3f}\t{k}", k=(",", "."))),
    "thousands, comma": Variant(
        "Time (min)\tSignal (mAU)\n" + rows("{t:.3f}\t{k}", k=(".", ",")).replace("0.", "0,")
    ),
    "thousands, narrow blank": Variant("Time (min);Signal (mAU)\n" + rows("{t:.3f};{k}", k=("\u202f", "."))),
    "thousands, apostrophe": Variant("Time (min);Signal (mAU)\n" + rows("{t:.3f};{k}", k=("'", "."))),
    "quoted thousands": Variant(HEAD + rows('{t:.3f},"{k}"', k=(",", "."))),
    "thousands in quotes, semicolon": Variant(
        "Time (min);Signal (mAU)\n" + rows('"{t:.3f}";"{k}"', k=(",", "."))
    ),
    "a typeset minus": Variant(HEAD + table().replace("-", "\u2212")),
    "a line on the separator": Variant("sep=;\nTime (min);Signal (mAU)\n" + table(";", decimal=",")),
    "exponents": Variant(HEAD + table(time="{:.6e}", signal="{:+.8E}")),
    "exponents with a D": Variant(HEAD + table(signal="{:.8e}").replace("e", "D")),
    "plus signs": Variant(HEAD + table(time="{:+.4f}", signal="{:+.2f}")),
    "no leading zero": Variant(HEAD + table().replace("\n0.", "\n.")),
    "decimal comma and exponents": Variant(
        "t/min;A/mAU\n" + table(";", decimal=",", signal="{:.8E}"), name="A"
    ),
    # line ends and blanks
    "CRLF": Variant(HEAD.replace("\n", "\r\n") + table(end="\r\n")),
    "CR": Variant((HEAD + table()).replace("\n", "\r")),
    "CRCRLF": Variant((HEAD + table()).replace("\n", "\r\r\n")),
    "trailing blanks": Variant(HEAD.replace("\n", "   \n") + table(end="  \t\n")),
    "trailing separators": Variant(HEAD.replace("\n", ",\n") + table(end=",\n")),
    "trailing separators, not in the heading": Variant(HEAD + table(end=",,\n")),
    "trailing tabs": Variant("Time (min)\tSignal (mAU)\n" + table("\t", end="\t\n")),
    "blank lines at the end": Variant(HEAD + table() + "\n\n  \n"),
    "a blank line after the heading": Variant(HEAD + "\n" + table()),
    "a blank line after each row": Variant(HEAD + table(end="\n\n")),
    "no line end at the end": Variant((HEAD + table()).rstrip("\n")),
    "leading blanks": Variant(HEAD + table(row="   {t}{separator}{s}")),
    "end-of-file sign": Variant(HEAD + table() + "\x1a"),
    "padded with NULs": Variant((HEAD + table()).encode() + b"\0" * 300),
    # encodings
    "UTF-8 with mark": Variant(codecs.BOM_UTF8 + (HEAD + table()).encode()),
    "UTF-16 LE with mark": Variant(codecs.BOM_UTF16_LE + (HEAD + table()).encode("utf-16-le")),
    "UTF-16 BE with mark": Variant(codecs.BOM_UTF16_BE + (HEAD + table()).encode("utf-16-be")),
    "UTF-16 LE without mark": Variant((HEAD + table()).encode("utf-16-le")),
    "UTF-16 BE without mark": Variant((HEAD + table()).encode("utf-16-be")),
    "UTF-16 with CRLF and tabs": Variant(
        ("Time (min)\tSignal (mAU)\r\n" + table("\t", end="\r\n")).encode("utf-16")
    ),
    "UTF-16 that lost its last byte": Variant((HEAD + table() + "\n").encode("utf-16")[:-1]),
    "UTF-32": Variant((HEAD + table()).encode("utf-32")),
    "Latin-1": Variant(
        ("Zeit (min);Höhe (µV)\n" + table(";")).encode("latin-1"), signal_unit="µV", name="Höhe"
    ),
    "UTF-8 µ": Variant("Zeit (min);Signal (µV)\n" + table(";"), signal_unit="µV"),
    "UTF-16 µ": Variant(("Zeit (min);Signal (µV)\n" + table(";")).encode("utf-16"), signal_unit="µV"),
    "gzip": Variant(gzip.compress((HEAD + table()).encode())),
    "gzip of UTF-16": Variant(gzip.compress((HEAD + table()).encode("utf-16"))),
    # units and headings
    "seconds": Variant("Time (s),Signal (mAU)\n" + table(unit="s"), unit="s"),
    "Seconds in words": Variant("Time [Seconds],Signal [mAU]\n" + table(unit="s"), unit="s"),
    "milliseconds": Variant("Time (ms),Signal (mAU)\n" + table(unit="ms", time="{:.0f}"), unit="ms"),
    "hours": Variant("Time (h),Signal (mAU)\n" + table(unit="h", time="{:.9f}"), unit="h"),
    "square brackets": Variant("Time [min];Signal [mAU]\n" + table(";")),
    "slashes": Variant("t/min;Signal/mAU\n" + table(";")),
    "spaced slashes": Variant("Time / min\tSignal / mAU\n" + table("\t")),
    "commas before units": Variant("Time, min;Signal, mAU\n" + table(";")),
    "underlines before units": Variant("time_min,signal_mAU\n" + table(), name="signal"),
    "seconds after an underline": Variant("time_s,signal_mAU\n" + table(unit="s"), unit="s", name="signal"),
    "bare units": Variant("min,mAU\n" + table(), name=""),
    "units as words": Variant("Minutes\tmAU\n" + table("\t"), name=""),
    "retention time": Variant("R.Time (min)\tIntensity (mAU)\n" + table("\t"), name="Intensity"),
    "RT": Variant("RT(min),Absorbance(mAU)\n" + table(), name="Absorbance"),
    "a German heading": Variant("Zeit [min];Absorption [mAU]\n" + table(";", decimal=","), name="Absorption"),
    "a unit row": Variant("Time,Signal\nmin,mAU\n" + table()),
    "a unit row in brackets": Variant("Time\tSignal\n(min)\t(mAU)\n" + table("\t")),
    "a unit row in seconds": Variant("Time;Signal\n[s];[mAU]\n" + table(";", unit="s"), unit="s"),
    "an underline below the heading": Variant(
        "Time (min)  Signal (mAU)\n----------  ------------\n" + table("  ")
    ),
    "a commented heading": Variant("# Time (min),Signal (mAU)\n" + table()),
    "a heading after blank separators": Variant("Time (min), Signal (mAU)\n\n\n" + table("\t")),
    "unit of time in the preamble": Variant("Time unit: min\nSignal unit: mAU\n\nTime,Signal\n" + table()),
    "units of axes": Variant(
        "X Axis Title:\tTime (min)\nY Axis Title:\tSignal (mAU)\n" + table("\t"), name=""
    ),
    "X units": Variant("X units = Seconds\nY units = mAU\nX,Y\n" + table(unit="s"), unit="s", name="Y"),
    "unit of time in the study": Variant("Time,Signal (mAU)\n" + table(), MIN),
    "signal unit in the study": Variant("Time (min),Signal\n" + table(), Exports(signal_unit="mAU")),
    "no heading": Variant(table(), Exports(time_unit="min", signal_unit="mAU"), name=""),
    "no heading, seconds": Variant(table("\t", unit="s"), Exports(time_unit="s"), "s", "", ""),
    "the file against the study": Variant(HEAD + table(), Exports(time_unit="s"), cautions=1),
    "clock times": Variant(
        "Time,Signal (mAU)\n"
        + "".join(f"0:{i * 15 // 600:02d}:{i * 15 % 600 / 10:04.1f},{s}\n" for i, s in enumerate(SIGNAL)),
        unit="s",
    ),
    # preambles and what follows
    "a preamble": Variant("Sample,A1\nRun time (s),60\nInjection volume,1.0,uL\n\n" + HEAD + table()),
    "thousands of header lines": Variant(LONG_PREAMBLE + HEAD + table()),
    "numbers before the table": Variant("Points\n40\n0.025\nTime (min),Signal (mAU)\n" + table()),
    "numbers right before the rows": Variant("Time unit: min\nSignal unit: mAU\n40\n" + table(), name=""),
    "a table of peaks before": Variant(PEAKS + HEAD + table()),
    "a table of peaks after": Variant(HEAD + table() + "\n" + PEAKS),
    "a date before": Variant("Date: 02.03.2026\nTime: 10:11:12\n" + HEAD + table()),
    "a footer": Variant(HEAD + table() + "End of data\nchecksum 1234\n"),
    "a section title": Variant("[Trace]\n" + HEAD + table() + "[End]\n"),
    # columns
    "a counter": Variant("Point,Time (min),Signal (mAU)\n" + rows("{i},{t:.3f},{s:.2f}")),
    "a counter without a heading": Variant(rows("{i}\t{t:.3f}\t{s:.2f}"), MIN, signal_unit="", name=""),
    "the signal first": Variant("Signal (mAU),Time (min)\n" + rows("{s:.2f},{t:.3f}")),
    "the signal first, without a heading": Variant(rows("{s:.2f} {t:.3f}"), MIN, signal_unit="", name=""),
    "one column": Variant("Signal (mAU)\n" + rows("{s:.2f}"), Exports(sampling_interval_s=1.5), "s"),
    "one column, decimal comma": Variant(
        "Signal (mAU)\n" + rows("{s:.2f}").replace(".", ","), Exports(sampling_interval_s=1.5), "s"
    ),
    "one column, interval in the file": Variant(
        "Sampling interval: 1.5 s\nSignal (mAU)\n" + rows("{s:.2f}"), unit="s"
    ),
    "one column, interval in ms": Variant(
        "Sampling period (msec),1500\nSignal (mAU)\n" + rows("{s:.2f}"), unit="s"
    ),
    "one column, rate per minute": Variant(
        "Data rate: 40 points/min\nSignal (mAU)\n" + rows("{s:.2f}"), unit="s"
    ),
    "a counter and an interval": Variant(
        "Index;Signal (mAU)\n" + rows("{i};{s:.2f}"), Exports(sampling_interval_s=1.5), "s"
    ),
    # ends and gaps
    "last line broken off": Variant(HEAD + table() + "1.00000", cautions=1),
    "last line broken off inside a number": Variant(HEAD + table() + "1.00000,-2.", cautions=1),
    "last line broken off after a sign": Variant(HEAD + table() + "1.00000,1.2e", cautions=1),
    "an empty first value": Variant(HEAD + table().replace("-2.50", "", 1), cautions=1, keep=slice(1, None)),
    "NaN at the end": Variant(HEAD + table() + "1.00000,NaN\n", cautions=1),
    "n/a at the end": Variant("Time (min);Signal (mAU)\n" + table(";") + "1.00000;n/a\n", cautions=1),
    "backwards": Variant(HEAD + "\n".join(table().split("\n")[-2::-1]) + "\n", cautions=1),
}


@pytest.mark.parametrize("variant", VARIANTS.values(), ids=list(VARIANTS))
def test_every_way_of_writing_gives_the_same_trace(variant: Variant) -> None:
    """Times in minutes, signal, units, name and number of cautions are those of the one trace."""
    data = variant.text if isinstance(variant.text, bytes) else variant.text.encode()
    trace = only(data, variant.exports)
    np.testing.assert_allclose(trace.time_min, MINUTES[variant.keep], rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(trace.signal, SIGNAL[variant.keep], rtol=1e-8, atol=1e-9)
    assert (trace.time_unit, trace.signal_unit) == (variant.unit, variant.signal_unit)
    assert variant.name is None or trace.name == variant.name
    assert len(trace.cautions) == variant.cautions, trace.cautions


def test_there_are_many() -> None:
    """The table covers the shapes that the contract names, and more."""
    assert len(VARIANTS) >= 100
