"""Until when a column ran, and until when it was seen: whatever is told of its end comes from here.

In: the study, which may state an end and its reason, and the measurements. Out: `End`s and their words.
"""

from dataclasses import dataclass

from lyewitness.peaks.records import Measurements
from lyewitness.study.events import ended_h
from lyewitness.study.records import Column, Study
from lyewitness.words.phrases import exposure, quoted

UNSEEN = 0.02
"""Share of the exposure by which an end must lie behind the last injection to be told apart from it: nobody
injects to the minute."""


@dataclass(frozen=True, slots=True)
class End:
    """Where the exposure of one column ended."""

    column: str
    seen_h: float
    """Exposure of its last counted injection, hours; 0 where there is none."""
    ran_h: float
    """Exposure at its stated end; of its last injection where none is stated, or it stands at no exposure."""
    is_stated: bool
    because: str = ""
    """Why it was ended, in the study's words."""
    left_out_after: bool = False
    """Whether it was injected once more behind its last counted injection, which was left out."""

    @property
    def last(self) -> str:
        """Return `last injection`, or what it is where one that was left out followed."""
        return "last counted injection" if self.left_out_after else "last injection"

    @property
    def why(self) -> str:
        """Return ` (“the bed was needed elsewhere”)`; nothing where no reason is stated."""
        return f" ({quoted(self.because)})" if self.because else ""

    @property
    def ran_on(self) -> bool:
        """Return whether the column ran on unseen behind its last injection."""
        return self.ran_h > (1 + UNSEEN) * self.seen_h

    @property
    def words(self) -> str:
        """Return `taken off at 92 h (“…”), last injection at 84 h`; of no stated end the injection alone."""
        seen = f"{self.last} at {exposure(self.seen_h)}"
        if not self.is_stated:
            return seen
        off = f"taken off at {exposure(self.ran_h)}{self.why}"
        return f"{off}, {seen}" if self.ran_on else off


def end_of(study: Study, measurements: Measurements, column: Column) -> End:
    """Return until when a column ran and was seen."""
    seen = max(
        (row.exposure_h for row in measurements.rows if row.used and row.column == column.id), default=0.0
    )
    rows = (row.exposure_h for row in measurements.rows if row.column == column.id)
    stated = ended_h(column, study.events)
    return End(
        column.id,
        seen,
        seen if stated is None else stated,
        column.ended is not None,
        column.because.strip(),
        max(rows, default=0.0) > seen,
    )
