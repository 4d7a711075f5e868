"""The same drawing in fewer bytes: a report of hundreds of figures must still fit into a mail.

In: an SVG as matplotlib writes it, or a trace of many points. Out: an SVG that looks the same to a tenth of a
pixel; as few points as an eye needs.
"""

import io
import re
from base64 import b64decode, b64encode
from functools import lru_cache

import numpy as np
from matplotlib.path import Path as Outline
from PIL import Image

from lyewitness.figures.style import GROUND
from lyewitness.words.arrays import FloatArray


def simplified(across: FloatArray, up: FloatArray, tolerance: float) -> tuple[FloatArray, FloatArray]:
    """Return the (m,) points of a line through (n,) points that leave it by less than `tolerance`.

    matplotlib's path simplification merges what runs along one vector and keeps the extremes, so a
    peak's apex and the width of the noise survive.
    """
    outline = Outline(np.column_stack([across, up]))
    outline.should_simplify = True
    outline.simplify_threshold = tolerance
    kept = outline.cleaned(simplify=True)
    vertices = np.asarray(kept.vertices)[np.asarray(kept.codes) != Outline.STOP]
    moved = np.ones(vertices.shape[0], dtype=bool)
    moved[1:] = np.any(np.diff(vertices, axis=0) != 0, axis=1)
    return vertices[moved, 0], vertices[moved, 1]


def few_points(across: FloatArray, up: FloatArray, tolerance: float) -> tuple[FloatArray, FloatArray]:
    """Return the line through (n,) pixels simplified, or where it is all noise, its extremes."""
    few = simplified(across, up, tolerance)
    return extremes(across, up) if few[0].size > 2 * (across[-1] - across[0]) + 2 else few


def extremes(across: FloatArray, up: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest point of each pixel column, in the order in which they come.

    `across` (n,) are pixels, not decreasing. A line through these looks like the line through all points,
    at two points a column however noisy it is.
    """
    column = np.floor(across).astype(np.int64)
    starts = np.flatnonzero(np.concatenate([[True], np.diff(column) > 0]))
    by_height = np.lexsort((up, column))
    ends = np.concatenate([starts[1:], [across.size]]) - 1
    kept = np.unique(np.concatenate([by_height[starts], by_height[ends], [0, across.size - 1]]))
    return across[kept], up[kept]


def path_data(across: FloatArray, up: FloatArray, places: int = 1) -> str:
    """Return the `d` of an SVG path through pixels (n,): one absolute start, then relative steps.

    Steps are differences of rounded positions, so rounding does not add up.
    """
    scale = 10**places
    x = np.rint(across * scale).astype(np.int64)
    y = np.rint(up * scale).astype(np.int64)
    steps = [
        f"{_short(dx, scale)} {_short(dy, scale)}"
        for dx, dy in zip(np.diff(x).tolist(), np.diff(y).tolist(), strict=True)
    ]
    return f"M{_short(int(x[0]), scale)} {_short(int(y[0]), scale)}l" + " ".join(steps).replace(" -", "-")


# A report of 2,000 traces writes four million steps, nearly all among the same few hundred.
@lru_cache(maxsize=1 << 15)
def _short(count: int, scale: int) -> str:
    """Return count ÷ scale with no needless digit: `-.3`, `12`."""
    text = f"{abs(count) / scale:.3f}".rstrip("0").rstrip(".").removeprefix("0")
    return ("-" if count < 0 else "") + (text or "0")


_PATH = re.compile(rb' d="([^"]*)"')
_PLACE = re.compile(rb' (?:x|y)="[^"]*"')
# What is taken away alone, and nothing put in its place: five times as quick as to put groups back.
_BEHIND_TENTHS = re.compile(rb"(?<=\d\.\d)\d+")
_NO_TENTHS = re.compile(rb"(?<=\d)\.0\b")
_BETWEEN_TAGS = re.compile(rb">\s+<")
_MARKS = re.compile(rb'(<g clip-path="[^"]*")>((?:<use [^>]*/>){2,})</g>')
_STYLE = re.compile(rb' style="[^"]*"')
HALOED = "haloed"
"""Words with this id get a rim in the colour of the ground: they stay legible above what they cross."""
RIM_PX = 3.0
"""Half of it lies outside the letters, a little more than a line is wide."""
_WORDS = re.compile(
    rb'<g id="haloed">(<!--[^>]*-->)?'
    rb'<g style="[^"]*" transform="([^"]*)">((?:<defs>.*?</defs>)?)(.*?)</g></g>',
    re.S,
)
# What begins with plain letters is looked for at these alone, not at each sign.
_LETTER = re.compile(rb'<path id="([^"]*)"(?: d="[^"]*")? transform="scale\(0.015625\)"')
_HASHED = re.compile(rb' id="([A-Za-z](?:\d+_\d+_)?[0-9a-f]{10})"')
_NAME = re.compile(rb'( id="|"#|url\(#)([^")]+)(?=["\)])')
_STEP = re.compile(rb' transform="translate\([^")]*\)')
_NAMED = re.compile(rb'(<use xlink:href="[^"]*") transform="translate\((-?[\d.]+) (-?[\d.]+)\)"/>')
_IDLE_BLANKS = re.compile(rb" ?([A-Za-z]) ?| (?=-)")
_COUNTED = re.compile(
    rb' id="(?:patch|line2d|text|xtick|ytick|axes|matplotlib\.axis|figure|PathCollection|LineCollection'
    rb'|FillBetweenPolyCollection)_\d+"'
)
"""Names that matplotlib gives to groups by their number: nothing leads to them."""
_SCALE = re.compile(rb"scale\(([\d.]+)")
_GLYPH_SCALE = 0.015625
"""Scale of the letters' outlines within their words, as matplotlib writes them."""


def slimmed(svg: bytes) -> bytes:
    """Return `svg` with short numbers, short paths, no blanks between tags, and styles said once."""
    svg = _PATH.sub(lambda found: b' d="' + _short_path(found.group(1)) + b'"', svg)
    svg = _PLACE.sub(lambda found: _short_numbers(found.group()), svg)
    svg = _BETWEEN_TAGS.sub(b"><", svg)
    svg = _STEP.sub(lambda found: _short_numbers(found.group()), svg)
    svg = _COUNTED.sub(b"", _NAMED.sub(_placed, svg))
    svg = _with_short_names(_WORDS.sub(_rimmed, svg))
    return _MARKS.sub(_style_once, svg)


def _short_numbers(text: bytes) -> bytes:
    """Cut numbers to tenths."""
    return _NO_TENTHS.sub(b"", _BEHIND_TENTHS.sub(b"", text))


# Half of the paths are letters and marks, the same in all figures.
@lru_cache(maxsize=1 << 11)
def _short_path(data: bytes) -> bytes:
    """Leave out each `L` behind an `M` or `L`: SVG reads further pairs as lines (SVG 1.1, 8.3.2)."""
    steps = []
    before = b""
    for step in _short_numbers(data).split(b"\n"):
        command = step[:1]
        steps.append(step[2:] if command == b"L" and before in (b"M", b"L") else step)
        before = command
    # Commands and signs need no blank beside them (SVG 1.1, 8.3.9).
    return _IDLE_BLANKS.sub(rb"\1", b" ".join(step.strip() for step in steps if step))


def _placed(found: re.Match[bytes]) -> bytes:
    """Return a letter in its place by x and y, which move it as a transform of its own would (5.6)."""
    places = (
        b"" if at == b"0" else b' %s="%s"' % (name, at)
        for name, at in zip((b"x", b"y"), found.groups()[1:], strict=True)
    )
    return b"".join((found.group(1), *places, b"/>"))


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
    """Number the letters, which matplotlib names after font and place in it, and what it names by a hash."""
    letters = {name: b"l%d" % place for place, name in enumerate(dict.fromkeys(_LETTER.findall(svg)))}
    hashed = {name: b"n%d" % place for place, name in enumerate(dict.fromkeys(_HASHED.findall(svg)))}
    short = {**hashed, **letters}
    return _NAME.sub(lambda name: name.group(1) + short.get(name.group(2), name.group(2)), svg)


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
    Image.fromarray(grey).save(buffer, "PNG")
    return b"data:image/png;base64," + b64encode(buffer.getvalue())
