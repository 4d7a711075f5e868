"""The times that questions ask about, as rules through the lives: does a column last three days?

In: the report's answers, axes of exposure whose heights are pixels from above. Out: rules with their words,
and a sentence for the caption.

A time far beyond what was run has no place on the axis: its words stand at the axis' end, with an arrow.
"""

from collections.abc import Iterable, Sequence

from matplotlib.axes import Axes

from lyewitness.figures.labels import CLEAR_PX, Words, clear_of
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import INK, Look
from lyewitness.findings.records import AskedSpan, Report
from lyewitness.words.phrases import hours, listed

DOTS = (1.5, 2.5)
"""px drawn and left free: limits are dashed, lives drop as whole lines."""
LEADING = 1.25
"""From line to line, in label sizes."""
BESIDE_PX = 5.0
"""From the rule to its words."""
WITHIN = 1.6
"""Times up to this multiple of what was run lengthen the axis; beyond, they would crush all else."""


def asked_about(report: Report, deciding: tuple[str, str], groups: Sequence[str]) -> tuple[AskedSpan, ...]:
    """Return the times that are asked about of these groups by this metric, the shortest first.

    `deciding` is the (marker, metric) by which the answer is given. A question about other groups has a
    figure of its own: what it asks is ruled there.
    """
    everyone = report.study.groups
    found = {
        round(span.hours, 6): span
        for answer in report.findings.answers
        if (answer.deciding if any(answer.deciding) else report.judgement.deciding) == deciding
        and set(answer.question.groups or everyone) & set(everyone) == set(groups)
        for span in answer.spans
    }
    return tuple(found[at] for at in sorted(found))


def end_with(asked: Iterable[AskedSpan], end_h: float, run_h: float) -> float:
    """Return the end of an axis that shows the asked times, as far as these are no crushing."""
    return max([end_h, *(1.03 * one.hours for one in asked if one.hours <= WITHIN * run_h)])


def head_px(asked: Sequence[AskedSpan], look: Look) -> float:
    """Return the room that the words take above what they rule through."""
    return LEADING * look.label_px * len(asked)


def words_of(span: AskedSpan) -> str:
    """Return `asked: three days (72 h)`."""
    as_hours = hours(span.hours)
    return f"asked: {as_hours}" if span.words == as_hours else f"asked: {span.words} ({as_hours})"


def draw_asked(
    above: Axes,
    asked: Sequence[AskedSpan],
    look: Look,
    top: float,
    bottom: float,
    sheet_px: float,
    written: Sequence[Words],
) -> None:
    """Draw each time as a dotted rule from below its words at `top` to `bottom`, past what is `written`.

    `above` has hours across and pixels of the sheet from above as heights, its own height included.
    """
    start, end = above.get_xlim()
    box, half = above.get_window_extent(), LEADING * look.label_px / 2
    rules, taken = [], [*written]
    for row, span in enumerate(asked):
        inside = start <= span.hours <= end
        words = words_of(span) if inside else f"{words_of(span)} →"
        at = min(span.hours, end)
        up = top + LEADING * look.label_px * (row + 0.55)
        across, wide = box.x0 + box.width * (at - start) / (end - start), look.words_width(words)
        fits = across + BESIDE_PX + wide <= sheet_px - 4
        above.annotate(
            words, (at, up), (BESIDE_PX if fits else -BESIDE_PX, 0), textcoords="offset points", color=INK,
            ha="left" if fits else "right", va="center_baseline", zorder=6, gid=HALOED, annotation_clip=False,
        )  # fmt: skip
        left = across + BESIDE_PX if fits else across - BESIDE_PX - wide
        taken.append(Words(left - CLEAR_PX, left + wide + CLEAR_PX, up - half, up + half))
        rules += [(span.hours, across, up - 0.5 * look.label_px)] if inside else []
    for at, across, up in rules:
        for piece in clear_of(taken, across, up, bottom):
            above.plot(
                [at] * 2, piece, color=INK, linewidth=1.4, dashes=DOTS, dash_capstyle="round", zorder=2.4,
                clip_on=False,
            )  # fmt: skip


def asked_told(asked: Sequence[AskedSpan]) -> str:
    """Return the sentence of the caption on what the rules are; nothing where nothing was asked."""
    if not asked:
        return ""
    told = listed(words_of(one).removeprefix("asked: ") for one in asked)
    return f"Dotted: the time that is asked about, {told}."
