"""What happened while the test ran, as lettered marks at the foot of every plot against exposure.

In: a study's events and the columns that are drawn. Out: marks on axes, and the words for their letters.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from string import ascii_lowercase

from matplotlib.axes import Axes

from lyewitness.figures.style import MUTED, Look
from lyewitness.study.events import event_hours
from lyewitness.study.records import Study
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, listed

TALL_PX = 7.0
"""Height of a mark: seen, and below most points."""
MOST_TOLD = 4
"""Moments of one kind that a caption lists; more are counted."""
SAME = 0.004
"""Share of the axis within which two moments fall on one mark: two pixels of a page's width."""


@dataclass(frozen=True, slots=True)
class EventMarks:
    """All events of one kind on the columns of one plot."""

    letter: str
    kind: str
    spans_h: tuple[tuple[float, float], ...]
    """Where each began and ended on the axis, hours of exposure; a pause begins and ends at one place."""


def event_marks(study: Study, columns: Iterable[str]) -> tuple[EventMarks, ...]:
    """Return the marks of all events that touched `columns`, one letter a kind, in the order of the study."""
    found: dict[str, set[tuple[float, float]]] = {}
    drawn = [study.column(column) for column in dict.fromkeys(columns)]
    for event in study.events:
        for column in drawn:
            placed = event_hours(event, column, study.events) if event.touches(column.id) else None
            if placed is not None:
                found.setdefault(event.kind, set()).add(placed)
    return tuple(
        EventMarks(letter, kind, tuple(sorted(spans)))
        for letter, (kind, spans) in zip(ascii_lowercase, found.items(), strict=False)
    )


def mark_events(axes: Axes, marks: Sequence[EventMarks], look: Look, lettered: bool = True) -> None:
    """Draw a tick for each event at the foot of `axes`, whose scale is set, and its letter above the tick.

    The scale is extended downwards to make room for letters; letters that would touch are written together;
    what lies beyond the axis is left out.
    """
    if not marks:
        return
    low, high = axes.get_xlim()
    sheet = axes.get_figure(root=True)
    wide = axes.get_position().width * (
        sheet.get_size_inches()[0] * 72 if sheet is not None else look.width_px
    )
    tall = axes.get_position().height * (sheet.get_size_inches()[1] * 72 if sheet is not None else 100.0)
    foot = axes.get_xaxis_transform()
    if lettered:
        bottom, top = axes.get_ylim()
        room = TALL_PX + look.label_px
        axes.set_ylim(bottom - (top - bottom) * room / max(tall - room, room), top)
    placed: list[tuple[float, str]] = []
    for mark in marks:
        for begin, end in _apart(mark.spans_h, SAME * (high - low)):
            if not low <= begin <= high:
                continue
            axes.plot(
                [begin, begin], [0, TALL_PX / tall], color=MUTED, linewidth=1.1, transform=foot, zorder=2
            )
            if end > begin:
                axes.plot([begin, min(end, high)], [0, 0], color=MUTED, linewidth=3, transform=foot, zorder=2)
            placed.append((begin, mark.letter))
    for hours, letters in _together(
        sorted(placed) if lettered else [], look.label_px * 0.8 * (high - low) / wide
    ):
        axes.annotate(
            letters, (hours, TALL_PX / tall), (0, 1), xycoords=foot, textcoords="offset points", color=MUTED,
            ha="center", va="bottom", fontsize=look.label_px * 0.8, zorder=2,
        )  # fmt: skip


def _apart(spans: Sequence[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Return spans whose beginnings lie apart: one event stands at nearly one place on each column."""
    kept: list[tuple[float, float]] = []
    for begin, end in spans:
        if kept and begin - kept[-1][0] < least:
            kept[-1] = (kept[-1][0], max(kept[-1][1], end))
        else:
            kept.append((begin, end))
    return kept


def _together(placed: Sequence[tuple[float, str]], least: float) -> list[tuple[float, str]]:
    """Join the letters that would touch, in their order along the axis."""
    joined: list[tuple[float, float, str]] = []
    for hours, letter in placed:
        if joined and hours - joined[-1][1] < least * len(joined[-1][2]):
            first, _, letters = joined[-1]
            joined[-1] = (first, hours, letters if letter in letters else letters + letter)
        else:
            joined.append((hours, hours, letter))
    return [((first + last) / 2, letters) for first, last, letters in joined]


def marks_told(marks: Sequence[EventMarks], lettered: bool = True) -> str:
    """Return the sentence that explains the marks; nothing where nothing is marked."""
    if not marks:
        return ""
    told = (f"{mark.letter}, {mark.kind}" if lettered else mark.kind for mark in marks)
    foot = "; ".join(f"{words} ({_when(mark)})" for words, mark in zip(told, marks, strict=True))
    return f"{'At' if lettered else 'Ticks at'} the foot: {foot}."


def _when(mark: EventMarks) -> str:
    end = max(end for _, end in mark.spans_h) or 1.0
    moments = [begin for begin, _ in _apart(mark.spans_h, 0.01 * end)]
    if len(moments) > MOST_TOLD:
        return counted(len(moments), "time")
    return with_unit(listed(stated(float(f"{moment:.3g}")) for moment in moments), "h")
