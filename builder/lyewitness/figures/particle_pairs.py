"""Particles before and after: both pictures outlined, one scale bar, and their diameters on one axis.

In: images of the study that belong together and whose particles are to be counted. Out: the figures
`particles-<pair>`.

Sizes before stand above the axis, those after below it, in the same classes and to the same height, so that
the two are told apart without a colour.
"""

from math import ceil, floor, isclose

import numpy as np
import scipy
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator

from lyewitness.figures.particle_plots import (
    COLUMNS,
    Counted,
    counted_in,
    fitted,
    median_um,
    outlined,
    part_words,
    rows_of,
    single_figure,
)
from lyewitness.figures.particles import ParticleCount
from lyewitness.figures.pictures import SHARE as BAR_SHARE
from lyewitness.figures.pictures import round_length
from lyewitness.figures.records import Figure, table_of
from lyewitness.figures.registration import SAME_SCALE
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.style import ACCENT, GROUND, INK, MUTED, NARROW_PX, Look
from lyewitness.study.picture_titles import picture_titles
from lyewitness.study.records import Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import slug
from lyewitness.words.numbers import fixed, interval, length_words, with_unit
from lyewitness.words.phrases import counted, exposure, sentence

RESAMPLES = 4000
"""Of the bootstrap: its ends then move by less than a fiftieth of the interval from seed to seed."""
FEWEST = 5
"""Whole particles in each picture from which on the change of their median is told with an interval."""
CLASSES = 24
"""Of the diameters from nothing to the greatest."""
SHARE = 0.3
"""Width of a picture where both stand beside their sizes, as share of the figure's."""
GAP_PX = 10
WORDS_PX = 22
"""Of the words above a picture."""
BAR_PX = 24
"""Of the scale bar below a picture."""
LEAST_PX = 210
"""Height of the drawing from which on sizes beside the pictures can be read."""
SIZES_PX = 240
EARLIER, LATER = "the earlier picture", "the later picture"
"""Height of the sizes below the pictures."""


def particle_pair_figures(study: Study, look: Look) -> list[Figure]:
    """Return one figure of the first and the last of the counted images; of one that can be read, its own."""
    images = sorted(counted_in(study), key=lambda one: one.image.exposure_h or 0.0)
    if len(images) < 2:
        titles = picture_titles(study.images)
        return [single_figure(one, look, titles[one.image.id]) for one in images]
    first, last = images[0], images[-1]
    wide, narrow = _drawn(first, last, look), _drawn(first, last, look.narrow())
    name = f"particles-{slug(first.image.pair)}"
    told = told_of(first, last) + part_words(first, EARLIER) + part_words(last, LATER)
    return [
        Figure(
            id=name,
            file=f"figures/images/{name}.svg",
            data=wide[0],
            dark=wide[1],
            title=f"Particles, {first.image.pair}",
            caption=f"{told} Outlined: measured particles; dashed: broken ones and fragments; grey: not "
            "measured. Columns: particles by diameter, before above the axis, after below it; hollow: broken "
            "ones and fragments; dot and bar: median of the whole ones and its interval. An indication from "
            "one picture each, by a threshold and a watershed.",
            alt=told,
            width_px=look.width_px,
            height_px=wide[2],
            narrow=narrow[0],
            narrow_dark=narrow[1],
            narrow_width_px=NARROW_PX,
            narrow_height_px=narrow[2],
            table=table_of(
                ("image", *COLUMNS),
                ((one.image.id, *row) for one in (first, last) for row in rows_of(one.count)),
            ),
        )
    ]


def told_of(first: Counted, last: Counted) -> str:
    """Return what became of the particles: `Median of whole particles fell from 2.20 to 2.06 µm, by …`."""
    before, after = first.count, last.count
    if not before.particles or not after.particles:
        both = ((EARLIER, first), (LATER, last))
        why = "; ".join(f"{one.count.reason} in {which}" for which, one in both if one.count.reason)
        return sentence(f"Nothing can be compared: {why}")
    told = "; ".join(part for part in (_change(before, after), _broken(after), _fragments(after)) if part)
    return f"{told}. {_numbers('Before', before)} {_numbers('After', after)}"


def _broken(count: ParticleCount) -> str:
    """Return the share of broken ones: `64 % broken (43 to 80)`, `none seen broken (up to 12 % could be)`."""
    share = broken_share(count)
    if share.value is None or share.low is None or share.high is None:
        return "none of a particle’s size"
    # Ends are rounded outwards: an interval printed must not be narrower than it is.
    low, high = fixed(floor(share.low + 1e-9), 0), fixed(ceil(share.high - 1e-9), 0)
    if not share.value:
        return f"none seen broken (up to {with_unit(high, '%')} could be)"
    return f"{with_unit(fixed(share.value, 0), '%')} broken ({low} to {high})"


def _fragments(count: ParticleCount) -> str:
    """Return how many fragments there are.

    One is of no particle that is seen: a share without them would tell of a crushed bed as whole.
    """
    return counted(count.fragments, "fragment") if count.fragments else ""


def broken_share(count: ParticleCount) -> Estimate:
    """Return per cent broken among the particles that are no fragments, with its interval of 95 %.

    Wilson, J. Am. Stat. Assoc. 1927, 22, 209.
    """
    sized = len(count.particles) - count.fragments
    if not sized:
        return Estimate(reason="no particle that is no fragment")
    found = scipy.stats.binomtest(sized - len(count.unbroken), sized)
    ends = found.proportion_ci(confidence_level=0.95, method="wilson")
    return Estimate(100 * (1 - len(count.unbroken) / sized), 100 * float(ends.low), 100 * float(ends.high))


def _change(before: ParticleCount, after: ParticleCount) -> str:
    """Return from what to what the median went, and by how much, or why that is not told."""
    change, was, now = change_um(before, after), median_um(before), median_um(after)
    lead = "Median of whole particles"
    if was.value is None or now.value is None:
        return f"{lead}: {interval(was, 'µm')} before, {interval(now, 'µm')} after"
    both = f"{_as_beside(was)} to {with_unit(_as_beside(now), 'µm')}"
    if change.value is None or change.low is None or change.high is None:
        return f"{lead} from {both}; the change is given no interval: {change.reason}"
    if change.low <= 0 <= change.high:
        bounds = f"{fixed(change.low, 2)} to {with_unit(fixed(change.high, 2), 'µm')}"
        return f"{lead} from {both}: no change of the median beyond chance ({bounds})"
    low, high = sorted((abs(change.low), abs(change.high)))
    size = Estimate(abs(change.value), low, high)
    return f"{lead} {'fell' if change.value < 0 else 'rose'} from {both}, by {interval(size, 'µm')}"


def _as_beside(median: Estimate) -> str:
    """Return a median without its interval, with the decimals that it has beside one."""
    return interval(median).partition(" ")[0]


def change_um(before: ParticleCount, after: ParticleCount) -> Estimate:
    """Return median after − median before, µm, of whole particles, with its bootstrap interval of 95 %."""
    one, other = (
        np.array([particle.diameter_nm / 1000 for particle in count.unbroken]) for count in (before, after)
    )
    if min(one.size, other.size) < FEWEST:
        return Estimate(reason=f"fewer than {FEWEST} whole particles in a picture")
    # Its own generator: the figure must not depend on what was drawn before it.
    found = scipy.stats.bootstrap(
        (one, other),
        _between,
        n_resamples=RESAMPLES,
        method="percentile",
        random_state=np.random.default_rng(1),
    )
    ends = found.confidence_interval
    return Estimate(float(np.median(other) - np.median(one)), float(ends.low), float(ends.high))


def _between(one: FloatArray, other: FloatArray, axis: int = -1) -> FloatArray:
    """Return the difference of the medians."""
    return np.asarray(np.median(other, axis=axis) - np.median(one, axis=axis))


def _numbers(when: str, count: ParticleCount) -> str:
    """Return how many were measured in a picture, and how many not."""
    missed = (
        (count.cut_by_edge, "cut by the edge"),
        (count.not_parted, "that could not be parted"),
        (count.specks, "too small to be told from noise"),
    )
    left_out = "; not measured: " + ", ".join(f"{many} {why}" for many, why in missed if many)
    sized = len(count.particles) - count.fragments
    fragments = f" and {count.fragments} fragments" if count.fragments else ""
    median = f", median {interval(median_um(count), 'µm')}" if median_um(count).value is not None else ""
    return f"{when}: {sized} particles{fragments}{median}{left_out if any(m for m, _ in missed) else ''}."


def _drawn(first: Counted, last: Counted, look: Look) -> tuple[bytes, bytes, int]:
    """Return the drawing for both grounds and its height: pictures beside sizes, or on a phone above."""
    beside = look.width_px > NARROW_PX
    wide = look.width_px * SHARE if beside else (look.width_px - GAP_PX) / 2
    drawn = [fitted(one.grey, wide) for one in (first, last)]
    foot = WORDS_PX + max(tall for _, tall in drawn) + BAR_PX
    height = ceil(max(foot, LEAST_PX) if beside else foot + SIZES_PX)
    spans_nm = [one.nm_per_pixel * one.grey.shape[1] for one in (first, last)]
    scales = [span_nm / across for span_nm, (across, _) in zip(spans_nm, drawn, strict=True)]
    one_scale = isclose(*scales, rel_tol=SAME_SCALE)
    with applied(look):
        sheet = new_sheet(look.width_px, height)
        for one, left, (across, tall), span_nm in zip(
            (first, last), (0.0, wide + GAP_PX), drawn, spans_nm, strict=True
        ):
            sheet.text(
                left / look.width_px, 1 - 15 / height, _when(one, one is first), color=INK,
                fontsize=look.label_px,
            )  # fmt: skip
            outlined(panel(sheet, left, WORDS_PX, across, tall), one.grey, one.count)
            if one is first or not one_scale:
                _scale(panel(sheet, left, WORDS_PX + tall, across, BAR_PX), span_nm)
        left, top = (2 * wide + GAP_PX + 46, 2.2 * look.label_px) if beside else (34, foot + 30)
        axes = panel(sheet, left, top, look.width_px - left - 8, height - top - 3 * look.label_px)
        _sizes(axes, first, last, look)
        return (*finished(sheet, look), height)


def _scale(axes: Axes, span_nm: float) -> None:
    """Draw a bar of a round length below a picture that spans so many nanometres."""
    axes.set_axis_off()
    axes.set(xlim=(0.0, span_nm), ylim=(0.0, 1.0))
    length = round_length(BAR_SHARE * span_nm)
    axes.plot([0.0, length], [0.5, 0.5], color=INK, linewidth=3.0, solid_capstyle="butt")
    axes.annotate(
        length_words(length),
        (length, 0.5),
        (7, 0),
        textcoords="offset points",
        va="center_baseline",
        color=INK,
    )


def _when(one: Counted, is_first: bool) -> str:
    """Return the words above a picture: `after 96 h`; its id where no exposure is stated."""
    word, at_h = "before" if is_first else "after", one.image.exposure_h
    return f"{word} {exposure(at_h)}" if at_h else word if at_h == 0 else f"{word}, {one.image.id}"


def _sizes(axes: Axes, first: Counted, last: Counted, look: Look) -> None:
    """Draw the diameters of both pictures, those before upwards and those after downwards."""
    all_um = [one.diameter_nm / 1000 for count in (first.count, last.count) for one in count.particles]
    edges = np.linspace(0.0, 1.08 * max(all_um, default=1.0), CLASSES + 1)
    tallest = max(_columns(axes, one.count, edges, way) for one, way in ((first, 1), (last, -1)))
    for one, way in ((first, 1), (last, -1)):
        _median_mark(axes, one.count, way * 1.14 * tallest, look)
    axes.set_xlim(0.0, float(edges[-1]))
    axes.set_ylim(-1.3 * tallest, 1.3 * tallest)
    dress(axes, look, "diameter / µm", "particles: before up, after down", (4, 5))
    axes.yaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda count, _: f"{abs(count):.0f}"))
    axes.axhline(0.0, color=MUTED, linewidth=1.0)


def _columns(axes: Axes, count: ParticleCount, edges: FloatArray, way: int) -> int:
    """Draw one picture's particles, broken ones beyond whole ones and hollow; return the tallest column."""
    whole, broken = (
        np.histogram([one.diameter_nm / 1000 for one in some], edges)[0]
        for some in (count.unbroken, [one for one in count.particles if one.broken or one.fragment])
    )
    wide, middles = edges[1] - edges[0], (edges[1:] + edges[:-1]) / 2
    for heights, foot, colour in ((whole, np.zeros_like(whole), MUTED), (broken, whole, GROUND)):
        some = heights > 0
        axes.bar(
            middles[some], way * heights[some], wide, way * foot[some], color=colour, edgecolor=INK,
            linewidth=0.8,
        )  # fmt: skip
    return max(1, int(np.max(whole + broken, initial=0)))


def _median_mark(axes: Axes, count: ParticleCount, up: float, look: Look) -> None:
    """Draw the median of the whole particles with its interval, and its number beside it."""
    found = median_um(count)
    if found.value is None:
        return
    low, high = found.low or found.value, found.high or found.value
    axes.plot([low, high], [up, up], color=ACCENT, linewidth=3.0, solid_capstyle="butt")
    axes.plot([found.value], [up], "o", color=ACCENT, markersize=look.mark_px)
    axes.annotate(
        with_unit(fixed(found.value, 2), "µm"), (low, up), (-7, 0), textcoords="offset points", ha="right",
        va="center_baseline", color=INK,
    )  # fmt: skip
