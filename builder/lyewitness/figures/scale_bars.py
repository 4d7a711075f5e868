"""A scale bar drawn into a picture.

In: a picture and its nanometres per pixel. Out: the picture with a bar of a round length.
"""

from math import floor, log10

from matplotlib.font_manager import FontProperties, findfont
from PIL import Image, ImageDraw, ImageFont

from lyewitness.figures.style import Look
from lyewitness.figures.words import stated
from lyewitness.quantities import with_unit

SHARE = 0.3
"""The bar takes at most this share of the picture's width."""
MARGIN_PX = 8


def round_length(most_nm: float) -> float:
    """Return the greatest of 1, 2, 5 × 10ⁿ nanometres that is not above `most_nm` (> 0)."""
    power = 10.0 ** floor(log10(most_nm))
    return max(step * power for step in (1, 2, 5) if step * power <= most_nm * (1 + 1e-9))


def length_words(length_nm: float) -> str:
    """Return a length in the unit that keeps it short: nm, µm or mm."""
    for unit, size in (("mm", 1e6), ("µm", 1e3)):
        if length_nm >= size:
            return with_unit(stated(length_nm / size), unit)
    return with_unit(stated(length_nm), "nm")


def with_scale_bar(picture: Image.Image, nm_per_pixel: float | None, look: Look) -> Image.Image:
    """Return a copy with a white bar on a dark ground in the lower right corner; itself without a scale."""
    if not nm_per_pixel:
        return picture
    length = round_length(SHARE * picture.width * nm_per_pixel)
    bar_px = length / nm_per_pixel
    words = length_words(length)
    font = ImageFont.truetype(findfont(FontProperties(family=look.label_font)), round(look.label_px))
    drawn = picture.copy()
    pen = ImageDraw.Draw(drawn)
    wide = max(bar_px, pen.textlength(words, font=font)) + 2 * MARGIN_PX
    tall = look.label_px + 18
    left, top = picture.width - wide, picture.height - tall
    dark, light = (0, 255) if picture.mode == "L" else ((0, 0, 0), (255, 255, 255))
    pen.rectangle((left, top, picture.width, picture.height), fill=dark)
    start = left + (wide - bar_px) / 2
    pen.rectangle((start, picture.height - 9, start + bar_px - 1, picture.height - 6), fill=light)
    pen.text((left + wide / 2, picture.height - 12), words, font=font, fill=light, anchor="md")
    return drawn
