"""AnIML chromatograms; animl2, which parses the elements of the core schema, reads the same bytes beside."""

import base64
import struct
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from animl2.models import AnIMLDoc
from hypothesis import given, settings
from hypothesis import strategies as st

from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.words.arrays import FloatArray
from tests.traces.expecting import only, read_or_refused, refused

TIMES: FloatArray = np.linspace(0, 5.95, 120)
SIGNAL: FloatArray = np.round(40 * np.exp(-(((TIMES - 3) / 0.2) ** 2)), 4)
MINUTES = '<Unit label="min" quantity="Time"><SIUnit factor="60">s</SIUnit></Unit>'
MAU = '<Unit label="mAU"><SIUnit factor="0.001">1</SIUnit></Unit>'
CODES = {"Int32": "i", "Int64": "q", "Float32": "f", "Float64": "d"}
TAGS = {"Int32": "I", "Int64": "L", "Float32": "F", "Float64": "D"}


def encoded(values: Sequence[float], kind: str = "Float64") -> str:
    """Return values as base64 of little-endian numbers."""
    whole = [int(value) if kind.startswith("Int") else float(value) for value in values]
    raw = struct.pack(f"<{len(whole)}{CODES[kind]}", *whole)
    return f"<EncodedValueSet>{base64.b64encode(raw).decode()}</EncodedValueSet>"


def individual(values: Sequence[float], kind: str = "Float64") -> str:
    """Return values one by one."""
    words = "".join(f"<{TAGS[kind]}>{value!r}</{TAGS[kind]}>" for value in values)
    return f"<IndividualValueSet>{words}</IndividualValueSet>"


def stepped(start: float, step: float) -> str:
    """Return values as a start and a step."""
    return (
        f"<AutoIncrementedValueSet><StartValue><D>{start}</D></StartValue>"
        f"<Increment><D>{step}</D></Increment></AutoIncrementedValueSet>"
    )


def series(name: str, values: str, unit: str, kind: str = "Float64", dependency: str = "dependent") -> str:
    """Return a series."""
    return (
        f'<Series name="{name}" dependency="{dependency}" seriesID="{name}" seriesType="{kind}">'
        f"{values}{unit}</Series>"
    )


def times(values: str = "", unit: str = MINUTES, kind: str = "Float64") -> str:
    """Return the series of times."""
    return series("Time", values or encoded(list(TIMES)), unit, kind, "independent")


def signals(values: str = "", unit: str = MAU, name: str = "Absorbance", kind: str = "Float64") -> str:
    """Return a series of signals."""
    return series(name, values or encoded(list(SIGNAL)), unit, kind)


def step(*within: str, name: str = "UV 220 nm", length: int = 120, beside: str = "", inner: str = "") -> str:
    """Return a step of an experiment with one result."""
    private = (
        "<Method><Author userType='human'><Name>Private Person</Name></Author>"
        "<Device><Name>Private Device</Name></Device></Method>"
    )
    return (
        f'<ExperimentStep name="Step" experimentStepID="S{name}"><Technique name="UV/Vis" uri="x"/>'
        f"<Infrastructure><Timestamp>2026-03-02T08:00:00+01:00</Timestamp></Infrastructure>{private}"
        f'<Result name="R"><SeriesSet name="{name}" id="s" length="{length}">{"".join(within)}</SeriesSet>'
        f"{beside}{inner}</Result></ExperimentStep>"
    )


def document(*steps: str) -> bytes:
    """Return a whole file."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<AnIML xmlns="urn:org:astm:animl:schema:core:draft:0.90" version="0.90">'
        '<SampleSet><Sample name="Private Sample" sampleID="1"/></SampleSet>'
        f"<ExperimentStepSet>{''.join(steps)}</ExperimentStepSet></AnIML>"
    ).encode()


def read_beside(data: bytes) -> dict[str, tuple[str, list[float]]]:
    """Return unit and numbers of each series as animl2 and `struct` read them."""
    found: dict[str, tuple[str, list[float]]] = {}
    document = AnIMLDoc.loads(data.decode().partition("?>")[2])
    for step in document.experiment_set.experiment_steps:
        for one in step.results[0].series.series:
            numbers: list[float] = []
            for part in one.valuesets:
                numbers += _numbers_beside(part, one.seriesType.value, 120 - len(numbers))
            found[one.name] = (one.unit.label, numbers)
    return found


def _numbers_beside(part: Any, kind: str, left: int) -> list[float]:
    if hasattr(part, "values"):
        return [float(value.value) for value in part.values]
    if hasattr(part, "increment"):
        start, increment = (one.value.value for one in (part.startValue, part.increment))
        return [start + increment * number for number in range(left)]
    raw = base64.b64decode(part.value)
    return list(struct.unpack(f"<{len(raw) // struct.calcsize(CODES[kind])}{CODES[kind]}", raw))


@pytest.mark.parametrize("way", ["encoded", "individual", "stepped"])
@pytest.mark.parametrize("kind", CODES)
def test_agrees_with_another_library(way: str, kind: str) -> None:
    """Encoded, single and stepped values of every type of number are those that another library finds."""
    values = (
        np.round(SIGNAL * 10)
        if kind.startswith("Int")
        else SIGNAL.astype("f4" if kind[-2:] == "32" else "f8")
    )
    listed = [int(v) if kind.startswith("Int") else float(v) for v in values]
    written = {"encoded": encoded, "individual": individual}.get(way, encoded)(listed, kind)
    axis = stepped(0.0, 0.05) if way == "stepped" else individual([float(t) for t in TIMES])
    data = document(step(times(axis), signals(written, kind=kind)))
    trace = only(data)
    beside = read_beside(data)
    assert trace.signal_unit == beside["Absorbance"][0]
    np.testing.assert_array_equal(trace.signal, beside["Absorbance"][1])
    np.testing.assert_allclose(trace.time_min, beside["Time"][1], rtol=0, atol=1e-12)
    assert (trace.format, trace.name, trace.time_unit) == ("AnIML", "UV 220 nm", "min")
    assert trace.acquired_at == "2026-03-02T08:00:00+01:00"


@pytest.mark.parametrize(
    ("unit", "minutes"),
    [
        ('<Unit label="s"/>', 1 / 60),
        ('<Unit label="Minutes"/>', 1),
        ('<Unit label="ms"><SIUnit factor="1e-3">s</SIUnit></Unit>', 1 / 60000),
        ('<Unit label="t"><SIUnit factor="60" exponent="1">s</SIUnit></Unit>', 1),
        ('<Unit label="t"><SIUnit>s</SIUnit></Unit>', 1 / 60),
    ],
)
def test_the_unit_of_time_is_its_label_or_what_it_is_in_seconds(unit: str, minutes: float) -> None:
    """Labels and SI units are understood, alone and together."""
    trace = only(document(step(times(unit=unit), signals())))
    np.testing.assert_allclose(trace.time_min, TIMES * minutes)


def test_a_unit_that_contradicts_itself_or_is_nowhere_is_refused() -> None:
    """'min' that is told to be one second is neither; without any unit the study is asked."""
    problem = refused(document(step(times(unit='<Unit label="min"><SIUnit>s</SIUnit></Unit>'), signals())))
    assert "told to be 1 s" in problem.found
    bare = document(step(times(unit=""), signals()))
    assert "time_unit" in refused(bare).cure
    np.testing.assert_allclose(only(bare, Exports(time_unit="s")).time_min, TIMES / 60)


def test_values_in_parts_and_gaps() -> None:
    """Parts bear the places of their first and last value; what no part states is a gap."""
    head, tail = (encoded(list(SIGNAL[part])) for part in (slice(50), slice(60, 120)))
    head = head.replace("<EncodedValueSet>", '<EncodedValueSet startIndex="0" endIndex="49">')
    tail = tail.replace("<EncodedValueSet>", '<EncodedValueSet startIndex="60">')
    trace = only(document(step(times(), signals(head + tail))))
    kept = np.r_[0:50, 60:120]
    np.testing.assert_array_equal(trace.signal, SIGNAL[kept])
    np.testing.assert_allclose(trace.time_min, TIMES[kept])
    assert trace.cautions
    whole = only(document(step(times(), signals(encoded(list(SIGNAL[:70])) + encoded(list(SIGNAL[70:]))))))
    np.testing.assert_array_equal(whole.signal, SIGNAL)


def test_several_traces_and_what_is_none() -> None:
    """Steps within results are read; peak tables, spectra and settings are passed over."""
    peaks = step(series("Peak", individual([1, 2], "Int32"), "", "Int32"), name="Peaks", length=2)
    nm = '<Unit label="nm"><SIUnit factor="1e-9">m</SIUnit></Unit>'
    spectrum = step(series("Wavelength", encoded(list(TIMES)), nm, dependency="independent"), signals())
    gradient = f'<SeriesSet name="Gradient" length="120">{times()}{signals()}</SeriesSet>'
    settings = f'<Category name="c">{gradient}</Category>'
    inner = f"<ExperimentStepSet>{step(times(), signals(), name='UV 254 nm')}</ExperimentStepSet>"
    two = step(times(), signals(), signals(encoded(list(2 * SIGNAL)), name="Fluorescence"), inner=inner)
    traces = read_traces(
        document(peaks, spectrum, step(times(), signals(), beside=settings), two), "a.animl", Exports()
    )
    assert [one.name for one in traces] == ["UV 220 nm", "Absorbance", "Fluorescence", "UV 254 nm"]
    np.testing.assert_array_equal(traces[2].signal, 2 * SIGNAL)
    problem = refused(document(peaks, spectrum))
    assert "2 sets of series" in problem.found
    assert not [word for one in traces for word in str(one).split() if "Private" in word]


WHOLE = document(step(times(), signals()))


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (WHOLE[:900], "breaks off"),
        (WHOLE.replace(b"<AnIML", b'<!DOCTYPE a [<!ENTITY b "c">]><AnIML'), "document type"),
        (WHOLE.replace(b'length="120"', b'length="119"'), "119"),
        (WHOLE.replace(b'length="120"', b'length="1e3"'), "length"),
        (WHOLE.replace(b'length="120"', b'length="99999999999"'), "length"),
        (document(step(times(), signals(individual([1.0, 2.0]).replace("2.0", "2,0")))), "2,0"),
        (document(step(times(), signals("<EncodedValueSet>AAA=</EncodedValueSet>"))), "multiple"),
        (document(step(times(), signals(individual([1.0] * 119)))), "no word on which of 120"),
        (
            document(
                step(
                    times(stepped(0, 1).replace("<Increment>", "<Inc>").replace("</Increment>", "</Inc>")),
                    signals(),
                )
            ),
            "",
        ),
        (
            document(
                step(
                    times(),
                    signals(
                        encoded([1.0])
                        .replace("<E", '<E startIndex="-5" ', 1)
                        .replace('<E startIndex="-5" ncodedValueSet', '<EncodedValueSet startIndex="-5"')
                    ),
                )
            ),
            "-5",
        ),
    ],
)
def test_what_cannot_be_read_is_placed(data: bytes, found: str) -> None:
    """Broken, bombed and contradictory files are told with what is wrong."""
    if found:
        assert found in refused(data).found
    else:
        read_or_refused(data)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_damaged_files_never_crash(data: st.DataObject) -> None:
    """Whatever is cut out or put in, the file gives honest traces or a problem."""
    at = data.draw(st.integers(0, len(WHOLE)))
    until = data.draw(st.integers(at, min(len(WHOLE), at + 60)))
    read_or_refused(WHOLE[:at] + data.draw(st.binary(max_size=12)) + WHOLE[until:])
