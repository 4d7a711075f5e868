"""lyewitness: from a column-stability study folder to an answer that can be checked.

import lyewitness

study = lyewitness.read("my_study")
study.answer
study.tables()["decline"]
study.figure("lives")
"""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from lyewitness.notebook import StudyReport
    from lyewitness.traces.records import Trace

__all__ = ["__version__", "read", "read_trace"]
__version__ = "0.1.0"
RELEASES = ("0.1.0",)
"""Every version that there has been, this one last: README.md tells what changed."""

# The stages take a second to load: whoever wants the version alone does not wait for them.


def read(folder: str | Path, theme: str | Path = "daylight") -> "StudyReport":
    """Compute the report of the study in `folder` and return it; nothing is written.

    `theme` gives the figures their look: a name that ships, or a folder. Raises StudyFolderError with every
    problem of the folder at once: each says where it is, what was found and what to do.
    """
    from lyewitness.notebook import read_study_report

    return read_study_report(Path(folder), theme)


def read_trace(
    file: str | Path,
    trace: str = "",
    *,
    time_unit: Literal["", "min", "s", "h", "ms"] = "",
    signal_unit: str = "",
    sampling_interval_s: float | None = None,
) -> "Trace":
    """Return one chromatogram of an export, whatever its format: `time_min` (n,) and `signal` (n,), n ≥ 2.

    Times are minutes and rise strictly; the signal is finite, in `signal_unit` of the result. `trace` is the
    name of the one wanted where the file holds several; the units and the interval are what the file itself
    does not say. Raises StudyFolderError where the file cannot be read, or none or several traces answer.
    """
    from lyewitness.notebook import read_one_trace

    return read_one_trace(Path(file), trace, time_unit, signal_unit, sampling_interval_s)
