"""The same drawing in fewer bytes: a report of hundreds of figures must still fit into a mail.

In: an SVG as matplotlib writes it. Out: an SVG that looks the same to a tenth of a pixel.
"""

import io
import re
from base64 import b64decode, b64encode

import numpy as np
from PIL import Image

from lyewitness.figures.style import GROUND

_PATH = re.compile(rb' d="([^"]*)"')
_PLACE = re.compile(rb' (?:x|y)="[^"]*"')
_LONG_NUMBER = re.compile(rb"(\d+\.\d)\d+")
_ROUND_NUMBER = re.compile(rb"(\d)\.0\b")
_BETWEEN_TAGS = re.compile(rb">\s+<")
_MARKS = re.compile(rb'(<g clip-path="[^"]*")>((?:<use [^>]*/>){2,})</g>')
_STYLE = re.compile(rb' style="[^"]*"')
HALOED = "haloed"
"""Words with this id get a rim in the colour of the ground: they stay legible above what they cross."""
RIM_PX = 3.0
_WORDS = re.compile(
    rb'<g id="haloed">(<!--[^>]*-->)?'
    rb'<g style="[^"]*" transform="([^"]*)">((?:<defs>.*?</defs>)?)(.*?)</g></g>',
    re.S,
)
_LETTER = re.compile(rb'(?<=<path id=")[^"]*(?=" d="[^"]*" transform="scale\(0.015625\)")')
_STEP = re.compile(rb' transform="translate\([^")]*\)')
_SCALE = re.compile(rb"scale\(([\d.]+)")
_GLYPH_SCALE = 0.015625
"""Scale of the letters' outlines within their words, as matplotlib writes them."""


def slimmed(svg: bytes) -> bytes:
    """Return `svg` with short numbers, short paths, no blanks between tags, and styles said once."""
    svg = _PATH.sub(lambda found: b' d="' + _short_path(found.group(1)) + b'"', svg)
    svg = _PLACE.sub(lambda found: _short_numbers(found.group()), svg)
    svg = _BETWEEN_TAGS.sub(b"><", svg)
    svg = _STEP.sub(lambda found: _short_numbers(found.group()), svg)
    svg = _with_short_names(_WORDS.sub(_rimmed, svg))
    return _MARKS.sub(_style_once, svg)


def _short_numbers(text: bytes) -> bytes:
    """Cut numbers to tenths."""
    return _ROUND_NUMBER.sub(rb"\1", _LONG_NUMBER.sub(rb"\1", text))


def _short_path(data: bytes) -> bytes:
    """Leave out each `L` behind an `M` or `L`: SVG reads further pairs as lines (SVG 1.1, 8.3.2)."""
    steps = []
    before = b""
    for step in _short_numbers(data).split(b"\n"):
        command = step[:1]
        steps.append(step[2:] if command == b"L" and before in (b"M", b"L") else step)
        before = command
    return b" ".join(step.strip() for step in steps if step)


def _rimmed(found: re.Match[bytes]) -> bytes:
    """Return words with their letters named once more below them, stroked in the colour of the ground.

    An effect of the library would write the outline of every letter twice: ten times the bytes.
    """
    place, letters = found.group(2), found.group(4)
    scale = _SCALE.search(place)
    width = RIM_PX / (float(scale.group(1)) if scale else 1.0) / _GLYPH_SCALE
    style = b"fill: %s; stroke: %s; stroke-width: %.0f" % (GROUND.encode(), GROUND.encode(), width)
    rim = b'<g style="%s" transform="%s">' % (style, place)
    return b"".join((b"<g>", rim, letters, b"</g>", found.group().partition(b">")[2]))


def _with_short_names(svg: bytes) -> bytes:
    """Number the letters, which matplotlib names after font and place in it."""
    for place, name in enumerate(dict.fromkeys(_LETTER.findall(svg))):
        svg = svg.replace(b'"%s"' % name, b'"l%d"' % place).replace(b'"#%s"' % name, b'"#l%d"' % place)
    return svg


def _style_once(found: re.Match[bytes]) -> bytes:
    """Move the style that all marks of a group share to the group."""
    styles = set(_STYLE.findall(found.group(2)))
    if len(styles) != 1 or len(_STYLE.findall(found.group(2))) != found.group(2).count(b"<use"):
        return found.group()
    shared: bytes = styles.pop()
    return b"".join((found.group(1), shared, b">", _STYLE.sub(b"", found.group(2)), b"</g>"))


_PICTURE = re.compile(rb'data:image/png;base64,([^"]*)')


def without_idle_channels(svg: bytes) -> bytes:
    """Return `svg` with each opaque grey picture in one channel."""
    return _PICTURE.sub(_smaller, svg)


def _smaller(found: re.Match[bytes]) -> bytes:
    with Image.open(io.BytesIO(b64decode(found.group(1)))) as picture:
        pixels = np.asarray(picture.convert("RGBA"))
    grey = pixels[..., 0]
    if (
        not (pixels[..., 1] == grey).all()
        or not (pixels[..., 2] == grey).all()
        or (pixels[..., 3] < 255).any()
    ):
        return found.group()
    buffer = io.BytesIO()
    Image.fromarray(grey).save(buffer, "PNG", optimize=True)
    return b"data:image/png;base64," + b64encode(buffer.getvalue())
