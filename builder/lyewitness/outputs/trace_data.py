"""Traces as compact integers that the viewer loads when it is asked to show them.

In: traces. Out: JSON a column, which a script assigns to a constant.

A file opened from the disk may load a classic script but fetch nothing; so the data are a script.
Times and signals are counted in steps (`time_step_min`, `signal_step`), differenced, folded so that small
negative numbers stay small (zigzag), packed seven bits a byte, and written in base 64.
"""

import json
from base64 import b64encode
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TypedDict

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.document.edition import Edition
from lyewitness.document.following import trace_script
from lyewitness.sheaves import Binding, Sheaf, bound
from lyewitness.store import NO_STORE, Store
from lyewitness.traces.records import Trace, trace_key
from lyewitness.words.arrays import FloatArray

IntArray = NDArray[np.int64]

MOST_POINTS = 2400
"""Points kept of one trace: more than any screen has pixels across."""
NEAR_BINS = 2
"""Bins to either side that a bin shares its range with: an apex is hardly wider than one."""
# 0.6 ms: a hundredth of a step at 16 points a second.
TIME_STEP_MIN = 1e-5
SIGNAL_STEPS = 20000
"""Steps from the lowest to the highest signal of one trace."""


class PackedTrace(TypedDict):
    """One trace as the viewer reads it."""

    n: int
    """Points kept."""
    of: int
    """Points that there were."""
    dt: float
    """Step of the times, min."""
    y0: float
    """Lowest signal."""
    dy: float
    """Step of the signals."""
    t: str
    """Times: second differences in steps, coded."""
    y: str
    """Signals: differences in steps, coded."""


class PackedInjection(PackedTrace):
    """The trace of an injection with what was named on it."""

    unit: str
    peaks: list[tuple[str, float, float]]
    """Marker, apex time in minutes, signal at the apex."""


TOGETHER = 25
"""Traces of a column that are packed in one go: one more leaves all but the last of these as they were."""
Named = tuple[str, float, float]
"""Marker, apex time in minutes, signal at the apex."""
Own = tuple[str, Trace, list[Named]]
"""An injection, its trace, what was named on it."""


def traces_of(edition: Edition, store: Store = NO_STORE) -> Iterator[tuple[str, object, Callable[[], str]]]:
    """Yield the path of each column's script, what tells it, its traces as JSON that may stand in HTML.

    Those that were packed before come from `store`.
    """
    study, traces = edition.report.study, edition.report.traces
    by_column: dict[str, list[Own]] = {column.id: [] for column in study.columns}
    for one in study.injections:
        if one.id in traces:
            by_column[one.column].append((one.id, traces[one.id], _named_on(edition, one.id)))
    for name, own in by_column.items():
        runs = [own[first : first + TOGETHER] for first in range(0, len(own), TOGETHER)]
        keys = [[(one, trace_key(trace), peaks) for one, trace, peaks in run] for run in runs]
        # How the files were read is part of what a trace is.
        bindings = [
            Binding((study.exports, key), partial(_json, run)) for key, run in zip(keys, runs, strict=True)
        ]
        sheaves = list(bound("packed", bindings, len, store))
        yield trace_script(edition, name), (study.exports, keys), partial(_of_column, name, sheaves)


def _of_column(column: str, sheaves: Sequence[Sheaf[int, str]]) -> str:
    """Return the traces of a column as JSON."""
    name = json.dumps(column, ensure_ascii=True).replace("<", "\\u003c")
    return f"{{{name}:{{{','.join(one.whole() for one in sheaves)}}}}}"


def _named_on(edition: Edition, injection: str) -> list[Named]:
    """Return the peaks that were named on a trace."""
    return [
        (row.marker, row.outline.apex_min, row.outline.apex_signal)
        for row in edition.rows.get(injection, ())
        if row.outline is not None
    ]


def _json(own: Sequence[Own]) -> str:
    """Return traces, each with the peaks that were named on it, as the inside of a JSON object."""
    told: dict[str, PackedInjection] = {
        name: {**packed(trace), "unit": trace.signal_unit, "peaks": peaks} for name, trace, peaks in own
    }
    text = json.dumps(told, ensure_ascii=True, separators=(",", ":"))
    return text[1:-1].replace("<", "\\u003c")


def packed(trace: Trace) -> PackedTrace:
    """Return one trace as integers in base 64, with the steps in which they count."""
    time, signal = thinned(trace.time_min, trace.signal)
    lowest, highest = float(signal.min()), float(signal.max())
    step = (highest - lowest) / SIGNAL_STEPS or 1.0
    times = np.rint(time / TIME_STEP_MIN).astype(np.int64)
    levels = np.rint((signal - lowest) / step).astype(np.int64)
    return {
        "n": int(time.size),
        "of": int(trace.time_min.size),
        "dt": TIME_STEP_MIN,
        "y0": lowest,
        "dy": step,
        "t": _coded(np.diff(np.diff(times, prepend=0), prepend=0)),
        "y": _coded(np.diff(levels, prepend=0)),
    }


def thinned(time: FloatArray, signal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return at most `MOST_POINTS` points: of every bin the lowest and the highest, so no peak is lost.

    Bins are short where the signal moves, down to two points: seen closely, an apex has no corners that the
    detector did not see.
    """
    if time.size <= MOST_POINTS:
        return time, signal
    edges = _edges(signal, MOST_POINTS // 2)
    starts, lengths = edges[:-1], np.diff(edges)
    lowest = np.repeat(np.minimum.reduceat(signal, starts), lengths)
    highest = np.repeat(np.maximum.reduceat(signal, starts), lengths)
    own_bin = np.repeat(np.arange(starts.size), lengths)
    kept = np.zeros(time.size, dtype=bool)
    kept[[0, -1]] = True
    for extreme in (lowest, highest):
        places = np.flatnonzero(signal == extreme)
        # The first of several that are as low or as high; bins come in order.
        kept[places[np.diff(own_bin[places], prepend=-1) > 0]] = True
    return time[kept], signal[kept]


def _edges(signal: FloatArray, most: int) -> IntArray:
    """Return the edges of at most `most` bins: half of them equally long, then cut by how far each ranges."""
    wide = np.linspace(0, signal.size, most // 2 + 1).astype(np.int64)
    lengths = np.diff(wide)
    ranges = np.maximum.reduceat(signal, wide[:-1]) - np.minimum.reduceat(signal, wide[:-1])
    # The flat top of a peak counts as its flanks do.
    moved = scipy.ndimage.maximum_filter1d(ranges, 2 * NEAR_BINS + 1)
    low, high = 0.0, most / (float(moved[moved > 0].min(initial=np.inf)) or 1.0)
    # 30 halvings find a share to a billionth.
    for _ in range(30):
        share = (low + high) / 2
        fits = int(_cuts(moved, lengths, share).sum()) <= most
        low, high = (share, high) if fits else (low, share)
    cuts = _cuts(moved, lengths, low)
    own = np.repeat(np.arange(cuts.size), cuts)
    place = np.arange(own.size) - np.repeat(np.cumsum(cuts) - cuts, cuts)
    return np.append(wide[own] + place * lengths[own] // cuts[own], signal.size)


def _cuts(moved: FloatArray, lengths: IntArray, share: float) -> IntArray:
    """Return into how many bins each is cut: as it moves, with two points at least in each."""
    return np.clip(moved * share, 1, np.maximum(lengths // 2, 1)).astype(np.int64)


def _coded(differences: IntArray) -> str:
    """Return integers as zigzag varints in base 64."""
    folded = np.where(differences < 0, -2 * differences - 1, 2 * differences)
    lengths = np.ones(folded.size, dtype=np.int64)
    for sevens in range(1, 9):
        lengths += folded >> (7 * sevens) > 0
    ends = np.cumsum(lengths)
    packed_bytes = np.zeros(int(ends[-1]) if folded.size else 0, dtype=np.uint8)
    for place in range(int(lengths.max(initial=0))):
        some = lengths > place
        more = np.where(lengths[some] > place + 1, 128, 0)
        at = ends[some] - lengths[some] + place
        packed_bytes[at] = (folded[some] >> (7 * place) & 127) | more
    return b64encode(packed_bytes.tobytes()).decode("ascii")
