"""The answer as one picture for a talk: 1920 × 1080 pixels, read from the last row.

In: `Slide`, the lives, a `Look`, fonts. Out: a PNG, the same bytes on every run.

From above: the question, the answer as a headline, two lines of what it says further, the lives with what was
expected (where the data contradict it) and what to mind beside them, the table of what to do, the foot.
"""

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path

from PIL import Image, ImageDraw, ImageFont

from lyewitness.figures.style import Look
from lyewitness.findings.records import Report
from lyewitness.words.phrases import sentence, sentences_of

WIDE, HIGH = 1920, 1080
"""Pixels of a projector."""
EDGE = 72
"""Left free on every side: projectors cut edges off."""
WITHIN = WIDE - 2 * EDGE
QUESTION_HIGH, QUESTION_SIZES = 80, (28, 24, 20, 17)
"""It is known to those who asked: small, two lines of it."""
HEADLINE_SIZES, HEADLINE_LINES = (64, 58, 52), 2
"""A sentence that does not fit so is a headline up to one of its colons or semicolons, and goes on below."""
HEADLINE_WORDS = 4
"""Fewer say nothing by themselves: `No`."""
ANSWER_HIGH = 220
"""Most that a sentence may take that has no such place."""
ANSWER_SIZES = (46, 41, 37, 33, 30, 27, 24)
FURTHER_SIZES, FURTHER_LINES = (30, 28, 26, 24), 2
"""What the answer says further: whole sentences, the last left out first. The report has them."""
TABLE_SIZES = (27, 24, 21, 18, 16)
"""Pixels; the largest that fits is taken."""
READ_FROM_AFAR = 24
"""Pixels: a forty-fifth of the picture's height is what the last row of a room reads. Rather than in smaller
type, what stands beside the lives is told in fewer sentences."""
WIDER, LETTERED = (1.0, 1.3, 1.6), (1.0, 1.15, 1.3, 1.5)
"""Times the width and the letters of a page that the lives may have: the first whose words can be read from
afar, else what comes nearest."""
LEADING = 1.28
"""Lines of so many sizes of the type: long lines need more than a page of text does."""
LIVES_WIDE = 0.66
"""Share of the width that the lives take; what to mind stands beside them."""
GAP = 26
"""Pixels between parts, one line of the table."""


@dataclass(frozen=True, slots=True)
class Slide:
    """What the picture says."""

    question: str
    answer: str
    minds: tuple[tuple[str, str], ...]
    """(heading, text) of what stands beside the lives."""
    table: tuple[tuple[str, ...], ...]
    """Header first; the first cell of each row is a group."""
    note: str
    """What the words of the table mean."""
    foot: str
    contradicted: str = ""
    """What was expected, and that the data contradict it, where they do."""
    limit: str = ""
    """When a life ends …"""
    limit_told: str = ""
    """… and how the answer tells it, where it does."""
    invented: str = ""
    """That the study is invented, where it is: a picture travels without its report."""


@dataclass(frozen=True, slots=True)
class Faces:
    """Font files by use."""

    serif: Path
    sans: Path
    bold: Path


class _Canvas:
    """A picture that is written on from above."""

    def __init__(self, look: Look, faces: Faces) -> None:
        self.palette, self.faces = look.light, faces
        self.image = Image.new("RGB", (WIDE, HIGH), self.palette.ground)
        self.draw = ImageDraw.Draw(self.image)
        self.fonts: dict[tuple[Path, int], ImageFont.FreeTypeFont] = {}

    def font(self, face: Path, size: int) -> ImageFont.FreeTypeFont:
        """Return a face in a size."""
        if (face, size) not in self.fonts:
            # The plain layout takes widths after hinting, which makes a percent sign of 34 pixels 6 wide.
            self.fonts[face, size] = ImageFont.truetype(face, size, layout_engine=ImageFont.Layout.RAQM)
        return self.fonts[face, size]

    def lines(self, text: str, face: Path, size: int, width: float) -> list[str]:
        """Return `text` broken into lines of at most `width` pixels; a longer word stands alone."""
        font, lines = self.font(face, size), [""]
        for word in _plain(text).split(" "):
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and font.getlength(longer) > width:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

    def write(
        self, at: tuple[float, float], lines: Sequence[str], face: Path, size: int, colour: str
    ) -> float:
        """Write lines below each other; the result is where the next would begin."""
        left, top = at
        for line in lines:
            self.draw.text((left, top), line.replace(NO_BREAK, " "), colour, self.font(face, size))
            top += size * LEADING
        return top


NO_BREAK = "\u00a0"


def _plain(text: str) -> str:
    """Return `text` with blanks that faces of print have, at which a line still does not break."""
    return text.replace("\u2009", NO_BREAK).replace("\u202f", NO_BREAK)


def draw_slide(
    slide: Slide, report: Report, deciding: tuple[str, str], groups: Sequence[str], look: Look, faces: Faces
) -> bytes:
    """Return the PNG."""
    canvas = _Canvas(look, faces)
    ink, muted = canvas.palette.ink, canvas.palette.muted
    size, lines = _fitting(canvas, slide.question, faces.sans, QUESTION_SIZES, QUESTION_HIGH)
    top = canvas.write((EDGE, EDGE - 20), lines, faces.sans, size, muted)
    largest, told, further = _headline(canvas, slide.answer)
    top = canvas.write((EDGE, top + 4), told, faces.serif, largest, ink)
    if further:
        size, lines = _further(canvas, further)
        top = canvas.write((EDGE, top + 6), lines, faces.serif, min(size, largest), ink)
        told += lines
    is_told = bool(slide.limit_told) and _plain(slide.limit_told) in " ".join(told)
    top += GAP
    foot_top = HIGH - EDGE + 14
    invented = canvas.lines(slide.invented, faces.sans, 18, WITHIN)[:1] if slide.invented else []
    canvas.write((EDGE, foot_top), [_plain(slide.foot), *invented], faces.sans, 18, muted)
    order = report.study.groups
    colours = {
        group: canvas.palette.groups[order.index(group) % len(canvas.palette.groups)] for group in order
    }
    shapes = {group: look.group(order.index(group)).mark for group in order}
    table_top = _table(canvas, slide, foot_top - 14, 0.42 * (foot_top - top), colours, shapes)
    below = _limit(canvas, "" if is_told else slide.limit, top)
    _lives(canvas, report, deciding, groups, look, (below, table_top - GAP))
    _minds(canvas, slide, (top, table_top - GAP))
    written = io.BytesIO()
    canvas.image.save(written, "PNG", compress_level=9)
    return written.getvalue()


def _fitting(
    canvas: _Canvas, text: str, face: Path, sizes: Sequence[int], high: float
) -> tuple[int, list[str]]:
    """Return the largest size in which `text` is at most `high` pixels tall, else the smallest; its lines."""
    for size in sizes:
        lines = canvas.lines(text, face, size, WITHIN)
        if len(lines) * size * LEADING <= high:
            break
    return size, lines


def _headline(canvas: _Canvas, answer: str) -> tuple[int, list[str], list[str]]:
    """Return size and lines of the headline, and the sentences that follow it.

    It is the answer's first sentence; where that takes more than two lines of the largest type, as much of it
    as they hold, up to a colon or a semicolon; the rest of it then follows first, so that nothing is taken
    out of what limits it.
    """
    first, *others = sentences_of(answer)
    parts = [(found.start(), found.end()) for found in re.finditer(r"[:;] (?![^()]*\))", first)]
    cuts = [(first, "")]
    cuts += [(first[:begins], sentence(first[ends:])) for begins, ends in reversed(parts)]
    for head, rest in cuts:
        if rest and len(head.split()) < HEADLINE_WORDS:
            continue
        for size in HEADLINE_SIZES:
            lines = canvas.lines(head.rstrip("."), canvas.faces.serif, size, WITHIN)
            if len(lines) <= HEADLINE_LINES:
                return size, _even(canvas, lines, size), [*([rest] if rest else []), *others]
    return *_fitting(canvas, first, canvas.faces.serif, ANSWER_SIZES, ANSWER_HIGH), others


def _even(canvas: _Canvas, lines: list[str], size: int) -> list[str]:
    """Return the same words on as many lines, broken at a colon or semicolon, else as even as can be."""
    shares = (0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9)
    broken = [canvas.lines(" ".join(lines), canvas.faces.serif, size, share * WITHIN) for share in shares]
    even = [one for one in broken if len(one) == len(lines)]
    return next((one for one in even if one[0].endswith((";", ":"))), even[0] if even else lines)


def _further(canvas: _Canvas, sentences: Sequence[str]) -> tuple[int, list[str]]:
    """Return size and lines of as many of the sentences as two lines hold, the first of them in any case.

    One that two lines do not hold in letters that can be read from afar has a third before smaller ones.
    """
    for many in range(len(sentences), 0, -1):
        alone = (
            [(size, FURTHER_LINES + 1) for size in (FURTHER_SIZES[-1], *TABLE_SIZES[2:])] if many == 1 else []
        )
        for size, most in (*((size, FURTHER_LINES) for size in FURTHER_SIZES), *alone):
            lines = canvas.lines(" ".join(sentences[:many]), canvas.faces.serif, size, WITHIN)
            if len(lines) <= most:
                return size, lines
    return size, lines


def _limit(canvas: _Canvas, limit: str, top: float) -> float:
    """Write above the lives when one ends; the result is where they begin."""
    if not limit:
        return top
    lines = canvas.lines(limit, canvas.faces.sans, READ_FROM_AFAR, LIVES_WIDE * WITHIN)
    return canvas.write((EDGE, top), lines, canvas.faces.sans, READ_FROM_AFAR, canvas.palette.ink) + GAP / 4


def _lives(
    canvas: _Canvas, report: Report, deciding: tuple[str, str], groups: Sequence[str], look: Look,
    between: tuple[float, float],
) -> None:  # fmt: skip
    """Draw the lives as large as the room allows."""
    # What draws takes long to load, and most builds draw no picture for a talk.
    from lyewitness.figures.asked_times import asked_about
    from lyewitness.figures.lives import lives_drawn, lives_sheet
    from lyewitness.figures.sheets import applied, pixels

    # The picture answers the first question alone.
    drawn = lives_drawn(report, deciding, groups, report.findings.answers[0])
    if not drawn.lives:
        return
    top, bottom = between
    wide, high = LIVES_WIDE * WITHIN, bottom - top
    own = report.findings.answers[0].spans
    asked = tuple(span for span in asked_about(report, deciding, groups) if span in own)
    order = report.study.groups
    shown = (drawn.lives, drawn.declines, order)
    forms = []
    for wider, larger in product(WIDER, LETTERED):
        form = replace(look, width_px=round(wider * look.width_px), label_px=larger * look.label_px)
        with applied(form):
            _, height = lives_sheet(*shown, form, asked, drawn.elsewhere, drawn.ended)
        scale = min(wide / form.width_px, high / height)
        forms.append((min(READ_FROM_AFAR, scale * form.label_px), scale, form))
        if forms[-1][0] == READ_FROM_AFAR:
            break
    _, scale, form = max(forms, key=lambda one: one[0])
    # Many groups make it low rather than narrow: the axis keeps its length.
    form = replace(form, width_px=round(wide / scale))
    with applied(form):
        sheet, _ = lives_sheet(*shown, form, asked, drawn.elsewhere, drawn.ended)
        picture = pixels(sheet, look.light, scale)
    # Few groups leave room above and below: it is shared out.
    canvas.image.paste(picture, (EDGE, round(top + (high - picture.height) / 2)))


def _minds(canvas: _Canvas, slide: Slide, between: tuple[float, float]) -> None:
    """Write what was expected, if it fell, and what to mind beside the lives, in the largest type that fits.

    What was expected is told whole. Before the rest would be smaller than can be read from afar, the last
    sentences of what has the most are left out: the report has them. Smaller is only what no longer has a
    sentence to leave out.
    """
    top, bottom = between
    left = EDGE + LIVES_WIDE * WITHIN + 56
    width, faces = WIDE - EDGE - left, canvas.faces
    sentences = {head: sentences_of(text) for head, text in slide.minds}
    fallen = {"": [slide.contradicted]} if slide.contradicted else {}
    sentences = fallen | sentences
    first = next(iter(slide.minds), ("", ""))[0]
    sizes = iter(TABLE_SIZES)
    size = next(sizes)
    while True:
        told = {head: canvas.lines(" ".join(one), faces.sans, size, width) for head, one in sentences.items()}
        rows = sum(bool(head) + len(lines) for head, lines in told.items())
        high = rows * size * LEADING + len(told) * GAP / 2
        spare = [head for head, one in sentences.items() if len(one) > 1]
        if high <= bottom - top:
            break
        if size <= READ_FROM_AFAR and spare:
            # Two of what weighs most stay the longest.
            few = 2
            longest = max(spare, key=lambda head: (n := len(sentences[head]), (head == first) == (n > few)))
            sentences[longest] = sentences[longest][:-1]
        elif smaller := next(sizes, None):
            size = smaller
        else:
            break
    for head, lines in told.items():
        if head:
            top = canvas.write((left, top), [head], faces.bold, size, canvas.palette.ink)
        top = canvas.write((left, top), lines, faces.sans, size, canvas.palette.ink) + GAP / 2


POLYGONS: Mapping[str, Sequence[tuple[float, float]]] = {
    "s": ((-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)),
    "^": ((0, -1), (1, 0.9), (-1, 0.9)),
    "v": ((0, 1), (1, -0.9), (-1, -0.9)),
    "D": ((0, -1.1), (1.1, 0), (0, 1.1), (-1.1, 0)),
    "P": (
        (-0.4, -1), (0.4, -1), (0.4, -0.4), (1, -0.4), (1, 0.4), (0.4, 0.4), (0.4, 1), (-0.4, 1), (-0.4, 0.4),
        (-1, 0.4), (-1, -0.4), (-0.4, -0.4),
    ),
    "X": (
        (0, -0.5), (0.5, -1), (1, -0.5), (0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5), (-0.5, 1), (-1, 0.5),
        (-0.5, 0), (-1, -0.5), (-0.5, -1),
    ),
}  # fmt: skip
"""Corners of the marks of groups by their names in a look, in half widths; what is not here is round."""
FINER = 4
"""Marks are drawn so many times larger and made smaller: the drawing library knows no smooth edge."""


def _mark(canvas: _Canvas, middle: tuple[float, float], half: float, shape: str, colour: str) -> None:
    """Draw the mark of a group as its figures have it."""
    side = round(2.4 * half)
    stencil = Image.new("L", (side * FINER, side * FINER))
    own = ImageDraw.Draw(stencil)
    centre, reach = side * FINER / 2, half * FINER
    if shape in POLYGONS:
        own.polygon([(centre + reach * x, centre + reach * y) for x, y in POLYGONS[shape]], 255)
    else:
        own.ellipse((centre - reach, centre - reach, centre + reach, centre + reach), 255)
    at = (round(middle[0] - side / 2), round(middle[1] - side / 2))
    canvas.image.paste(colour, at, stencil.resize((side, side), Image.Resampling.LANCZOS))


def _table(
    canvas: _Canvas,
    slide: Slide,
    bottom: float,
    high: float,
    colours: Mapping[str, str],
    shapes: Mapping[str, str],
) -> float:
    """Write the table with its last line at `bottom`, at most `high` tall; the result is where it begins."""
    faces, palette = canvas.faces, canvas.palette
    for size in TABLE_SIZES:
        widths = _widths(canvas, slide.table, size)
        row, note = size * 1.6, size * 0.75 * LEADING
        if sum(widths) <= WITHIN and len(slide.table) * row + note <= high:
            break
    top = bottom - len(slide.table) * row - note - 6
    begins = top
    for place, cells in enumerate(slide.table):
        left, face = float(EDGE), faces.sans if place else faces.bold
        for column, (text, width) in enumerate(zip(cells, widths, strict=True)):
            if place and not column:
                middle = (left + size * 0.35, top + size * 0.66)
                _mark(canvas, middle, size * 0.33, shapes[text], colours[text])
            shift = size * 1.05 if not column else 0
            room = width - shift - size
            line = canvas.lines(text, face, size, room)[0] if sum(widths) > WITHIN else _plain(text)
            canvas.write((left + shift, top), [line], face, size, palette.ink)
            left += width
        top += row
        colour = palette.muted if not place else palette.faint
        canvas.draw.line((EDGE, top - row * 0.14, WIDE - EDGE, top - row * 0.14), colour, 1 if place else 2)
    canvas.write((EDGE, top), [_plain(slide.note)], faces.sans, round(size * 0.75), palette.muted)
    return begins


def _widths(canvas: _Canvas, table: Sequence[Sequence[str]], size: int) -> list[float]:
    """Return the width of each column; what is over is shared out."""
    font = canvas.font(canvas.faces.bold, size)
    own = [max(font.getlength(_plain(row[place])) for row in table) for place in range(len(table[0]))]
    own = [one + size * (2.0 if not place else 1.2) for place, one in enumerate(own)]
    spare = max(0.0, WITHIN - sum(own)) / len(own)
    return [one + spare for one in own]
