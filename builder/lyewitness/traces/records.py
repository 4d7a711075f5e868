"""A chromatogram as the later stages see it.

In: arrays and units that a reader took from one file. Out: `Trace`.
"""

from dataclasses import dataclass

import numpy as np

from lyewitness.words.arrays import FloatArray

GAP_STEPS = 20.0
"""A distance between two points that is so many times the usual one is a gap in what was recorded: uneven
sampling, as of detectors that skip flat stretches by half, stays far below."""


@dataclass(frozen=True, eq=False, slots=True)
class Trace:
    """One detector trace; both arrays are read-only, of the same length n ≥ 2."""

    file: str
    """Path below the study folder, with `/`."""
    name: str
    """Name of the trace in its file; empty where the file holds one without a name."""
    time_min: FloatArray
    """(n,) times in minutes, strictly increasing."""
    signal: FloatArray
    """(n,) signal in `signal_unit`, finite."""
    signal_unit: str
    """As the file or `[exports]` states it; empty where nowhere stated."""
    time_unit: str
    """Unit of time in the file, before it became minutes."""
    format: str
    """Which reader took it, by its `FORMAT`, such as `mzML`."""
    sha256: str
    """SHA-256 of the file as it lies on disk."""
    acquired_at: str = ""
    """ISO 8601 time stamp of the file; empty where it has none."""
    stamp_words: str = ""
    """What looks like a time stamp, as it stands in a text, read surely or not; empty where nothing does."""
    cautions: tuple[str, ...] = ()
    """What the reader had to assume or repair, a sentence each."""
    points: str = ""
    """Digest of times and signal: two files of one trace have it alike, whatever stands above the numbers."""
    names: frozenset[str] = frozenset()
    """Words at the head of the file by which it may name its injection, in small letters."""

    @property
    def gaps_min(self) -> tuple[tuple[float, float], ...]:
        """Begin and end of every stretch within the trace of which nothing was recorded, minutes."""
        steps = np.diff(self.time_min)
        places = np.flatnonzero(steps > GAP_STEPS * np.median(steps))
        return tuple((float(self.time_min[at]), float(self.time_min[at + 1])) for at in places)

    @property
    def end_min(self) -> float:
        """Time of the last point, minutes."""
        return float(self.time_min[-1])


def trace_key(trace: Trace) -> tuple[str, ...]:
    """Return what tells a trace's content: its file's bytes, which of the file, its units."""
    return trace.file, trace.sha256, trace.name, trace.signal_unit, trace.time_unit
