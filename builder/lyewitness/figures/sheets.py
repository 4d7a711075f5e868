"""Sheets of paper to draw on, in pixels, and how they become SVG for a light and a dark ground.

In: a `Look`. Out: matplotlib sheets and axes to draw on, and their bytes, the same on every run. Nothing
else in the program touches matplotlib's settings.

Figures are drawn once, in pigments: fixed colour codes that stand for a role (ink, ground, the third
group). `finished` puts a palette's colours in their place, so light and dark cannot differ in anything else.
"""

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib.style
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure as Sheet

from lyewitness.figures.slimming import slimmed, without_idle_channels
from lyewitness.figures.style import ACCENT, FAINT, GROUND, GROUP, INK, MUTED, Look, Palette

_PIGMENT = re.compile(rb"#0(?:10101|20202|30303|40404|50505|606[0-9a-f]{2})")
_SVG_TAG = re.compile(rb'<svg [^>]*?viewBox="([^"]*)"[^>]*>')


@contextmanager
def applied(look: Look) -> Iterator[None]:
    """Draw with this look whatever settings the machine or the caller has; puts them back after."""
    with matplotlib.style.context(["default", _settings(look)]):
        yield


def new_sheet(width_px: float, height_px: float) -> Sheet:
    """Return an empty sheet whose unit of length is the CSS pixel."""
    return Sheet(figsize=(width_px / 72, height_px / 72), dpi=72)


def panel(sheet: Sheet, left: float, top: float, width: float, height: float) -> Axes:
    """Return axes placed in pixels from the top left corner of `sheet`, without a frame."""
    wide, high = sheet.get_size_inches() * 72
    return sheet.add_axes((left / wide, 1 - (top + height) / high, width / wide, height / high))


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
        "font.family": [look.label_font, "DejaVu Sans"],
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
