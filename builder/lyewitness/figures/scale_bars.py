"""A scale bar drawn below a picture, so that nothing of the picture is covered.

In: a picture and its nanometres per pixel. Out: the picture on a strip with a bar of a round length.
"""

from math import floor, log10

from matplotlib.font_manager import FontProperties, findfont
from PIL import Image, ImageDraw, ImageFont

from lyewitness.figures.style import Look
from lyewitness.words.numbers import stated, with_unit

SHARE = 0.3
"""The bar takes at most this share of the picture's width."""
MARGIN_PX = 8
DARK = 20
"""Grey of the strip: dark on a light page and on a dark one."""


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
    """Return the picture on a dark strip with a white bar and its length; itself without a scale."""
    if not nm_per_pixel:
        return picture
    length = round_length(SHARE * picture.width * nm_per_pixel)
    bar_px = length / nm_per_pixel
    font = ImageFont.truetype(findfont(FontProperties(family=look.label_font)), round(look.label_px))
    strip = round(look.label_px + 11)
    grey = picture.mode == "L"
    size = (picture.width, picture.height + strip)
    drawn = Image.new(picture.mode, size, DARK if grey else (DARK, DARK, DARK))
    drawn.paste(picture, (0, 0))
    pen = ImageDraw.Draw(drawn)
    middle = picture.height + strip / 2
    white = 255 if grey else (255, 255, 255)
    pen.rectangle((MARGIN_PX, middle - 2, MARGIN_PX + round(bar_px) - 1, middle + 1), fill=white)
    place = (2 * MARGIN_PX + bar_px, middle)
    pen.text(place, length_words(length), font=font, fill=white, anchor="lm")
    return drawn
