"""Axes that draw what matplotlib's own draw, with one tick a scale in the place of one a number.

In: a sheet and a place on it. Out: axes. A tick is five artists, of which three are never seen here; making
and copying them took a third of the time of a drawing. One is moved from number to number and drawn at each.

Some of what a projection of matplotlib may change bears a leading underscore: `tests/figures/test_axes.py`
tells when another version of it draws otherwise.
"""

from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from matplotlib.axes import Axes
from matplotlib.axis import Axis, Tick, XAxis, YAxis
from matplotlib.backend_bases import RendererBase
from matplotlib.collections import Collection
from matplotlib.figure import Figure as Sheet
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.ticker import NullLocator
from matplotlib.transforms import Bbox, Transform

# A number this share of the scale beyond its end is at the end: rounding, no more.
WITHIN = 1e-10
SEEN = ("tick1On", "tick2On", "label1On", "label2On", "gridOn")
"""What of a tick can be switched off."""

Boxes = tuple[list[Bbox], list[Bbox]]
"""Of the numbers on both sides of a scale."""


class _Scale(Axis):
    """An axis that moves its first tick along and draws it at each number."""

    _boxes: Boxes | None = None
    """Where the numbers stand, while it is drawn."""
    _used: tuple[Tick, ...] = ()
    """The ticks that were moved along."""

    def reset_ticks(self: Any) -> None:
        """Begin with no tick of the second rank: nearly no scale has any."""
        self.minorTicks = []
        with suppress(AttributeError):
            del self.majorTicks
        with suppress(AttributeError):
            self.set_clip_path(self.axes.patch)

    def draw(self: Any, renderer: RendererBase) -> None:
        """Draw ticks, numbers and name."""
        if not self.get_visible():
            return
        renderer.open_group(Axis.__module__, gid=self.get_gid())
        self._boxes, self._used = ([], []), ()
        for tick in self._ticks_in_turn():
            for words, boxes in zip((tick.label1, tick.label2), self._boxes, strict=True):
                if words.get_visible():
                    boxes.append(words.get_window_extent(renderer))
            tick.draw(renderer)
        self._update_label_position(renderer)
        self.label.draw(renderer)
        self._update_offset_text_position(*self._boxes)
        self.offsetText.set_text(self.major.formatter.get_offset())
        self.offsetText.draw(renderer)
        renderer.close_group(Axis.__module__)
        self._boxes = None
        self.stale = False

    def _ticks_in_turn(self: Any) -> Iterator[Tick]:
        """Yield a tick at each number in view: the same one, moved along."""
        if _is_seen(self.major, self._major_tick_kw):
            yield from self._moved(self.major, self.get_majorticklocs(), self.get_major_ticks)
        if _is_seen(self.minor, self._minor_tick_kw):
            yield from self._moved(self.minor, self.get_minorticklocs(), self.get_minor_ticks)

    def _moved(self: Any, ticker: Any, places: Any, ticks: Any) -> Iterator[Tick]:
        ends = self.get_transform().transform(list(self.get_view_interval()))
        low, high = float(min(ends)), float(max(ends))
        near = WITHIN * (high - low)
        for place, words in zip(places, ticker.formatter.format_ticks(places), strict=True):
            if low - near <= float(self.get_transform().transform(place)) <= high + near:
                tick = ticks(1)[0]
                if tick not in self._used:
                    self._used += (tick,)
                tick.update_position(place)
                tick.label1.set_text(words)
                tick.label2.set_text(words)
                yield tick

    def _update_ticks(self: Any) -> list[Tick]:
        """Return the ticks that stand for those in view: while it is drawn, the ones that are moved along."""
        if self._boxes is not None:
            return list(self._used)
        ticks: list[Tick] = super()._update_ticks()  # type: ignore[misc]
        return ticks

    def _get_tick_boxes_siblings(self: Any, renderer: RendererBase) -> Boxes:
        """Return where the numbers stand that the name must keep clear of."""
        if self._boxes is not None:
            boxes: Boxes = self._boxes
            return boxes
        found: Boxes = super()._get_tick_boxes_siblings(renderer)  # type: ignore[misc]
        return found


def _is_seen(ticker: Any, switches: dict[str, Any]) -> bool:
    """Tell whether ticks of one rank have places and are not switched off altogether."""
    return not isinstance(ticker.locator, NullLocator) and any(switches.get(one) is not False for one in SEEN)


class _Across(_Scale, XAxis):
    pass


class _Up(_Scale, YAxis):
    pass


class _Ground(Rectangle):
    """The rectangle below axes, which is asked where it lies by all that is cut off at its edges."""

    _lies: Transform | None = None

    def set_transform(self, t: Transform | None) -> None:
        """Lie elsewhere."""
        self._lies = None
        super().set_transform(t)

    def get_transform(self) -> Transform:
        """Return where it lies."""
        if self._lies is None:
            self._lies = super().get_transform()
        return self._lies


class Panel(Axes):
    """Axes with two such scales, which look at what is drawn for their ends only where they follow it."""

    def _init_axis(self: Any) -> None:
        """Make the scales, as every projection does."""
        self.xaxis = _Across(self, clear=False)
        self.yaxis = _Up(self, clear=False)
        for axis, sides in ((self.xaxis, ("bottom", "top")), (self.yaxis, ("left", "right"))):
            for side in sides:
                self.spines[side].register_axis(axis)

    def _gen_axes_patch(self) -> Rectangle:
        """Return the ground."""
        return _Ground((0.0, 0.0), 1.0, 1.0)

    def _update_line_limits(self: Any, line: Line2D) -> None:
        if self.get_autoscalex_on() or self.get_autoscaley_on():
            super()._update_line_limits(line)  # type: ignore[misc]

    def _update_collection_limits(self: Any, collection: Collection) -> None:
        if self.get_autoscalex_on() or self.get_autoscaley_on():
            super()._update_collection_limits(collection)  # type: ignore[misc]


def axes_at(sheet: Sheet, place: tuple[float, float, float, float]) -> Axes:
    """Return axes at (left, lower edge, width, height), each a share of the sheet's sides."""
    return sheet.add_axes(Panel(sheet, place))
