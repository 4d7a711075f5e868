"""netCDF chromatograms, written by netCDF4 and by scipy, with the traps of real files.

Source of the layout and the traps: ASTM E1947 as summed up in the project's reference values.
"""

import gzip
import io
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Literal

import netCDF4
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.io import netcdf_file

from lyewitness.study.records import Exports
from lyewitness.words.arrays import FloatArray
from tests.traces.expecting import only, read_or_refused, refused

SIGNAL: FloatArray = np.round(100 * np.exp(-(((np.arange(200) - 80) / 9.0) ** 2)), 3)
Model = Literal["NETCDF4", "NETCDF4_CLASSIC", "NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET", "NETCDF3_64BIT_DATA"]
ATTRIBUTES: Mapping[str, str] = {
    "dataset_completeness": "C1+C2",
    "aia_template_revision": "1.0",
    "netcdf_revision": "2.3.2",
    "injection_date_time_stamp": "20260302101112+0100",
    "retention_unit": "seconds",
    "detector_unit": "mAU",
    "detector_name": "UV 220 nm",
    "operator_name": "PRIVATE person",
    "source_file_reference": "C:\\PRIVATE\\run.raw",
    "dataset_owner": "PRIVATE owner",
    "sample_name": "PRIVATE sample",
}
SCALARS: Mapping[str, float] = {
    "actual_run_time_length": 20.0,
    "actual_sampling_interval": 0.1,
    "actual_delay_time": 0.5,
    "detector_maximum_value": 1.0,
    "detector_minimum_value": 0.0,
}


def by_scipy(
    signal: FloatArray = SIGNAL,
    attributes: Mapping[str, str] = ATTRIBUTES,
    scalars: Mapping[str, float] = SCALARS,
    kind: str = "f4",
    version: int = 1,
    times: FloatArray | None = None,
    of_signal: Mapping[str, object] | None = None,
    signal_name: str = "ordinate_values",
) -> bytes:
    """Return the bytes of a file as scipy writes it."""
    buffer = io.BytesIO()
    content = netcdf_file(buffer, "w", version=version)
    for name, word in attributes.items():
        setattr(content, name, word.encode("latin-1"))
    content.createDimension("point_number", len(signal))
    for name, value in scalars.items():
        content.createVariable(name, kind, ()).data[...] = value
    variable = content.createVariable(signal_name, kind, ("point_number",))
    variable[:] = signal
    for name, mark in (of_signal or {}).items():
        setattr(variable, name, mark)
    if times is not None:
        content.createVariable("raw_data_retention", "f8", ("point_number",))[:] = times
    content.flush()
    data = buffer.getvalue()
    content.close()
    return data


def by_netcdf4(folder: Path, model: Model) -> bytes:
    """Return the bytes of a file as netCDF4 writes it, with a point dimension without a bound."""
    path = folder / "a.cdf"
    with netCDF4.Dataset(path, "w", format=model) as content:
        content.setncatts(dict(ATTRIBUTES))
        content.createDimension("point_number", None)
        for name, value in SCALARS.items():
            content.createVariable(name, "f4", ())[...] = value
        content.createVariable("ordinate_values", "f4", ("point_number",))[:] = SIGNAL
    return path.read_bytes()


@pytest.mark.parametrize("model", ["NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET"])
def test_files_of_netcdf4_are_read(tmp_path: Path, model: Model) -> None:
    """A classic file written by another library gives its times, signal, units and time stamp."""
    trace = only(by_netcdf4(tmp_path, model))
    np.testing.assert_allclose(trace.time_min, (0.5 + 0.1 * np.arange(200)) / 60, rtol=1e-12)
    np.testing.assert_array_equal(trace.signal, SIGNAL.astype("f4"))
    assert (trace.time_unit, trace.signal_unit, trace.name) == ("s", "mAU", "UV 220 nm")
    assert trace.acquired_at == "2026-03-02T10:11:12+01:00"
    assert trace.format == "ASTM E1947 netCDF"
    assert trace.cautions == ()


@pytest.mark.parametrize("version", [1, 2])
@pytest.mark.parametrize("kind", ["f4", "f8"])
def test_files_of_scipy_are_read(version: int, kind: str) -> None:
    """Either variety of classic netCDF and either precision gives the same trace, also compressed."""
    data = by_scipy(kind=kind, version=version)
    for wrapped in (data, gzip.compress(data)):
        trace = only(wrapped)
        np.testing.assert_allclose(trace.time_min, (0.5 + 0.1 * np.arange(200)) / 60, rtol=1e-12)
        np.testing.assert_array_equal(trace.signal, SIGNAL.astype(kind))


@pytest.mark.parametrize("kind", ["i2", "i4"])
def test_whole_numbers_are_read(kind: str) -> None:
    """A signal stored as big-endian integers is read as such."""
    scalars = {
        **SCALARS,
        "actual_sampling_interval": 1,
        "actual_delay_time": 0,
        "actual_run_time_length": 200,
    }
    whole: FloatArray = np.rint(SIGNAL)
    trace = only(by_scipy(whole, scalars=scalars, kind=kind))
    np.testing.assert_array_equal(trace.signal, whole)


def test_private_fields_stay_in_the_file() -> None:
    """Names of persons, paths and samples never reach a trace."""
    trace = only(by_scipy())
    assert "PRIVATE" not in repr(trace)


@pytest.mark.parametrize(
    ("word", "unit"),
    [
        ("seconds", "s"), ("Seconds", "s"), ("SEC", "s"), ("sec.", "s"), ("minutes", "min"), ("Min", "min"),
        ("seconds\0\0\0", "s"), ("  minutes   ", "min"), ("milliseconds", "ms"), ("hours", "h"),
    ],
)  # fmt: skip
def test_spellings_of_the_retention_unit(word: str, unit: str) -> None:
    """The unit is understood in any usual spelling, padded with blanks or NULs."""
    assert only(by_scipy(attributes={**ATTRIBUTES, "retention_unit": word})).time_unit == unit


def test_plural_attribute_names_are_understood() -> None:
    """`retention_units` and `detector_units` say the same as the standard's names."""
    plural = {f"{name}s" if name.endswith("_unit") else name: word for name, word in ATTRIBUTES.items()}
    trace = only(by_scipy(attributes=plural))
    assert (trace.time_unit, trace.signal_unit) == ("s", "mAU")


@pytest.mark.parametrize("nothing", [None, "", "-9999", "unknown"])
def test_a_missing_retention_unit_is_asked_of_the_study(nothing: str | None) -> None:
    """Without a unit the file is refused, until [exports] states one."""
    attributes = {name: word for name, word in ATTRIBUTES.items() if name != "retention_unit"}
    if nothing is not None:
        attributes["retention_unit"] = nothing
    data = by_scipy(attributes=attributes)
    assert refused(data).place == "attribute retention_unit"
    assert only(data, Exports(time_unit="min")).time_min[-1] == pytest.approx(0.5 + 19.9)


def test_a_strange_retention_unit_is_refused() -> None:
    """A unit that is no time is refused, whatever [exports] says."""
    data = by_scipy(attributes={**ATTRIBUTES, "retention_unit": "furlongs"})
    assert "furlongs" in refused(data, Exports(time_unit="min")).found


@pytest.mark.parametrize("mark", [-9999.0, 9.969209968386869e36, np.nan, np.inf])
def test_points_without_a_value_are_left_out(mark: float) -> None:
    """The standard's and netCDF's marks for 'nothing' are gaps, said in a caution."""
    signal = SIGNAL.copy()
    signal[[10, 11]] = mark
    trace = only(by_scipy(signal))
    assert trace.signal.size == 198
    assert trace.time_min[10] == pytest.approx((0.5 + 1.2) / 60)
    assert trace.cautions == ("2 points have no value (first: point 11): left out of the trace.",)


def test_a_fill_value_of_its_own_is_a_gap() -> None:
    """A value that the variable itself calls missing is left out."""
    signal = SIGNAL.copy()
    signal[5] = -1.0
    assert only(by_scipy(signal, of_signal={"missing_value": np.float32(-1.0)})).signal.size == 199


@pytest.mark.parametrize("length", [19.9, 20.0, -9999.0, 20.1, 19.85])
def test_either_run_length_is_right(length: float) -> None:
    """A run of N or N − 1 steps, or of none stated, calls for no caution."""
    assert only(by_scipy(scalars={**SCALARS, "actual_run_time_length": length})).cautions == ()


def test_a_run_length_that_fits_nothing_is_a_caution() -> None:
    """Where length and interval disagree the interval is followed and the reader is told."""
    trace = only(by_scipy(scalars={**SCALARS, "actual_run_time_length": 40.0}))
    assert trace.time_min[-1] == pytest.approx((0.5 + 19.9) / 60)
    assert "the interval was followed" in trace.cautions[0]


def test_a_missing_interval_comes_from_the_run_length() -> None:
    """Without an interval the run length is shared out, with a caution."""
    trace = only(
        by_scipy(scalars={**SCALARS, "actual_sampling_interval": -9999.0, "actual_run_time_length": 19.9})
    )
    assert trace.time_min[-1] == pytest.approx((0.5 + 19.9) / 60)
    assert "states no sampling interval" in trace.cautions[0]


def test_neither_interval_nor_length_is_refused_until_the_study_states_one() -> None:
    """A trace whose times are stated nowhere is refused with the variable's name."""
    data = by_scipy(scalars={"actual_delay_time": 0.0})
    assert refused(data).place == "variable actual_sampling_interval"
    assert only(data, Exports(sampling_interval_s=0.2)).time_min[-1] == pytest.approx(199 * 0.2 / 60)


def test_a_missing_delay_is_a_caution() -> None:
    """Where no delay is stated the trace begins at that of [exports], and says so."""
    scalars = {name: value for name, value in SCALARS.items() if name != "actual_delay_time"}
    trace = only(by_scipy(scalars=scalars), Exports(delay_s=6.0))
    assert trace.time_min[0] == pytest.approx(0.1)
    assert "states no delay" in trace.cautions[0]


def uneven() -> FloatArray:
    """Return 200 times in seconds that no even step explains."""
    return np.cumsum(0.1 + 0.05 * np.sin(np.arange(200)))


@pytest.mark.parametrize(
    "flagged",
    [
        lambda: by_scipy(times=uneven(), of_signal={"uniform_sampling_flag": b"N"}),
        lambda: by_scipy(times=uneven(), attributes={**ATTRIBUTES, "uniform_sampling_flag": "No\0"}),
    ],
    ids=["of the variable", "of the file"],
)
def test_uneven_sampling_is_kept(flagged: Callable[[], bytes]) -> None:
    """Where the flag says so, of the variable or of the file, each point keeps its own time."""
    np.testing.assert_allclose(only(flagged()).time_min * 60, uneven(), rtol=1e-12)


def test_times_beside_an_absent_flag_are_not_used() -> None:
    """Without the flag sampling is even, even where a variable of times stands in the file."""
    trace = only(by_scipy(times=uneven()))
    np.testing.assert_allclose(np.diff(trace.time_min) * 60, 0.1, rtol=1e-9)


def test_uneven_sampling_without_times_is_refused() -> None:
    """The flag without the times leaves points without a time."""
    data = by_scipy(of_signal={"uniform_sampling_flag": b"N"})
    assert refused(data).place == "variable raw_data_retention"


def test_a_mass_spectrometry_file_is_called_so() -> None:
    """A file of the sister standard is named, with what it lacks."""
    problem = refused(by_scipy(signal_name="mass_values"))
    assert "mass-spectrometry" in problem.found
    assert problem.place == "variable ordinate_values"


def test_another_netcdf_file_lists_what_it_holds() -> None:
    """A netCDF file of something else is refused with the names of its variables."""
    assert "actual_delay_time" in refused(by_scipy(signal_name="sea_level")).found


@pytest.mark.parametrize("model", ["NETCDF4", "NETCDF4_CLASSIC"])
def test_netcdf4_is_named_with_its_cure(tmp_path: Path, model: Model) -> None:
    """An HDF5-based file is not read; the message says how to make a classic one of it."""
    problem = refused(by_netcdf4(tmp_path, model))
    assert "HDF5" in problem.found
    assert "nccopy -k classic" in problem.cure


def test_cdf5_is_named_with_its_cure(tmp_path: Path) -> None:
    """The 64-bit data variety is not read; the message says how to make a classic one of it."""
    problem = refused(by_netcdf4(tmp_path, "NETCDF3_64BIT_DATA"))
    assert "CDF-5" in problem.found
    assert "nccopy -k classic" in problem.cure


@pytest.mark.parametrize("share", [0.02, 0.2, 0.5, 0.9, 0.999])
def test_a_truncated_file_is_refused(share: float) -> None:
    """A file that breaks off anywhere is a problem, not a traceback."""
    data = by_scipy()
    problem = refused(data[: int(len(data) * share)])
    assert problem.found


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_damaged_files_never_crash(data: st.DataObject) -> None:
    """Whatever bytes are changed, the file is read or refused."""
    whole = bytearray(by_scipy())
    for _ in range(data.draw(st.integers(1, 8))):
        place = data.draw(st.integers(4, min(len(whole), 1500) - 1))
        whole[place] = data.draw(st.integers(0, 255))
    read_or_refused(bytes(whole))
