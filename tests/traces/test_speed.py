"""How long reading takes, beside what pandas needs to parse the same bytes.

`pytest tests/traces/test_speed.py --benchmark-only` prints the times; nothing is asserted about them, because
they are the machine's.
"""

import io
from collections.abc import Callable

import netCDF4
import numpy as np
import pandas as pd
import pytest

from lyewitness.study.records import Exports
from lyewitness.traces.reading import read_traces
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

POINTS = 6000
MINUTES: FloatArray = np.arange(POINTS) / 600
SIGNAL: FloatArray = (
    300 * np.exp(-(((MINUTES - 3) / 0.05) ** 2)) + np.random.default_rng(5).normal(0, 0.02, POINTS) + 1.5
)


def export(separator: str = ",", decimal: str = ".", end: str = "\n") -> bytes:
    """Return a text export of 6,000 points."""
    rows = (f"{t:.6f}{separator}{s:.6f}".replace(".", decimal) for t, s in zip(MINUTES, SIGNAL, strict=True))
    return end.join([f"Time (min){separator}Signal (mAU)", *rows, ""]).encode()


def netcdf() -> bytes:
    """Return a netCDF export of 6,000 points."""
    content = netCDF4.Dataset("a.cdf", "w", format="NETCDF3_CLASSIC", memory=1024)
    content.retention_unit = "minutes"
    content.createDimension("point_number", POINTS)
    for name, value in (("actual_sampling_interval", 1 / 600), ("actual_delay_time", 0.0)):
        content.createVariable(name, "f8", ())[...] = value
    content.createVariable("ordinate_values", "f4", ("point_number",))[:] = SIGNAL
    return bytes(content.close())


EXPORTS: dict[str, bytes] = {
    "comma": export(),
    "tab": export("\t"),
    "semicolon and decimal comma": export(";", ","),
    "UTF-16 with CRLF": export("\t", end="\r\n").decode().encode("utf-16"),
    "quoted": b'"' + export('","').replace(b"\n", b'"\n"').removesuffix(b'"'),
    "with a gap": export().replace(b"0.500000,", b"0.500000,NaN\n0.500001,", 1),
    "with a footer": export() + b"End of data\n",
}


@pytest.mark.benchmark(group="text export of 6,000 points", min_rounds=5, max_time=0.2)
@pytest.mark.parametrize("shape", EXPORTS)
def test_reading_text(benchmark: Callable[..., tuple[Trace, ...]], shape: str) -> None:
    """A text export becomes a trace."""
    (trace,) = benchmark(read_traces, EXPORTS[shape], "a.csv", Exports())
    np.testing.assert_allclose(trace.signal, SIGNAL, atol=1e-6)


@pytest.mark.benchmark(group="text export of 6,000 points", min_rounds=5, max_time=0.2)
def test_pandas_beside_it(benchmark: Callable[..., pd.DataFrame]) -> None:
    """pandas parses the same bytes as the first of them."""
    table = benchmark(lambda: pd.read_csv(io.BytesIO(EXPORTS["comma"])))
    np.testing.assert_allclose(table["Signal (mAU)"], SIGNAL, atol=1e-6)


@pytest.mark.benchmark(group="netCDF export of 6,000 points", min_rounds=5, max_time=0.2)
def test_reading_netcdf(benchmark: Callable[..., tuple[Trace, ...]]) -> None:
    """A netCDF export becomes a trace."""
    (trace,) = benchmark(read_traces, netcdf(), "a.cdf", Exports())
    np.testing.assert_allclose(trace.signal, SIGNAL, rtol=1e-6)
