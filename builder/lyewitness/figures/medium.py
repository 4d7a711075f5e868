"""The medium drawn: pH and charge of the markers over temperature, silica dissolved against the bed's mass.

In: `Report`. Out: the figure `chemistry`, None where nothing of it can be computed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.slimming import HALOED
from lyewitness.figures.style import ACCENT, INK, MUTED, NARROW_PX, Look
from lyewitness.findings.medium.courses import Course, Courses, courses_of, hours_to
from lyewitness.findings.records import Report
from lyewitness.words.estimates import Estimate
from lyewitness.words.numbers import fixed, interval, rounded, with_unit
from lyewitness.words.phrases import listed, sentence

BAND = 0.18
"""Opacity of the bounds: two of them over each other still let a line be seen."""
DASHES = ((1.0, 0.0), (5.0, 2.5), (1.5, 2.0), (7.0, 2.0, 1.5, 2.0))
"""Of the lines of one panel: they are told apart by their dashes and their names, without a colour."""
ABOVE_BED = 2.2
"""The axis of silica ends at this multiple of the heaviest bed: what is beyond it changes nothing."""
TALL_PX = 150
GAP_PX = 74


@dataclass(frozen=True, slots=True)
class Place:
    """Where a panel lies on the sheet, CSS pixels."""

    left: float
    top: float
    wide: float
    tall: float


def chemistry_figure(report: Report, look: Look) -> Figure | None:
    """Return what the chemistry of the medium says at a glance."""
    courses = courses_of(report.study, report.measurements)
    if not courses.ph and not courses.dissolved_mg:
        return None
    light, dark, height = _drawn(courses, look)
    narrow, narrow_dark, narrow_height = _drawn(courses, look.narrow())
    told = " ".join(_told(courses))
    return Figure(
        id="chemistry",
        file="figures/chemistry.svg",
        data=light,
        dark=dark,
        title="The medium at temperature, and the silica it can carry off",
        caption=f"{told} Bands: bounds from the uncertainty of the constants; grey: silica in the beds. "
        "The source of each number stands with it below.",
        alt=told,
        width_px=look.width_px,
        height_px=height,
        narrow=narrow,
        narrow_dark=narrow_dark,
        narrow_width_px=NARROW_PX,
        narrow_height_px=narrow_height,
        table=table_of(("quantity", "temperature_C", "hours", "value", "low", "high"), _rows(courses)),
    )


def _told(courses: Courses) -> Iterator[str]:
    """Yield what is to be seen, a sentence a panel."""
    hottest = max(courses.readings, key=lambda one: one.temperature_C, default=None)
    coldest = min(courses.readings, key=lambda one: one.temperature_C, default=None)
    if hottest and coldest and hottest is not coldest:
        yield (
            f"From {with_unit(fixed(coldest.temperature_C, 0), '°C')} to "
            f"{with_unit(fixed(hottest.temperature_C, 0), '°C')} the pH goes from {_ph(coldest.ph)} to "
            f"{_ph(hottest.ph)}."
        )
    if courses.charged_percent and courses.injected_C is not None:
        at = with_unit(fixed(courses.injected_C, 0), "°C")
        shares = [
            f"{interval(_at(one, courses.injected_C), '%')} of {one.name}" for one in courses.charged_percent
        ]
        yield f"{sentence(f'at {at} {listed(shares)} bears a charge')}"
    yield from _silica_told(courses)


def _silica_told(courses: Courses) -> Iterator[str]:
    """Yield when the silica of the lightest bed could be gone, had every drop left saturated."""
    if not courses.dissolved_mg or not courses.beds:
        return
    lightest = min(courses.beds, key=lambda bed: bed.low_mg)
    amount = with_unit(rounded(lightest.low_mg, 2), "mg")
    for course in courses.dissolved_mg[:1]:
        usual, earliest = hours_to(course, lightest.low_mg)
        if earliest is None:
            yield f"Had every drop left saturated, the {amount} of the lightest bed would not have gone."
        else:
            typical = f", by usual constants after {with_unit(rounded(usual, 2), 'h')}" if usual else ""
            yield (
                f"Had every drop left saturated, the {amount} of the lightest bed could be gone after "
                f"{with_unit(rounded(earliest, 2), 'h')} at the earliest{typical}."
            )


def _ph(ph: Estimate) -> str:
    """Return a pH to two decimals, with its bounds where it has them."""
    if ph.value is None:
        return ph.reason
    bounds = (
        f" ({fixed(ph.low, 2)} to {fixed(ph.high, 2)})" if ph.low is not None and ph.high is not None else ""
    )
    return f"{fixed(ph.value, 2)}{bounds}"


def _at(course: Course, place: float) -> Estimate:
    """Return a course's value between two of its points, on the straight line."""
    value, low, high = (
        float(np.interp(place, course.at, [getattr(one, end) or 0.0 for one in course.values]))
        for end in ("value", "low", "high")
    )
    return Estimate(value, low, high)


def _rows(courses: Courses) -> Iterator[tuple[str | float | None, ...]]:
    """Yield every value that is drawn."""
    for name, some in (("pH", courses.ph), ("% charged", courses.charged_percent)):
        for course in some:
            for at, value in zip(course.at, course.values, strict=True):
                yield (f"{name}, {course.name}", at, None, value.value, value.low, value.high)
    for course in courses.dissolved_mg:
        for at, value in zip(course.at, course.values, strict=True):
            yield (f"mg of silica dissolved, {course.name}", None, at, value.value, value.low, value.high)
    for bed in courses.beds:
        yield (f"mg of silica in a bed, {bed.group}", None, None, None, bed.low_mg, bed.high_mg)


def _drawn(courses: Courses, look: Look) -> tuple[bytes, bytes, int]:
    """Return the drawing for both grounds and its height."""
    places, height = _places(courses, look)
    with applied(look):
        sheet = new_sheet(look.width_px, height)
        for name, place in places.items():
            axes = panel(sheet, place.left, place.top, place.wide, place.tall)
            PANELS[name](axes, courses, look)
        return (*finished(sheet, look), height)


def _places(courses: Courses, look: Look) -> tuple[dict[str, Place], int]:
    """Return where each panel with something to show lies: two and one beside it, or all in one column."""
    over_heat = [name for name, some in (("ph", courses.ph), ("charge", courses.charged_percent)) if some]
    over_hours = ["silica"] if courses.dissolved_mg else []
    left, top, right = 44.0, 2.4 * look.label_px, 14.0
    step = TALL_PX + GAP_PX
    if look.width_px == NARROW_PX or not over_heat or not over_hours:
        names = over_heat + over_hours
        wide = look.width_px - left - right
        places = {name: Place(left, top + k * step, wide, TALL_PX) for k, name in enumerate(names)}
        return places, round(top + step * len(names) - GAP_PX + 46)
    wide = (look.width_px - 2 * left - 2 * right) / 2
    places = {name: Place(left, top + k * step, wide, TALL_PX) for k, name in enumerate(over_heat)}
    tall = max(TALL_PX, step * len(over_heat) - GAP_PX)
    places["silica"] = Place(look.width_px - right - wide, top, wide, tall)
    return places, round(top + tall + 46)


def _band(axes: Axes, course: Course, order: int) -> None:
    """Draw one course with its bounds."""
    values = [one.value or 0.0 for one in course.values]
    low, high = ([getattr(one, end) for one in course.values] for end in ("low", "high"))
    if None not in low and None not in high:
        axes.fill_between(course.at, low, high, color=ACCENT, alpha=BAND, linewidth=0)
    axes.plot(course.at, values, color=ACCENT, dashes=DASHES[order % len(DASHES)])


def _name(axes: Axes, course: Course, words: str, up: float = 7.0) -> None:
    """Write a name above the right end of a line."""
    axes.annotate(
        words, (course.at[-1], course.values[-1].value or 0.0), (-2, up), textcoords="offset points",
        ha="right", va="bottom", color=INK, gid=HALOED,
    )  # fmt: skip


def _draw_ph(axes: Axes, courses: Courses, look: Look) -> None:
    """Draw the pH of each bottle over temperature, and where it was read and met."""
    for order, course in enumerate(courses.ph):
        _band(axes, course, order)
        if len(courses.ph) > 1:
            _name(axes, course, course.name)
    for reading in courses.readings:
        axes.plot([reading.temperature_C], [reading.ph.value or 0.0], "o", color=INK, markersize=look.mark_px)
        axes.annotate(
            reading.name, (reading.temperature_C, reading.ph.value or 0.0), (7, 5),
            textcoords="offset points", ha="left", va="bottom", color=INK,
        )  # fmt: skip
    _to_margins(axes, courses.ph, 0.3)
    dress(axes, look, "temperature / °C", "pH", (5, 4))


def _draw_charge(axes: Axes, courses: Courses, look: Look) -> None:
    """Draw per cent charged of each marker over temperature, with a rule at that of the injections."""
    for order, course in enumerate(courses.charged_percent):
        _band(axes, course, order)
        _name(axes, course, course.name)
    _to_margins(axes, courses.charged_percent, 0.25)
    axes.set_ylim(max(0.0, axes.get_ylim()[0]), min(112.0, axes.get_ylim()[1]))
    if courses.injected_C is not None:
        axes.axvline(courses.injected_C, color=MUTED, linewidth=0.8)
        axes.annotate(
            "injections", (courses.injected_C, 1), (-4, -2), xycoords=("data", "axes fraction"),
            textcoords="offset points", ha="right", va="top", color=MUTED,
        )  # fmt: skip
    dress(axes, look, "temperature / °C", "charged at the injections’ pH / %", (5, 4))


def _to_margins(axes: Axes, courses: Sequence[Course], room: float) -> None:
    """Set the axes to what is drawn, with room above for names."""
    ends = [
        end
        for course in courses
        for one in course.values
        for end in (one.value, one.low, one.high)
        if end is not None
    ]
    low, high = min(ends), max(ends)
    span = (high - low) or 1.0
    axes.set_ylim(low - 0.06 * span, high + room * span)
    axes.set_xlim(min(c.at[0] for c in courses), max(c.at[-1] for c in courses))


def _draw_silica(axes: Axes, courses: Courses, look: Look) -> None:
    """Draw the silica that could have gone over hours, against what the beds hold."""
    top = ABOVE_BED * max(bed.high_mg for bed in courses.beds)
    most = max(one.values[-1].high or 0.0 for one in courses.dissolved_mg)
    end_h = max(one.at[-1] for one in courses.dissolved_mg)
    top = min(top, 1.1 * most) if most > max(bed.high_mg for bed in courses.beds) else top
    # Where a line leaves the panel early, hours beyond that show nothing.
    leaves = [hours_to(one, top)[0] or end_h for one in courses.dissolved_mg]
    seen_h = min(end_h, 1.1 * max(leaves))
    low, high = min(bed.low_mg for bed in courses.beds), max(bed.high_mg for bed in courses.beds)
    axes.axhspan(low, high, color=MUTED, alpha=BAND, linewidth=0)
    axes.set_xlim(0.0, seen_h)
    axes.set_ylim(0.0, top)
    for order, course in enumerate(courses.dissolved_mg):
        _band(axes, course, order)
    axes.annotate(
        "silica in a bed", (0, high), (5, 3), xycoords=("axes fraction", "data"), textcoords="offset points",
        ha="left", va="bottom", color=INK, gid=HALOED,
    )  # fmt: skip
    dress(axes, look, "exposure / h", "silica that can dissolve at most / mg", (5, 6))


PANELS = {"ph": _draw_ph, "charge": _draw_charge, "silica": _draw_silica}
