"""What every reader hands over, before the common rules make a `Trace` of it.

In: arrays and words as they stand in the file. Out: `Draft`, or the error of a file that
cannot be read.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import Problem, StudyFolderError


def unreadable(file: str, place: str, found: str, expected: str, cure: str) -> StudyFolderError:
    """Return the error for a file that cannot be read; `place` is a line, a variable or an element."""
    return StudyFolderError((Problem("error", file, place, found, expected, cure),))


def shortened(text: str, length: int = 40) -> str:
    """Return `text` fit to be quoted in a message: one line, printable, at most `length` characters."""
    plain = "".join(sign if sign.isprintable() else "·" for sign in " ".join(text.split()))
    return plain if len(plain) <= length else plain[: length - 1] + "…"


Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False, slots=True)
class Draft:
    """One trace as the file holds it: times in `time_unit`, points perhaps missing or out of order."""

    time: FloatArray
    """(n,) times in `time_unit`; NaN where the file has none."""
    signal: FloatArray
    """(n,) signal; NaN where the file has none."""
    time_unit: str
    """A key of `time_units.MINUTES_IN`."""
    signal_unit: str = ""
    """As the file states it; empty where it does not."""
    name: str = ""
    """Name of the trace in its file."""
    acquired_at: str = ""
    """ISO 8601; empty where the file has none."""
    cautions: tuple[str, ...] = ()
    point_word: str = "point"
    """What the numbers in `point_numbers` count: `line` or `point`."""
    point_numbers: Sequence[int] = ()
    """(n,) the place of every point in the file; empty for 1 … n."""

    def place(self, index: int) -> str:
        """Return where the point of that index stands in the file, such as `line 12`."""
        number = self.point_numbers[index] if len(self.point_numbers) else index + 1
        return f"{self.point_word} {number}"

    def at(self, indices: Indices) -> "Draft":
        """Return the draft with the points at `indices` alone, in their order."""
        numbers = self.point_numbers or range(1, self.time.size + 1)
        return replace(
            self,
            time=self.time[indices],
            signal=self.signal[indices],
            point_numbers=[numbers[index] for index in indices.tolist()],
        )

    def with_caution(self, *cautions: str) -> "Draft":
        """Return the draft with further cautions."""
        return replace(self, cautions=(*self.cautions, *cautions))
