"""What every reader hands over, before the common rules make a `Trace` of it.

In: arrays and words as they stand in the file. Out: `Draft`, its unit of time, or the error of a file that
cannot be read.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import Problem, StudyFolderError

MINUTES_IN: Mapping[str, float] = {"ms": 1 / 60_000, "s": 1 / 60, "min": 1.0, "h": 60.0}
"""Minutes in one unit of time."""

_WORDS: Mapping[str, str] = {
    word: unit
    for unit, words in {
        "ms": "ms msec msecs millisecond milliseconds millisekunde millisekunden milliseconde millisecondes",
        "s": "s sec secs second seconds sek sekunde sekunden seconde secondes segundo segundos secondi",
        "min": "min mins minute minutes minuten minuto minutos minuti",
        "h": "h hr hrs hour hours std stunde stunden heure heures hora horas ore",
    }.items()
    for word in words.split()
}


def unit_of_time(word: str) -> str:
    """Return the unit that `word` names, a key of `MINUTES_IN`; empty where it names none."""
    return _WORDS.get(re.sub(r"[\s\0.()\[\]]+", "", word).casefold(), "")


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
    """A key of `MINUTES_IN`."""
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
