"""Reads chromatograms in netCDF after ASTM E1947.

In: the bytes of a classic netCDF file. Out: one `Draft`. Names of operators, paths and instruments stand
in such files beside the data; none of them is looked at.
"""

import io
import re
import struct
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import scipy

from lyewitness.study.records import Exports
from lyewitness.traces.shaping import MINUTES_IN, NOTHING_THERE, Draft, unit_of_time, unreadable
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened, told_plainly

FORMAT = "ASTM E1947 netCDF"

_NOTHING = -9999.0
"""What the standard's templates put where there is no value; netCDF's own fill value is 9.97e36."""
_DAMAGE = (
    ValueError, TypeError, KeyError, IndexError, AttributeError, OverflowError, MemoryError,
    AssertionError, EOFError, struct.error, UnicodeError, ZeroDivisionError,
)  # fmt: skip
"""What scipy raises on bytes that are no netCDF after all."""


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is a classic netCDF file."""
    return head[:3] == b"CDF" and head[3:4] in (b"\x01", b"\x02", b"\x05")


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return the chromatogram of a netCDF file; raises StudyFolderError with the variable that is amiss."""
    if data[3:4] == b"\x05":
        raise unreadable(
            file,
            "",
            "netCDF of the 64-bit data variety (CDF-5)",
            "classic netCDF",
            "Run `nccopy -k classic`.",
        )
    try:
        with scipy.io.netcdf_file(io.BytesIO(data), mmap=False) as content:
            contents = _Contents(content, file)
            return (_draft(contents, exports),)
    except _DAMAGE as error:
        found = f"damaged netCDF ({told_plainly(error) or 'it breaks off'})"
        raise unreadable(file, "", found, "a whole netCDF file", "Copy or export the file again.") from error


@dataclass(frozen=True, eq=False, slots=True)
class _Contents:
    """The variables and attributes of an open netCDF file."""

    netcdf: "scipy.io.netcdf_file"
    file: str

    def numbers(self, variable: str) -> FloatArray | None:
        """Return the values of a variable with NaN where the file says 'nothing'; None where it is absent."""
        if variable not in self.netcdf.variables:
            return None
        holder = self.netcdf.variables[variable]
        raw = np.atleast_1d(np.array(holder.data))
        if raw.dtype.kind not in "fiu" or raw.ndim != 1:
            raise self.refusal(variable, f"{raw.ndim} dimensions of type {raw.dtype.kind}", "one of numbers")
        nothing = [_NOTHING, *(getattr(holder, name, None) for name in ("_FillValue", "missing_value"))]
        with np.errstate(invalid="ignore"):  # NaNs of the signalling kind
            values = raw.astype(np.float64)
            for mark in nothing:
                if isinstance(mark, (int, float, np.number, np.ndarray)) and np.size(mark) == 1:
                    values[values == np.asarray(mark).astype(np.float64).reshape(())] = np.nan
            values[np.abs(values) > NOTHING_THERE] = np.nan
        return values

    def scalar(self, variable: str) -> float | None:
        """Return a variable of one value; None where it is absent or says 'nothing'."""
        values = self.numbers(variable)
        if values is None or values.size == 0 or not np.isfinite(values[0]):
            return None
        stored = self.netcdf.variables[variable].data.dtype
        if stored.kind == "f" and stored.itemsize == 4:
            return float(str(np.float32(values[0])))  # 0.1 stored in 32 bits is meant as 0.1
        return float(values[0])

    def word(self, *names: str, variable: str = "") -> str:
        """Return the first attribute of these names that has text, of the file or of a variable."""
        holder = self.netcdf.variables.get(variable) if variable else self.netcdf
        attributes = {name.casefold(): value for name, value in getattr(holder, "_attributes", {}).items()}
        for name in names:
            value = attributes.get(name, b"")
            text = value.decode("latin-1") if isinstance(value, bytes) else ""
            text = text.split("\0")[0].strip()
            if text and not re.fullmatch(r"-9999(?:\.0*)?|none|unknown|n/?a|null", text, re.IGNORECASE):
                return text
        return ""

    def refusal(self, variable: str, found: str, expected: str) -> Exception:
        cure = "Export the chromatogram again, or as text."
        return unreadable(self.file, f"variable {variable}", found, expected, cure)


def _draft(contents: _Contents, exports: Exports) -> Draft:
    signal = contents.numbers("ordinate_values")
    if signal is None:
        raise _no_chromatogram(contents)
    unit = _time_unit(contents, exports)
    times, cautions = _times(contents, signal.size, unit, exports)
    return Draft(
        time=times,
        signal=signal,
        time_unit=unit,
        signal_unit=contents.word("detector_unit", "detector_units")
        or contents.word("units", "unit", variable="ordinate_values"),
        name=contents.word("detector_name")[:80],
        acquired_at=_acquired_at(contents.word("injection_date_time_stamp")),
        cautions=cautions,
    )


def _no_chromatogram(contents: _Contents) -> Exception:
    names = contents.netcdf.variables
    if "mass_values" in names or "scan_acquisition_time" in names:
        return contents.refusal(
            "ordinate_values",
            "a mass-spectrometry file of the sister standard",
            "a chromatogram (ASTM E1947)",
        )
    listed = shortened(", ".join(sorted(names)) or "none", 80)
    return contents.refusal("ordinate_values", f"no such variable (there are: {listed})", "the signal")


def _time_unit(contents: _Contents, exports: Exports) -> str:
    word = contents.word("retention_unit", "retention_units") or contents.word(
        "units", "unit", variable="actual_sampling_interval"
    )
    unit = unit_of_time(word) or ("" if word else exports.time_unit)
    if unit:
        return unit
    found = f"`retention_unit` {shortened(word)!r}" if word else "no `retention_unit`"
    raise unreadable(
        contents.file,
        "attribute retention_unit",
        found,
        f"one of {', '.join(MINUTES_IN)}",
        "State `time_unit` in [exports] of study.toml." if not word else "Export the file again.",
    )


def _times(
    contents: _Contents, points: int, unit: str, exports: Exports
) -> tuple[FloatArray, tuple[str, ...]]:
    if _sampling_is_uneven(contents):
        times = contents.numbers("raw_data_retention")
        if times is None or times.size != points:
            found = "no such variable" if times is None else f"{times.size} times for {points} points"
            raise contents.refusal("raw_data_retention", found, "a time for every point of uneven sampling")
        return times, ()
    delay = contents.scalar("actual_delay_time")
    interval, cautions = _interval(contents, points, unit, exports)
    if delay is None:
        delay = exports.delay_s / 60 / MINUTES_IN[unit]
        cautions += (f"The file states no delay; the first point was put at {delay:g} {unit}.",)
    return np.asarray(delay + interval * np.arange(points), dtype=np.float64), cautions


def _sampling_is_uneven(contents: _Contents) -> bool:
    """Whether points stand at times of their own; a flag that is absent means even sampling."""
    flag = contents.word("uniform_sampling_flag", variable="ordinate_values")
    return (flag or contents.word("uniform_sampling_flag")).upper().startswith("N")


def _interval(contents: _Contents, points: int, unit: str, exports: Exports) -> tuple[float, tuple[str, ...]]:
    interval = contents.scalar("actual_sampling_interval")
    length = contents.scalar("actual_run_time_length")
    if interval is not None and interval > 0:
        return interval, _length_caution(interval, length, points, unit)
    if exports.sampling_interval_s:
        return exports.sampling_interval_s / 60 / MINUTES_IN[unit], ()
    if length is not None and length > 0 and points > 1:
        words = f"The file states no sampling interval; its run length of {length:g} {unit} was shared out"
        return length / (points - 1), (f"{words} over {points - 1} steps.",)
    raise contents.refusal(
        "actual_sampling_interval",
        "no interval" if interval is None else f"an interval of {interval:g} {unit}",
        "the time from point to point (or `sampling_interval_s` in [exports])",
    )


def _length_caution(interval: float, length: float | None, points: int, unit: str) -> tuple[str, ...]:
    """Return a caution where the run length fits neither N nor N − 1 steps: both are written."""
    if length is None or length <= 0 or (points - 1.5) * interval <= length <= (points + 0.5) * interval:
        return ()
    span = points * interval
    if abs(length / span - 1) < 0.01:  # runs stop by the clock, a little before or after the last point
        return ()
    words = f"The file states a run of {length:g} {unit}, its points and their interval make {span:g} {unit}"
    return (f"{words}; the interval was followed.",)


def _acquired_at(stamp: str) -> str:
    """Return `YYYYMMDDhhmmss±hhmm` as ISO 8601; empty where it is something else."""
    plain = re.sub(r"\s", "", stamp)
    for form in ("%Y%m%d%H%M%S%z", "%Y%m%d%H%M%S"):
        try:
            return datetime.strptime(plain, form).isoformat()
        except ValueError:
            continue
    return ""
