"""mzML chromatograms; pyteomics reads the same bytes as a check from outside.

The terms come from the PSI-MS vocabulary that psims carries with it.
"""

import base64
import gzip
import importlib
import io
import zlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyteomics import mzml

from lyewitness.study.records import Exports
from lyewitness.traces import mzml as mzml_reader
from lyewitness.traces.reading import choose_trace, read_traces
from lyewitness.words.arrays import FloatArray
from tests.traces.expecting import only, read_or_refused, refused

TIMES: FloatArray = np.linspace(0, 5.95, 120)
SIGNAL: FloatArray = 40 * np.exp(-(((TIMES - 3) / 0.2) ** 2))
TYPES: Mapping[str, tuple[str, str]] = {
    "<f8": ("MS:1000523", "64-bit float"),
    "<f4": ("MS:1000521", "32-bit float"),
    "<i4": ("MS:1000519", "32-bit integer"),
    "<i8": ("MS:1000522", "64-bit integer"),
}
UNITS: Mapping[str, tuple[str, str]] = {
    "min": ("UO:0000031", "minute"),
    "s": ("UO:0000010", "second"),
    "ms": ("UO:0000028", "millisecond"),
    "h": ("UO:0000032", "hour"),
}


def param(accession: str, name: str, unit: tuple[str, str] | None = None) -> str:
    """Return a `cvParam` element."""
    words = f' unitCvRef="UO" unitAccession="{unit[0]}" unitName="{unit[1]}"' if unit else ""
    return f'<cvParam cvRef="MS" accession="{accession}" name="{name}" value=""{words}/>'


def array(values: FloatArray, term: str, kind: str = "<f8", packed: bool = True) -> str:
    """Return a `binaryDataArray` element."""
    raw = values.astype(kind).tobytes()
    text = base64.b64encode(zlib.compress(raw) if packed else raw).decode()
    packing = param("MS:1000574", "zlib compression") if packed else param("MS:1000576", "no compression")
    length = f'<binaryDataArray encodedLength="{len(text)}">'
    return f"{length}{param(*TYPES[kind])}{packing}{term}<binary>{text}</binary></binaryDataArray>"


def chromatogram(
    name: str = "UV 220 nm",
    kind: str = "<f8",
    packed: bool = True,
    unit: str = "min",
    term: str = param("MS:1000812", "absorption chromatogram"),
    times: FloatArray = TIMES,
    signal: FloatArray = SIGNAL,
) -> str:
    """Return a `chromatogram` element."""
    time_term = param("MS:1000595", "time array", UNITS.get(unit))
    kind_of_times = "<f8" if kind[1] == "i" else kind
    signal_term = param("MS:1000515", "intensity array", ("UO:0000269", "absorbance unit"))
    arrays = array(times, time_term, kind_of_times, packed) + array(signal, signal_term, kind, packed)
    return (
        f'<chromatogram index="0" id="{name}" defaultArrayLength="{len(signal)}">{term}'
        f'<binaryDataArrayList count="2">{arrays}</binaryDataArrayList></chromatogram>'
    )


def document(*chromatograms: str, groups: str = "", spectra: str = "") -> bytes:
    """Return an mzML file with private fields in every place that has them."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n<mzML xmlns="http://psi.hupo.org/ms/mzml" version="1.1.0">\n'
        '<cvList count="1"><cv id="MS" fullName="PSI-MS" URI="x"/></cvList><fileDescription><fileContent/>'
        '<sourceFileList count="1"><sourceFile id="a" name="PRIVATE.raw" location="file:///C:/PRIVATE"/>'
        "</sourceFileList>"
        '<contact><cvParam cvRef="MS" accession="MS:1000586" value="PRIVATE person"/></contact>'
        f"</fileDescription>{groups}\n"
        '<run id="r" defaultInstrumentConfigurationRef="i" startTimeStamp="2026-03-02T10:11:12Z">'
        f'{spectra}\n<chromatogramList count="{len(chromatograms)}" defaultDataProcessingRef="d">\n'
        + "\n".join(chromatograms)
        + "\n</chromatogramList></run></mzML>\n"
    ).encode()


@pytest.fixture(scope="session")
def terms() -> Any:
    """Return the PSI-MS vocabulary, from the copy in the package."""
    vocabularies = importlib.import_module("psims.controlled_vocabulary.controlled_vocabulary")
    vocabularies.obo_cache.use_remote = False
    return vocabularies.load_psims()


@pytest.mark.parametrize(
    ("accession", "name"),
    [
        ("MS:1000811", "electromagnetic radiation chromatogram"),
        ("MS:1000812", "absorption chromatogram"),
        ("MS:1000813", "emission chromatogram"),
        ("MS:1000595", "time array"),
        ("MS:1000515", "intensity array"),
        ("MS:1000574", "zlib compression"),
        ("MS:1000519", "32-bit integer"),
        ("MS:1000521", "32-bit float"),
        ("MS:1000522", "64-bit integer"),
        ("MS:1000523", "64-bit float"),
    ],
)
def test_the_terms_mean_what_they_are_taken_for(terms: Any, accession: str, name: str) -> None:
    """Each accession in the reader's source has this name in the published vocabulary."""
    assert terms[accession].name == name
    assert accession in Path(mzml_reader.__file__).read_text(encoding="utf-8")


@pytest.mark.parametrize("packed", [True, False])
@pytest.mark.parametrize("kind", ["<f8", "<f4"])
@pytest.mark.parametrize("unit", ["min", "s"])
def test_agrees_with_pyteomics(terms: Any, packed: bool, kind: str, unit: str) -> None:
    """Times and signal are those that pyteomics reads from the same file (run here)."""
    data = document(chromatogram(kind=kind, packed=packed, unit=unit))
    with mzml.MzML(io.BytesIO(data), cv=terms) as reference:
        (theirs,) = list(reference.iterfind("chromatogram"))
    for wrapped in (data, gzip.compress(data)):
        trace = only(wrapped)
        in_minutes = 1.0 if unit == "min" else 1 / 60
        np.testing.assert_allclose(
            trace.time_min, np.asarray(theirs["time array"], float) * in_minutes, rtol=1e-12
        )
        np.testing.assert_array_equal(trace.signal, np.asarray(theirs["intensity array"], float))
        assert (trace.name, trace.time_unit, trace.signal_unit) == ("UV 220 nm", unit, "absorbance unit")
        assert (trace.format, trace.acquired_at, trace.cautions) == ("mzML", "2026-03-02T10:11:12+00:00", ())


@pytest.mark.parametrize("kind", ["<i4", "<i8"])
def test_whole_numbers_are_read(kind: str) -> None:
    """Signals stored as integers are read."""
    np.testing.assert_array_equal(only(document(chromatogram(kind=kind))).signal, SIGNAL.astype(kind))


@pytest.mark.parametrize(("unit", "minutes"), [("ms", 1 / 60000), ("h", 60.0)])
def test_rare_units_of_time(unit: str, minutes: float) -> None:
    """Milliseconds and hours become minutes."""
    np.testing.assert_allclose(only(document(chromatogram(unit=unit))).time_min, TIMES * minutes, rtol=1e-12)


def test_private_fields_stay_in_the_file() -> None:
    """Contacts and source files never reach a trace."""
    assert "PRIVATE" not in repr(only(document(chromatogram())))


def test_a_path_as_name_loses_its_folders() -> None:
    """A chromatogram called by a path keeps the last part alone."""
    assert only(document(chromatogram(r"C:\PRIVATE\run\UV 220"))).name == "UV 220"


def test_ion_chromatograms_and_spectra_are_passed_over() -> None:
    """Beside an ion chromatogram and spectra the absorbance is found."""
    ions = chromatogram("TIC", term=param("MS:1000235", "total ion current chromatogram"))
    spectrum = array(TIMES, param("MS:1000514", "m/z array"))
    spectra = f'<spectrum id="s" defaultArrayLength="120">{spectrum}</spectrum>'
    assert only(document(ions, chromatogram(), spectra=spectra)).name == "UV 220 nm"
    problem = refused(document(ions, spectra=spectra))
    assert "total ion current chromatogram" in problem.found
    assert "1 spectra" in problem.found
    assert "MS:1000812" in problem.expected


def test_several_traces_are_chosen_by_their_ids() -> None:
    """Each absorption chromatogram is a trace of its own."""
    traces = read_traces(
        document(chromatogram("A"), chromatogram("B", signal=2 * SIGNAL)), "a.mzML", Exports()
    )
    np.testing.assert_array_equal(choose_trace(traces, "B").signal, 2 * SIGNAL)


def test_terms_in_a_group_count() -> None:
    """A term that stands in a referenced group is as good as one in place."""
    groups = (
        '<referenceableParamGroupList count="1"><referenceableParamGroup id="g">'
        f"{param('MS:1000812', 'absorption chromatogram')}</referenceableParamGroup>"
        "</referenceableParamGroupList>"
    )
    trace = only(document(chromatogram(term='<referenceableParamGroupRef ref="g"/>'), groups=groups))
    np.testing.assert_array_equal(trace.signal, SIGNAL)


def test_the_indexed_form_is_read() -> None:
    """A file inside `indexedmzML` is the same file."""
    inner = document(chromatogram()).decode().partition("?>")[2]
    data = f'<?xml version="1.0"?>\n<indexedmzML xmlns="http://psi.hupo.org/ms/mzml">{inner}</indexedmzML>'
    np.testing.assert_array_equal(only(data.encode()).signal, SIGNAL)
    np.testing.assert_array_equal(only(data.encode("utf-16")).signal, SIGNAL)


def test_a_prefix_changes_nothing() -> None:
    """Elements with a namespace prefix are understood."""
    text = document(chromatogram()).decode().replace("xmlns=", "xmlns:p=")
    text = text.replace("<", "<p:").replace("<p:/", "</p:").replace("<p:?", "<?")
    np.testing.assert_array_equal(only(text.encode()).signal, SIGNAL)


def test_a_missing_unit_is_asked_of_the_study() -> None:
    """Times without a unit are refused until [exports] states it."""
    data = document(chromatogram(unit="none"))
    assert "time_unit" in refused(data).cure
    assert only(data, Exports(time_unit="s")).time_min[-1] == pytest.approx(TIMES[-1] / 60)


def change(old: str, new: str) -> bytes:
    """Return a file in which `old` became `new`."""
    text = document(chromatogram(packed=False)).decode()
    assert old in text
    return text.replace(old, new).encode()


@pytest.mark.parametrize(
    ("data", "place", "found"),
    [
        (change("</run>", ""), "line 7, column", "mismatched tag"),
        (
            change('defaultArrayLength="120"', 'defaultArrayLength="121"'),
            "time array",
            "960 bytes of data for 121",
        ),
        (change('defaultArrayLength="120"', 'defaultArrayLength="x"'), "time array", "x"),
        (change("<binary>", "<binary>*"), "time array", "base64"),
        (change("MS:1000595", "MS:1000617"), "chromatogram 'UV 220 nm', line 6", "no time array"),
        (change("MS:1000515", "MS:1000516"), "chromatogram 'UV 220 nm', line 6", "no intensity array"),
        (change("MS:1000523", "MS:1000520"), "time array", "no type of number"),
        (change("no compression", "MS-Numpress linear prediction compression"), "time array", "MS-Numpress"),
        (change('unitAccession="UO:0000031" unitName="minute"', 'unitName="metre"'), "UV 220 nm", "metre"),
        (change('unitName="minute"', 'unitName="second"'), "UV 220 nm", "'second' by name and in min by UO"),
        (change('encoding="UTF-8"', 'encoding="TF-8"'), "line 1", "TF-8"),
        (change('encoding="UTF-8"', 'encoding="shift_jis"'), "line 1", "encoding"),
        (document(chromatogram())[:-60], "line 6, column", "breaks off"),
    ],
)
def test_what_cannot_be_read_is_placed(data: bytes, place: str, found: str) -> None:
    """The message names the chromatogram, the array or the line, and what is wrong there."""
    problem = refused(data)
    assert place in problem.place
    assert found in problem.found


def test_a_unit_that_is_none_of_time_is_cured_where_it_stands() -> None:
    """What [exports] says stands for a unit that is absent, and cures none that is wrong."""
    data = change(
        'unitAccession="UO:0000031" unitName="minute"', 'unitAccession="UO:0000034" unitName="week"'
    )
    assert "Export it again" in refused(data).cure
    assert "Export it again" in refused(data, Exports(time_unit="min")).cure


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_damaged_files_never_crash(data: st.DataObject) -> None:
    """Whatever bytes are changed or lost, the file is read or refused."""
    whole = bytearray(document(chromatogram(times=TIMES[:5], signal=SIGNAL[:5])))
    for _ in range(data.draw(st.integers(1, 5))):
        place = data.draw(st.integers(0, len(whole) - 2))
        if data.draw(st.booleans()):
            whole[place] = data.draw(st.integers(0, 255))
        else:
            del whole[place : place + data.draw(st.integers(1, 30))]
    read_or_refused(bytes(whole))


@pytest.mark.parametrize(
    ("accession", "name"),
    [
        ("MS:1002312", "MS-Numpress linear prediction compression"),
        ("MS:1002746", "MS-Numpress linear prediction compression followed by zlib compression"),
        ("MS:1003089", "truncation, delta prediction and zlib compression"),
        ("MS:1002314", ""),
        ("MS:1009999", "a compression of tomorrow"),
    ],
)
def test_a_compression_that_is_not_read_is_named_with_its_cure(accession: str, name: str) -> None:
    """The message says which compression it is and how to export; 'export again' alone would not help."""
    data = document(chromatogram()).replace(
        param("MS:1000574", "zlib compression").encode(), param(accession, name).encode()
    )
    problem = refused(data)
    assert (name or accession)[:40] in problem.found
    assert problem.cure == "This compression is not read: export the file with zlib compression or none."
