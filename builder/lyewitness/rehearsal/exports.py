"""Chromatogram files as different instruments would leave them.

In: a trace and what stands in its header. Out: bytes, the same for the same input: no clock, no locale,
and where a file is compressed, a time stamp of zero.
"""

import gzip
import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from scipy.io import netcdf_file

from lyewitness.rehearsal.plans import Dialect
from lyewitness.rehearsal.records import DrawnTrace
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Heading:
    """What an export says beside its numbers."""

    injection: str
    acquired_at: datetime
    wavelength_nm: float
    injection_uL: float


@dataclass(frozen=True, slots=True)
class TextDialect:
    """How one instrument writes a chromatogram as text."""

    preamble: tuple[str, ...]
    """Lines before the table, with fields of `Heading` in braces."""
    head: str
    delimiter: str
    seconds: bool
    time_places: int
    """Decimals of the time; below 0 where no time is written."""
    decimal_comma: bool = False
    line_end: str = "\n"
    encoding: str = "utf-8"
    signal_places: int = 2


TEXT: Mapping[Dialect, TextDialect] = {
    "comma, minutes": TextDialect(
        preamble=(
            "Chromatogram of injection: {injection}",
            "Acquired: {acquired_at}",
            "Detection: absorbance at {wavelength_nm:g} nm",
            "",
        ),
        head="time (min),absorbance (mAU)",
        delimiter=",",
        seconds=False,
        time_places=5,
    ),
    "semicolon, decimal comma, seconds": TextDialect(
        preamble=(
            "Injection;{injection}",
            "Date;{acquired_at}",
            "Wavelength / nm;{wavelength_nm:g}",
            "Injected volume / µL;{injection_uL:g}",
        ),
        head="t / s;A / mAU",
        delimiter=";",
        seconds=True,
        time_places=2,
        decimal_comma=True,
        encoding="latin-1",
    ),
    "tab, seconds": TextDialect(
        preamble=("# injection\t{injection}", "# acquired\t{acquired_at}"),
        head="Time [s]\tSignal [mAU]",
        delimiter="\t",
        seconds=True,
        time_places=2,
        line_end="\r\n",
        signal_places=3,
    ),
    "one column": TextDialect(
        preamble=("{injection}",),
        head="mAU",
        delimiter="",
        seconds=True,
        time_places=-1,
    ),
    "UTF-16, tab, minutes": TextDialect(
        preamble=("Injection\t{injection}", "Volume\t{injection_uL:g} µL"),
        head="Time (min)\tSignal (mAU)",
        delimiter="\t",
        seconds=False,
        time_places=5,
        encoding="utf-16",
    ),
}
ENDINGS: Mapping[Dialect, str] = {
    "comma, minutes": ".csv",
    "semicolon, decimal comma, seconds": ".txt",
    "tab, seconds": ".tsv",
    "one column": ".asc",
    "UTF-16, tab, minutes": ".txt",
    "ASTM E1947 netCDF": ".cdf",
}


def export(trace: DrawnTrace, heading: Heading, dialect: Dialect) -> bytes:
    """Return the file of one trace."""
    if dialect == "ASTM E1947 netCDF":
        return as_netcdf(trace, heading)
    return as_text(trace, heading, TEXT[dialect])


def as_text(trace: DrawnTrace, heading: Heading, dialect: TextDialect) -> bytes:
    """Return the trace as delimited text."""
    words = {
        "injection": heading.injection,
        "acquired_at": heading.acquired_at.isoformat(sep=" "),
        "wavelength_nm": heading.wavelength_nm,
        "injection_uL": heading.injection_uL,
    }
    lines = [line.format(**words) for line in dialect.preamble] + [dialect.head]
    signals = _decimals(trace.signal, dialect.signal_places)
    if dialect.time_places < 0:
        table = signals
    else:
        times = _decimals(trace.time_min * (60 if dialect.seconds else 1), dialect.time_places)
        table = [f"{time}{dialect.delimiter}{signal}" for time, signal in zip(times, signals, strict=True)]
    body = dialect.line_end.join(table)
    if dialect.decimal_comma:
        body = body.replace(".", ",")
    text = dialect.line_end.join([*lines, body, ""])
    if dialect.encoding == "utf-16":
        # The order of bytes is named, or it would be that of the machine.
        return b"\xff\xfe" + text.encode("utf-16-le")
    return text.encode(dialect.encoding)


def _decimals(values: FloatArray, places: int) -> list[str]:
    """Return the numbers with that many decimals and no negative zero."""
    return [f"{value:.{places}f}" for value in (np.round(values, places) + 0.0).tolist()]


def as_netcdf(trace: DrawnTrace, heading: Heading) -> bytes:
    """Return the trace as a classic netCDF file after ASTM E1947, times in seconds."""
    interval_s = float(trace.time_min[1] - trace.time_min[0]) * 60
    buffer = io.BytesIO()
    # The writer closes its buffer, so the bytes are taken after a flush.
    file = netcdf_file(buffer, "w", version=1)
    attributes = {
        "dataset_completeness": "C1",
        "aia_template_revision": "1.0.1",
        "netcdf_revision": "3",
        "languages": "English",
        "injection_date_time_stamp": heading.acquired_at.strftime("%Y%m%d%H%M%S+0000"),
        "sample_name": "markers",
        "experiment_title": heading.injection,
        "detector_unit": "mAU",
        "detection_method_comments": f"absorbance at {heading.wavelength_nm:g} nm",
        "retention_unit": "seconds",
    }
    for name, value in attributes.items():
        setattr(file, name, value.encode("ascii"))
    file.createDimension("point_number", trace.signal.size)
    scalars = {
        "actual_run_time_length": interval_s * (trace.signal.size - 1),
        "actual_sampling_interval": interval_s,
        "actual_delay_time": float(trace.time_min[0]) * 60,
        "detector_maximum_value": float(trace.signal.max()),
        "detector_minimum_value": float(trace.signal.min()),
    }
    for name, number in scalars.items():
        file.createVariable(name, np.dtype(">f4"), ())[...] = np.float32(round(number, 6))
    ordinate = file.createVariable("ordinate_values", np.dtype(">f4"), ("point_number",))
    ordinate[:] = np.round(trace.signal, 4).astype(">f4")
    setattr(ordinate, "uniform_sampling_flag", b"Y")  # noqa: B010
    file.flush()
    data = buffer.getvalue()
    file.close()
    return data


def compressed(data: bytes) -> bytes:
    """Return `data` gzipped, without the time of day."""
    return gzip.compress(data, compresslevel=9, mtime=0)
