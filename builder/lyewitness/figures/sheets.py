"""Sheets of paper to draw on, in pixels, and how they become SVG for a light and a dark ground.

In: a `Look`. Out: matplotlib sheets and axes to draw on, and their bytes, the same on every run. Nothing
else in the program touches matplotlib's settings.

Figures are drawn once, in pigments: fixed colour codes that stand for a role (ink, ground, the third
group). `finished` puts a palette's colours in their place, so light and dark cannot differ in anything else.

Axes get quiet spines, words above them, a second scale, a key to the lines.
"""

import io
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import matplotlib.style
import numpy as np
from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.colors import to_hex
from matplotlib.figure import Figure as Sheet
from matplotlib.text import Annotation
from matplotlib.ticker import Formatter, MaxNLocator
from numpy.typing import ArrayLike
from PIL import Image

from lyewitness.decline.records import Series
from lyewitness.figures.axes import axes_at
from lyewitness.figures.lettering import remembered_words
from lyewitness.figures.slimming import slimmed, without_idle_channels
from lyewitness.figures.style import (
    ACCENT,
    FAINT,
    GROUND,
    GROUP,
    INK,
    MUTED,
    SIGNS_FONT,
    GroupInk,
    Look,
    Palette,
    register_fonts,
)  # fmt: skip
from lyewitness.words.numbers import fixed, stated

_PIGMENT = re.compile(rb"#0(?:10101|20202|30303|40404|50505|606[0-9a-f]{2})")
_SVG_TAG = re.compile(rb'<svg [^>]*?viewBox="([^"]*)"[^>]*>')


@contextmanager
def applied(look: Look) -> Iterator[None]:
    """Draw with this look whatever settings the machine or the caller has; puts them back after."""
    register_fonts()
    with matplotlib.style.context(["default", _settings(look)]), remembered_words():
        yield


def new_sheet(width_px: float, height_px: float) -> Sheet:
    """Return an empty sheet whose unit of length is the CSS pixel."""
    return Sheet(figsize=(width_px / 72, height_px / 72), dpi=72)


def panel(sheet: Sheet, left: float, top: float, width: float, height: float) -> Axes:
    """Return axes placed in pixels from the top left corner of `sheet`, without a frame."""
    wide, high = sheet.get_size_inches() * 72
    return axes_at(sheet, (left / wide, 1 - (top + height) / high, width / wide, height / high))


def finished(sheet: Sheet, look: Look) -> tuple[bytes, bytes]:
    """Return the SVG of `sheet` for a light and for a dark ground; the same bytes on every run."""
    FigureCanvasSVG(sheet)
    buffer = io.BytesIO()
    sheet.savefig(buffer, format="svg", metadata=dict.fromkeys(("Date", "Creator", "Format", "Type")))
    drawn = _plain_head(buffer.getvalue(), *(round(side * 72) for side in sheet.get_size_inches()))
    drawn = without_idle_channels(slimmed(drawn))
    # An interpolated image inside an SVG would make an archival PDF invalid (ISO 19005-3, 6.2.8).
    drawn = drawn.replace(b"<image ", b'<image image-rendering="optimizeSpeed" ')
    return painted(drawn, look.light), painted(drawn, look.dark)


def pixels(sheet: Sheet, palette: Palette, scale: float) -> Image.Image:
    """Return `sheet` as a picture in the colours of `palette`, `scale` pixels to a pixel of the drawing."""
    canvas = FigureCanvasAgg(sheet)
    sheet.set_dpi(72 * scale)
    # Ticks are made when they are first drawn; only then can all be painted.
    canvas.draw()  # type: ignore[no-untyped-call]
    things = sheet.findobj()
    # An annotation keeps its arrow to itself.
    arrows = [one.arrow_patch for one in things if isinstance(one, Annotation) and one.arrow_patch]
    for thing in (*things, *arrows):
        for part in ("color", "facecolor", "edgecolor", "markerfacecolor", "markeredgecolor"):
            _paint(thing, part, palette)
    canvas.draw()  # type: ignore[no-untyped-call]
    drawn = canvas.buffer_rgba()  # type: ignore[no-untyped-call]
    return Image.frombytes("RGBA", canvas.get_width_height(), drawn.tobytes()).convert("RGB")


def _paint(thing: Any, part: str, palette: Palette) -> None:
    """Put the palette's colour in the place of a pigment; what has none of it, or another colour, stays."""
    read, write = getattr(thing, f"get_{part}", None), getattr(thing, f"set_{part}", None)
    if read is None or write is None:
        return
    colour = np.asarray(read(), dtype=object)
    if colour.ndim > 1:
        colour = colour[0] if len(colour) else np.asarray("none", dtype=object)
    said = to_hex(tuple(colour)) if colour.ndim else to_hex(str(colour)) if str(colour) != "none" else ""
    if _PIGMENT.fullmatch(said.encode()):
        write(colour_of(said, palette))


def painted(drawn: bytes, palette: Palette) -> bytes:
    """Return `drawn` with the colours of `palette` in place of the pigments."""
    return _PIGMENT.sub(lambda found: colour_of(found.group().decode(), palette).encode(), drawn)


def colour_of(pigment: str, palette: Palette) -> str:
    """Return the colour that `palette` has for a pigment."""
    if pigment.startswith(GROUP):
        return palette.groups[int(pigment[-2:], 16)]
    roles = {
        GROUND: palette.ground,
        INK: palette.ink,
        MUTED: palette.muted,
        FAINT: palette.faint,
        ACCENT: palette.accent,
    }
    return roles[pigment]


def _plain_head(svg: bytes, width: int, height: int) -> bytes:
    """Leave out the prologue, and state the size in pixels: what a page needs and no more."""
    body = svg[svg.index(b"<svg ") :]
    head = (
        b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        b'width="%d" height="%d" viewBox="\\1">' % (width, height)
    )
    return _SVG_TAG.sub(head, body, count=1)


def _settings(look: Look) -> dict[str, Any]:
    """Return every matplotlib setting that differs from its default."""
    return {
        "svg.fonttype": "path",
        "svg.hashsalt": "lyewitness",
        "path.simplify": True,
        "path.simplify_threshold": 0.5,
        "font.family": [look.label_font, SIGNS_FONT],
        "font.size": look.label_px,
        "text.parse_math": False,
        "text.color": INK,
        "figure.facecolor": GROUND,
        "figure.edgecolor": GROUND,
        "savefig.facecolor": "none",
        "savefig.edgecolor": "none",
        "axes.facecolor": "none",
        "axes.edgecolor": MUTED,
        "axes.labelcolor": INK,
        "axes.labelsize": look.label_px,
        "axes.titlesize": look.label_px,
        "axes.linewidth": 1.0,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.xmargin": 0.0,
        "axes.formatter.useoffset": False,
        "axes.formatter.limits": (-9, 9),
        "xtick.color": MUTED,
        "xtick.labelcolor": INK,
        "xtick.labelsize": look.label_px,
        "xtick.major.size": 4.0,
        "xtick.major.width": 1.0,
        "ytick.color": MUTED,
        "ytick.labelcolor": INK,
        "ytick.labelsize": look.label_px,
        "ytick.major.size": 4.0,
        "ytick.major.width": 1.0,
        "lines.linewidth": look.line_px,
        "lines.markersize": look.mark_px,
        "lines.scale_dashes": True,
    }


KEY_PX = 24.0
"""Height of one row."""
SAMPLE_PX = 33.0
"""A sample of a line in the key, up to its name."""


def key_places(inks: dict[str, GroupInk], look: Look) -> list[tuple[int, float]]:
    """Return (row, pixels from the left) of each entry of the key, on as many rows as they need."""
    places = []
    row, left = 0, 10.0
    for name in inks:
        wide = SAMPLE_PX + look.words_width(name)
        if left > 10.0 and left + wide > look.width_px - 8:
            row, left = row + 1, 10.0
        places.append((row, left))
        left += wide + 22
    return places


def draw_key(
    sheet: Sheet, inks: dict[str, GroupInk], places: Sequence[tuple[int, float]], look: Look
) -> None:
    """Say above the panels which line is which: a sample of each and its name."""
    if not places:
        return
    tall = KEY_PX * (1 + places[-1][0])
    top = panel(sheet, 0, 0, look.width_px, tall)
    top.set_axis_off()
    top.set_xlim(0, look.width_px)
    top.set_ylim(tall, 0)
    for (name, ink), (row, left) in zip(inks.items(), places, strict=True):
        up = KEY_PX * row + 14
        dashes = ink.dashes or (None, None)
        top.plot([left, left + 26], [up, up], color=ink.colour, linewidth=look.line_px, dashes=dashes)
        top.plot([left + 13], [up], ink.mark, color=ink.colour)
        top.text(left + SAMPLE_PX, up, name, va="center_baseline")


def dress(axes: Axes, look: Look, across: str, up: str, ticks: tuple[int, int] = (7, 6)) -> None:
    """Name both axes: `across` below at the right end, `up` as a line of words above, not turned."""
    axes.set_xlabel(across, loc="right", labelpad=3)
    # With its height said, the library need not measure all that might stand above the axes.
    axes.set_title(up, loc="left", pad=look.label_px * 0.8, y=1.0, color=INK)
    for axis, count in ((axes.xaxis, ticks[0]), (axes.yaxis, ticks[1])):
        number(axis, count)


class _SameDecimals(Formatter):
    """Numbers of one axis with one number of decimals, as the rest of the report writes numbers."""

    def __call__(self, x: float, pos: int | None = None) -> str:
        """Return the words of a single tick."""
        return self.format_ticks([x])[0]

    def format_ticks(self, values: Sequence[float]) -> list[str]:
        """Return the words of all ticks of an axis."""
        return same_decimals(values)


def same_decimals(values: Sequence[float]) -> list[str]:
    """Return numbers of one scale in words, with as many decimals as the one that needs most."""
    places = max((_decimals(tick) for tick in values), default=0)
    return [fixed(tick, places) if abs(tick) < 10_000 or places else stated(tick) for tick in values]


def _decimals(tick: float) -> int:
    """Return how many decimals a tick's number has."""
    return len(f"{tick:.6f}".rstrip("0").partition(".")[2])


def number(axis: Axis, count: int) -> None:
    """Put about `count` round numbers on `axis`, written as the rest of the report writes numbers."""
    axis.set_major_locator(MaxNLocator(count, steps=[1, 2, 2.5, 5, 10]))
    axis.set_major_formatter(_SameDecimals())


def name_scales(axes: Axes, look: Look, per_hour: float | None, side: str) -> None:
    """Write 'exposure / h' beside the numbers of hours, and below them, where known, column volumes.

    `side` says on which side of the axes there is room for the names: `left` or `right`.
    """
    axes.set_xlabel("")
    end, shift = (1, 16) if side == "right" else (0, -12)
    below = -(4.5 + look.label_px)
    _beside(axes, "exposure / h", end, (shift, below), INK, side)
    if per_hour is None:
        return
    row = 1.9 * look.label_px
    sheet = axes.get_figure(root=True)
    wide, high = sheet.get_size_inches() * 72 if sheet is not None else (1.0, 1.0)
    tall = axes.get_position().height * high
    volumes = axes.secondary_xaxis(-row / tall, functions=(_times(per_hour), _times(1 / per_hour)))
    volumes.spines["bottom"].set_visible(False)
    volumes.tick_params(length=0, labelcolor=MUTED, pad=4)
    number(volumes.xaxis, max(2, int(axes.get_position().width * wide / 75)))
    _beside(axes, "column volumes", end, (shift, below - row + 2), MUTED, side)


def _beside(axes: Axes, words: str, end: int, shift: tuple[float, float], colour: str, side: str) -> None:
    """Write words below the axes, outside at one end."""
    axes.annotate(
        words, (end, 0), shift, xycoords="axes fraction", textcoords="offset points", color=colour,
        ha="left" if side == "right" else "right", va="baseline",
    )  # fmt: skip


def _times(factor: float) -> Callable[[ArrayLike], ArrayLike]:
    """Return the function that multiplies by `factor`."""
    return lambda values: np.asarray(values, dtype=np.float64) * factor


def volumes_per_hour(series: Sequence[Series]) -> float | None:
    """Return column volumes per hour where all `series` have the same within 1 %, else None."""
    rates = [
        one.exposure_cv[-1] / one.exposure_h[-1]
        for one in series
        if one.exposure_h.size and one.exposure_h[-1] > 0
    ]
    if not rates or not np.all(np.isfinite(rates)) or max(rates) > 1.01 * min(rates) or min(rates) <= 0:
        return None
    return float(np.median(rates))
