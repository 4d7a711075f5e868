"""Axes with one tick a scale draw what the library's own draw."""

import io
from collections.abc import Callable

import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure as Sheet

from lyewitness.figures.axes import axes_at
from lyewitness.figures.sheets import applied, dress, name_scales, number
from lyewitness.figures.style import Look, look_from

PLACE = (0.2, 0.2, 0.6, 0.6)


def plain(axes: Axes, look: Look) -> None:
    """Nothing but a line."""
    axes.plot([0, 3, 5], [2, 90, 40])


def dressed(axes: Axes, look: Look) -> None:
    """Names, chosen numbers, a second scale below."""
    axes.plot([0, 72.5], [0.3, 1.7])
    dress(axes, look, "", "what is drawn", (7, 6))
    name_scales(axes, look, 31.0, "right")


def named_below(axes: Axes, look: Look) -> None:
    """A name that keeps clear of the numbers, which a broken scale and turned ticks have."""
    axes.set_xlim(0.1, 0.3)
    axes.set_xlabel("time / min", loc="right", labelpad=3)
    axes.set_ylabel("signal")
    axes.tick_params(direction="in", length=9, pad=7)
    number(axes.yaxis, 3)


def without_numbers(axes: Axes, look: Look) -> None:
    """No numbers below, no scale upwards."""
    axes.plot([1, 2], [1, 2])
    axes.tick_params(labelbottom=False)
    axes.set_yticks([])


def logarithmic(axes: Axes, look: Look) -> None:
    """Ticks of a second rank, some beyond the ends."""
    axes.plot([0.7, 8200.0], [3.0, 450.0])
    axes.set_xscale("log")
    axes.set_yscale("log")


def far_from_zero(axes: Axes, look: Look) -> None:
    """Numbers that the library shortens by an offset, and a scale that runs down."""
    axes.plot([1e6, 1e6 + 1], [1e-7, 3e-7])
    axes.ticklabel_format(useOffset=True)
    axes.set_ylim(4e-7, 0)


def between_set_ends(axes: Axes, look: Look) -> None:
    """What reaches beyond the ends that were set for it, and one scale that follows what is drawn."""
    axes.set_xlim(0, 4)
    axes.plot([0, 3, 5], [2, 90, 40])
    axes.set_ylim(0, 50)
    axes.fill_between([0, 3, 5], [2, 9, 4], [60, 70, 90])
    axes.axhline(45)


DRAWINGS = [plain, dressed, named_below, without_numbers, logarithmic, far_from_zero, between_set_ends]


@pytest.mark.parametrize("draw", DRAWINGS)
def test_the_drawing_is_that_of_the_librarys_own_axes(draw: Callable[[Axes, Look], None]) -> None:
    """Byte for byte, whatever stands on the scales."""
    look = look_from({})
    drawn = []
    with applied(look):
        for make in (axes_at, Sheet.add_axes):
            sheet = Sheet((6, 4), dpi=72)
            draw(make(sheet, PLACE), look)
            FigureCanvasSVG(sheet)
            buffer = io.BytesIO()
            sheet.savefig(buffer, format="svg", metadata={"Date": None})
            drawn.append(buffer.getvalue())
    assert drawn[0] == drawn[1]
    assert drawn[0].count(b"tick_") > 2
