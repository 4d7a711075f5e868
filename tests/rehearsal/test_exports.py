"""Exports hold the trace they were made from, read back by independent readers."""

import gzip
import io
from datetime import datetime

import netCDF4
import numpy as np
import pandas as pd
import pytest
from scipy.io import netcdf_file

from lyewitness.rehearsal.plans import Dialect
from lyewitness.rehearsal.records import DrawnTrace
from lyewitness.rehearsal.scenario import simulate, small_scenario
from lyewitness.rehearsal.writing import ENDINGS, TEXT, Heading, as_netcdf, compressed, export

HEADING = Heading("H1-01", datetime(2026, 3, 3, 8, 6), 240, 1.0)


@pytest.fixture(scope="module")
def trace() -> DrawnTrace:
    """Return the first trace of the small study."""
    return simulate(small_scenario()).traces["H1-01"]


@pytest.mark.parametrize("dialect", [name for name in TEXT if name != "one column"])
def test_pandas_reads_the_text_back(trace: DrawnTrace, dialect: Dialect) -> None:
    """Times and signals return within the digits written."""
    how = TEXT[dialect]
    table = pd.read_csv(
        io.BytesIO(export(trace, HEADING, dialect)),
        sep=how.delimiter,
        skiprows=len(how.preamble) + 1,
        decimal="," if how.decimal_comma else ".",
        encoding=how.encoding,
        header=None,
        skip_blank_lines=False,
    )
    minutes = table[0].to_numpy() / (60 if how.seconds else 1)
    np.testing.assert_allclose(minutes, trace.time_min, atol=5.1e-6)
    np.testing.assert_allclose(table[1].to_numpy(), trace.signal, atol=0.51 * 10.0**-how.signal_places)


def test_one_column_holds_the_signal_alone(trace: DrawnTrace) -> None:
    """A line a point below two lines of heading."""
    lines = export(trace, HEADING, "one column").decode().splitlines()
    np.testing.assert_allclose([float(line) for line in lines[2:]], trace.signal, atol=0.0051)


def test_netcdf4_reads_the_netcdf_back(trace: DrawnTrace) -> None:
    """The library netCDF4 finds the trace, its sampling and its units where ASTM E1947 has them."""
    with netCDF4.Dataset("memory", memory=as_netcdf(trace, HEADING)) as data:
        assert data.data_model == "NETCDF3_CLASSIC"
        assert data.retention_unit == "seconds"
        assert data.detector_unit == "mAU"
        assert data.injection_date_time_stamp == "20260303080600+0000"
        interval = float(data.variables["actual_sampling_interval"][...])
        delay = float(data.variables["actual_delay_time"][...])
        times = (delay + interval * np.arange(data.dimensions["point_number"].size)) / 60
        np.testing.assert_allclose(times, trace.time_min, rtol=1e-6)
        np.testing.assert_allclose(data.variables["ordinate_values"][:], trace.signal, atol=6e-5)
        assert float(data.variables["actual_run_time_length"][...]) == pytest.approx(times[-1] * 60)


def test_scipy_reads_the_netcdf_back(trace: DrawnTrace) -> None:
    """So does scipy, with the flag of uniform sampling at the variable."""
    file = netcdf_file(io.BytesIO(as_netcdf(trace, HEADING)), "r", mmap=False)
    assert file.variables["ordinate_values"].uniform_sampling_flag == b"Y"  # type: ignore[attr-defined]
    file.close()


@pytest.mark.parametrize("dialect", list(ENDINGS))
def test_the_same_trace_gives_the_same_bytes(trace: DrawnTrace, dialect: Dialect) -> None:
    """Also compressed: the time of day is nowhere in the file."""
    one, two = export(trace, HEADING, dialect), export(trace, HEADING, dialect)
    assert one == two
    packed = compressed(one)
    assert packed[4:8] == b"\0\0\0\0"
    assert gzip.decompress(packed) == one


def test_there_is_no_negative_zero() -> None:
    """-0.001 with two decimals is 0.00."""
    trace = DrawnTrace(np.array([0.0, 0.1]), np.array([-0.001, 0.001]))
    assert b"-0.00" not in export(trace, HEADING, "comma, minutes")
