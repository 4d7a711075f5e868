"""Particles outlined on their micrograph, with the distribution of their sizes.

In: images of the study whose particles are to be counted. Out: the figures `particles-<image>`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from PIL import Image

from lyewitness.figures.particles import Particle, ParticleCount, count_particles, without_strip
from lyewitness.figures.pictures import THINNEST_PX, readable_pages
from lyewitness.figures.records import Figure, number_cell, table_of
from lyewitness.figures.sheets import applied, dress, finished, new_sheet, panel
from lyewitness.figures.slimming import simplified
from lyewitness.figures.style import ACCENT, GROUND, INK, MUTED, Look
from lyewitness.study.records import Study, StudyImage
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate
from lyewitness.words.names import slug
from lyewitness.words.numbers import fixed, interval, with_unit
from lyewitness.words.phrases import mid_sentence, sentence, share_percent

MOST_PX = 1200
"""Images of more pixels than a square of this side are counted in so many: others cost time and memory."""
WELL_SEEN_PX = 24.0
"""Across a particle, from which on smoothing adds less than a twentieth to it."""
TALLEST = 2.0
"""Height of a drawn picture, as multiple of the width it may take: a taller one is drawn narrower."""
OUTLINE_PX = 0.4
"""By which an outline may leave the rim of its pixels on the drawing: a fifth of its own width."""
SHARE = 0.58
"""Width of the picture, as share of the figure's."""
NM_PER_UM = 1000.0


@dataclass(frozen=True, eq=False, slots=True)
class Counted:
    """A picture with the particles in it."""

    image: StudyImage
    grey: FloatArray
    """(h, w) from 0 black to 1 white, without the strip at its foot."""
    count: ParticleCount
    nm_per_pixel: float
    """Of `grey`."""
    of_middle: bool = False
    """Whether `grey` is the middle of the picture, as it is."""


def particle_figures(study: Study, look: Look, titles: Mapping[str, str]) -> list[Figure]:
    """Return a figure for each image whose particles the study wants counted and whose scale it states.

    `titles` by image: the study may be the share of it that holds one image alone.
    """
    return [single_figure(one, look, titles[one.image.id]) for one in counted_in(study)]


def counted_in(study: Study) -> tuple[Counted, ...]:
    """Return the pictures of a study whose particles it wants counted, as far as they can be read."""
    return tuple(
        _counted(image, page, image.nm_per_pixel)
        for image in study.images
        if image.count_particles and image.nm_per_pixel
        for page in readable_pages(study, image)[:1]
        if min(page.size) >= THINNEST_PX
    )


def _counted_size(page: Image.Image) -> tuple[int, int]:
    """Return width and height, pixels, at which particles of a picture are counted."""
    factor = _shrunk(page)
    return max(1, round(page.width * factor)), max(1, round(page.height * factor))


def _shrunk(page: Image.Image) -> float:
    """Return the side of a picture's pixels ÷ that of those in which its particles are counted."""
    return float(min(1.0, (MOST_PX**2 / (page.width * page.height)) ** 0.5))


def fitted(grey: FloatArray, wide: float) -> tuple[float, float]:
    """Return width and height of a picture (h, w) as drawn where it may take the width `wide`, pixels."""
    across = min(wide, TALLEST * wide * grey.shape[1] / grey.shape[0])
    return across, across * grey.shape[0] / grey.shape[1]


def _counted(image: StudyImage, page: Image.Image, nm_per_pixel: float) -> Counted:
    """Return a picture in greys, in no more pixels than needed, and the particles in it.

    Where it was shrunk until its particles are too small to be measured, its middle is counted as it is.
    """
    factor = _shrunk(page)
    whole = _greys(page.resize(_counted_size(page), Image.Resampling.LANCZOS) if factor < 1 else page)
    found = Counted(image, whole, count_particles(whole, nm_per_pixel / factor), nm_per_pixel / factor)
    seen_nm = found.count.median_nm.value or 0.0
    if factor == 1 or seen_nm >= WELL_SEEN_PX * found.nm_per_pixel:
        return found
    wide = min(page.width, MOST_PX**2 // min(page.height, MOST_PX))
    tall = min(page.height, MOST_PX**2 // wide)
    left, top = (page.width - wide) // 2, (page.height - tall) // 2
    middle = _greys(page.crop((left, top, left + wide, top + tall)))
    count = count_particles(middle, nm_per_pixel)
    return Counted(image, middle, count, nm_per_pixel, of_middle=True) if count.particles else found


def _greys(page: Image.Image) -> FloatArray:
    """Return a picture (h, w) from 0 black to 1 white, without the strip at its foot."""
    return without_strip(np.asarray(page.convert("L"), dtype=np.float64) / 255)


def part_words(one: Counted, picture: str) -> str:
    """Return that no more than the middle of `the picture` was counted; empty where all of it was."""
    return f" Of {picture} the middle alone was counted." if one.of_middle else ""


def single_figure(one: Counted, look: Look, title: str) -> Figure:
    """Return the particles of one picture, outlined, and their sizes."""
    image, grey, count = one.image, one.grey, one.count
    height = max(round(fitted(grey, look.width_px * SHARE)[1]), 240)
    with applied(look):
        light, dark = _draw(grey, count, look, height)
    name = f"particles-{slug(image.id)}"
    told = count_words(count) + part_words(one, "the picture")
    return Figure(
        id=name,
        file=f"figures/images/{name}.svg",
        data=light,
        dark=dark,
        title=f"Particles: {mid_sentence(title)}",
        caption=f"{told} Outlined: measured particles; dashed: broken ones and fragments; grey: not "
        "measured. Bar and dot above the columns: median of the whole ones and its interval. "
        "An indication from one picture, by a threshold and a watershed.",
        alt=told,
        width_px=look.width_px,
        height_px=height,
        table=table_of(COLUMNS, rows_of(count)),
    )


def count_words(count: ParticleCount) -> str:
    """Return what was counted and what was not, in words."""
    failed = (
        f"Not measured: {count.cut_by_edge} cut by the edge, {count.not_parted} that could not be parted, "
        f"{count.specks} specks."
    )
    if not count.particles:
        return f"{sentence(f'Nothing could be measured: {count.reason}')} {failed}"
    median = median_um(count)
    roundness = fixed(float(np.median([one.roundness for one in count.particles])), 2)
    sized = len(count.particles) - count.fragments
    broken = (
        f"{share_percent(100 * count.broken_share)} broken"
        if count.broken_share is not None
        else "none whole"
    )
    return (
        f"{sized} particles and {count.fragments} fragments measured: median diameter of the whole ones "
        f"{interval(median, 'µm')}, {_range(count)}median roundness {roundness}, {broken}. {failed}"
    )


def median_um(count: ParticleCount) -> Estimate:
    """Return the median diameter of the whole particles in micrometres."""
    found = count.median_nm
    return Estimate(micrometres(found.value), micrometres(found.low), micrometres(found.high), found.reason)


def micrometres(nanometres: float | None) -> float | None:
    """Return a length in micrometres; None for none."""
    return None if nanometres is None else nanometres / NM_PER_UM


def _range(count: ParticleCount) -> str:
    """Return the middle four fifths of the diameters."""
    whole = [one.diameter_nm / NM_PER_UM for one in count.unbroken]
    if len(whole) < 10:
        return ""
    low, high = np.percentile(whole, [10, 90])
    return f"four fifths between {fixed(float(low), 2)} and {with_unit(fixed(float(high), 2), 'µm')}, "


def _draw(grey: FloatArray, count: ParticleCount, look: Look, height: int) -> tuple[bytes, bytes]:
    sheet = new_sheet(look.width_px, height)
    wide = look.width_px * SHARE
    outlined(panel(sheet, 0, 0, *fitted(grey, wide)), grey, count)
    if count.particles:
        left = wide + 56
        sizes = panel(sheet, left, 38, look.width_px - left - 10, min(height, 320) - 38 - 50)
        _histogram(sizes, count, look)
    return finished(sheet, look)


def outlined(axes: Axes, grey: FloatArray, count: ParticleCount) -> None:
    """Draw a picture with its particles outlined: dashed what is broken, grey what was not measured."""
    axes.set_axis_off()
    # Matplotlib scales the picture to the figure's pixels, so a large image costs no more bytes.
    axes.imshow(grey, cmap="gray", vmin=0, vmax=1, aspect="auto", interpolation="antialiased")
    broken = {one.label for one in count.particles if one.broken or one.fragment}
    whole = {one.label for one in count.particles} - broken
    others = set(np.unique(count.outlines).tolist()) - broken - whole - {0}
    for labels, colour, style in (
        (others, MUTED, "solid"),
        (whole, ACCENT, "solid"),
        (broken, ACCENT, "dashed"),
    ):
        _outline(axes, count, labels, colour, style)


def _outline(axes: Axes, count: ParticleCount, labels: set[int], colour: str, style: str) -> None:
    """Draw the outlines of these regions: neighbours stay apart because rims belong to nobody."""
    if not labels:
        return
    numbers = np.pad(count.outlines, 1)
    inner = np.isin(count.outlines, list(labels))
    for there in (numbers[:-2, 1:-1], numbers[2:, 1:-1], numbers[1:-1, :-2], numbers[1:-1, 2:]):
        inner &= (there == count.outlines) | (there == 0)
    contours = axes.contour(inner, levels=[0.5])
    contours.remove()
    left, right = axes.transData.transform([(0, 0), (1, 0)])[:, 0]
    zoom = float(right - left)
    for line in contours.allsegs[0]:
        # A step for each pixel of the picture would be most of the drawing's bytes, and nothing that is seen.
        across, up = simplified(zoom * line[:, 0], zoom * line[:, 1], OUTLINE_PX)
        axes.plot(across / zoom, up / zoom, color=colour, linewidth=2.0, linestyle=style)


def _histogram(axes: Axes, count: ParticleCount, look: Look) -> None:
    """Draw the diameters, broken ones above the whole ones, hollow."""
    whole = [one.diameter_nm / NM_PER_UM for one in count.unbroken]
    broken = [one.diameter_nm / NM_PER_UM for one in count.particles if one.broken or one.fragment]
    edges = np.linspace(0.0, 1.05 * max(whole + broken), 22)
    axes.hist(
        [whole, broken], bins=edges.tolist(), stacked=True, color=[MUTED, GROUND],
        edgecolor=INK, linewidth=0.8,
    )  # fmt: skip
    low, median, high = (
        micrometres(end) for end in (count.median_nm.low, count.median_nm.value, count.median_nm.high)
    )
    if median is not None:
        tallest = axes.get_ylim()[1]
        up = sum(abs(one - median) <= edges[1] for one in whole + broken) + 0.06 * tallest
        axes.set_ylim(0, max(tallest, 1.1 * up))
        axes.plot([median], [up], "o", color=ACCENT, markersize=look.mark_px)
        axes.plot(
            [low or median, high or median], [up, up], color=ACCENT, linewidth=3.0, solid_capstyle="butt"
        )
    dress(axes, look, "diameter / µm", "particles; hollow: broken", (4, 5))
    axes.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    axes.set_xlim(float(edges[0]), float(edges[-1]))


COLUMNS = ("particle", "x_px", "y_px", "diameter_nm", "roundness", "convexity", "state")
"""Of the table of a picture's particles."""


def rows_of(count: ParticleCount) -> Iterator[tuple[str, ...]]:
    """Yield every measured particle."""
    for one in count.particles:
        numbers = (one.x_px, one.y_px, one.diameter_nm, one.roundness, one.convexity)
        yield (str(one.label), *(number_cell(number, 4) for number in numbers), _state(one))


def _state(particle: Particle) -> str:
    """Return `whole`, `broken` or `fragment`."""
    return "fragment" if particle.fragment else "broken" if particle.broken else "whole"
