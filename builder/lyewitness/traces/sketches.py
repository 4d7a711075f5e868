"""Chromatograms as lines of block signs, for a terminal: one above the other on common axes.

In: traces. Out: lines of text.
"""

from collections.abc import Mapping

import numpy as np

from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

BLOCKS = "▁▂▃▄▅▆▇█"
WIDE = 60
"""Signs of a line: with its label it fits into 80, the width of a terminal that says none."""


def sketches(traces: Mapping[str, Trace]) -> tuple[str, ...]:
    """Return one line a trace, labelled by its key, and the times at both ends below.

    Time and height are common to all lines; zero is each trace's own median, for most of a chromatogram is
    baseline. Each sign shows the tallest value of its share of the time; a blank, that nothing was recorded.
    """
    end = max(float(trace.time_min[-1]) for trace in traces.values())
    end = end if end > 0 else 1.0  # what ended before the injection leaves its line blank
    heights = {label: _tallest(trace, end) for label, trace in traces.items()}
    top = max(float(np.nan_to_num(values).max()) for values in heights.values())
    wide = max(len(label) for label in traces)
    lines = [f"{label:<{wide}} {_blocks(values, top)}" for label, values in heights.items()]
    foot = f"{end:.3g} min"
    return (*lines, f"{'':<{wide}} 0{foot:>{WIDE - 1}}")


def _tallest(trace: Trace, end: float) -> FloatArray:
    """Return (WIDE,) the greatest height above the median in each share of the time; NaN where nothing is."""
    share = np.minimum((trace.time_min / end * WIDE).astype(int), WIDE - 1)
    values = np.full(WIDE, -np.inf)
    inside = (share >= 0) & np.isfinite(trace.signal)
    np.maximum.at(values, share[inside], trace.signal[inside] - np.nanmedian(trace.signal))
    known = np.flatnonzero(np.isfinite(values))
    if not known.size:
        return np.full(WIDE, np.nan)
    places = np.arange(WIDE)
    return np.asarray(np.interp(places, known, values[known], left=np.nan, right=np.nan))


def _blocks(values: FloatArray, top: float) -> str:
    """Return a line of block signs; `top` fills one."""
    steps = np.clip(
        np.nan_to_num(values / (top if top > 0 else 1.0)) * len(BLOCKS), 0, len(BLOCKS) - 1
    ).astype(int)
    signs = (" " if np.isnan(value) else BLOCKS[step] for value, step in zip(values, steps, strict=True))
    return "".join(signs)
