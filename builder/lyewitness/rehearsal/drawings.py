"""Drawings that stand in for micrographs of packing and photographs of beds, with known discs.

In: an image plan and random bits. Out: PNG bytes. Place and size of every disc are known: `discs_of`.

Pixels are stored, not squeezed: compressors differ from one build of zlib to the next, and the drawings
must come out byte for byte.
"""

import struct
import zlib
from dataclasses import dataclass
from math import floor, log10

import numpy as np
from numpy.typing import NDArray

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.plans import GroupPlan, ImagePlan, Scenario
from lyewitness.words.arrays import FloatArray

SIGN_HEIGHT, SIGN_WIDTH = 7, 5
DOTS: dict[str, str] = {
    " ": "..... ..... ..... ..... ..... ..... .....",
    "0": ".###. #...# #..## #.#.# ##..# #...# .###.",
    "1": "..#.. .##.. ..#.. ..#.. ..#.. ..#.. .###.",
    "2": ".###. #...# ....# ...#. ..#.. .#... #####",
    "5": "##### #.... ####. ....# ....# #...# .###.",
    "d": "....# ....# .##.# #..## #...# #...# .####",
    "r": "..... ..... #.##. ##..# #.... #.... #....",
    "a": "..... ..... .###. ....# .#### #...# .####",
    "w": "..... ..... #...# #...# #.#.# #.#.# .#.#.",
    "i": "..#.. ..... .##.. ..#.. ..#.. ..#.. .###.",
    "n": "..... ..... #.##. ##..# #...# #...# #...#",
    "g": "..... .#### #...# #...# .#### ....# .###.",
    "m": "..... ..... ##.#. #.#.# #.#.# #.#.# #.#.#",
    "µ": "..... #...# #...# #..## ###.# #.... #....",
}  # fmt: skip


def stamp(image: NDArray[np.float64], text: str, left: int, top: int, scale: int = 2) -> int:
    """Write `text` in black into `image`; return where it ends. KeyError for a sign that has no dots."""
    for sign in text:
        rows = DOTS[sign].split()
        dots = np.array([[dot == "#" for dot in row] for row in rows]).repeat(scale, 0).repeat(scale, 1)
        image[top : top + SIGN_HEIGHT * scale, left : left + SIGN_WIDTH * scale][dots] = 0.0
        left += (SIGN_WIDTH + 1) * scale
    return left


# The longest stored block of RFC 1951.
STORED_BLOCK = 65535


def grey_png(image: NDArray[np.float64], description: str) -> bytes:
    """Return a PNG of `image`, (height, width) from 0 black to 1 white, with a description in it."""
    height, width = image.shape
    levels = np.clip(np.rint(image * 15), 0, 15).astype(np.uint8)
    if width % 2:
        levels = np.pad(levels, ((0, 0), (0, 1)))
    packed = (levels[:, ::2] << 4) | levels[:, 1::2]
    # Each row begins with its filter type, 0 for none.
    rows = np.pad(packed, ((0, 0), (1, 0))).tobytes()
    return b"".join(
        (
            b"\x89PNG\r\n\x1a\n",
            _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 4, 0, 0, 0, 0)),
            _chunk(b"tEXt", b"Description\0" + description.encode("latin-1")),
            _chunk(b"IDAT", _stored(rows)),
            _chunk(b"IEND", b""),
        )
    )


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _stored(data: bytes) -> bytes:
    """Return `data` as a zlib stream of stored blocks (RFC 1950, RFC 1951 section 3.2.4)."""
    blocks = [data[start : start + STORED_BLOCK] for start in range(0, len(data), STORED_BLOCK)]
    stream = bytearray(b"\x78\x01")
    for number, block in enumerate(blocks):
        last = number == len(blocks) - 1
        stream += struct.pack("<BHH", last, len(block), len(block) ^ 0xFFFF) + block
    return bytes(stream + struct.pack(">I", zlib.adler32(data)))


WIDTH, HEIGHT, STRIP = 480, 384, 24
"""Pixels of a drawing, and of the strip at its foot with the scale bar and the word 'drawing'."""
SIZE_SPREAD = 0.03
"""Relative standard deviation of the particle size."""
TRIES = 4000
GROUND = 0.13
GRAINS, CLOUDS = 3200, 14
"""Grains of a sintered frit in view, and places where something has settled on it."""


@dataclass(frozen=True, slots=True)
class Disc:
    """One particle of a drawing, in pixels."""

    x: float
    y: float
    radius: float
    core_radius: float
    """0 for a particle without a core."""


def draw(image: ImagePlan, group: GroupPlan, stream: np.random.PCG64) -> bytes:
    """Return the PNG of one planned image of a column of `group`."""
    if image.subject == "bed":
        canvas = _bed(group.inner_diameter_mm * 1e6 / image.nm_per_pixel / 2, image.damage, stream)
    elif image.subject == "frit":
        canvas = _frit(group.inner_diameter_mm * 1e6 / image.nm_per_pixel / 2, image.damage, stream)
    else:
        canvas = _particles(discs_of(image, group, stream), image.damage, stream)
    canvas = np.vstack([canvas, np.ones((STRIP, WIDTH))])
    _scale_bar(canvas, image.nm_per_pixel)
    return grey_png(canvas, f"Drawing that stands in for a {image.kind}; invented.")


def group_of(image: ImagePlan, scenario: Scenario) -> GroupPlan:
    """Return the group whose column the image shows; KeyError where there is none."""
    for group in scenario.groups:
        if image.column in {f"{group.letter}{number}" for number in range(1, group.columns + 1)}:
            return group
    raise KeyError(image.column)


def discs_of(image: ImagePlan, group: GroupPlan, stream: np.random.PCG64) -> tuple[Disc, ...]:
    """Return particles that do not overlap, laid down one by one where there is room."""
    radius = group.particle_um * 1000 / image.nm_per_pixel / 2
    sizes = radius * np.exp(SIZE_SPREAD * signals.normal(stream, (TRIES,)))
    x = (WIDTH + 2 * radius) * signals.uniform(stream, (TRIES,)) - radius
    y = (HEIGHT + 2 * radius) * signals.uniform(stream, (TRIES,)) - radius
    laid: list[Disc] = []
    for i in range(TRIES):
        apart = all((d.x - x[i]) ** 2 + (d.y - y[i]) ** 2 > (d.radius + sizes[i] + 1) ** 2 for d in laid)
        if apart:
            core = sizes[i] * (group.core_ratio or 0.0)
            laid.append(Disc(float(x[i]), float(y[i]), float(sizes[i]), float(core)))
    return tuple(laid)


def _particles(discs: tuple[Disc, ...], damage: float, stream: np.random.PCG64) -> FloatArray:
    """Return lit spheres on a dark ground; damage eats pits into them and strews fragments between."""
    canvas = np.full((HEIGHT, WIDTH), GROUND)
    _strew(canvas, damage, stream)
    for disc in discs:
        _sphere(canvas, disc, damage, stream)
    return np.asarray(np.clip(canvas + 0.012 * signals.normal(stream, canvas.shape), 0, 1))


def _window(x: float, y: float, radius: float) -> tuple[tuple[slice, slice], FloatArray, FloatArray]:
    """Return the part of the canvas that holds a disc, and its rows and columns from the disc's centre."""
    top, left = max(0, floor(y - radius) - 1), max(0, floor(x - radius) - 1)
    bottom, right = min(HEIGHT, max(top, floor(y + radius) + 3)), min(WIDTH, max(left, floor(x + radius) + 3))
    rows, columns = np.mgrid[top:bottom, left:right].astype(float)
    return (slice(top, bottom), slice(left, right)), rows - y, columns - x


def _strew(canvas: FloatArray, damage: float, stream: np.random.PCG64) -> None:
    """Draw fragments; where a particle comes to lie it covers them."""
    places = signals.uniform(stream, (90, 3))
    for across, down, size in places[: round(90 * damage)].tolist():
        radius = 1.5 + 4 * size
        part, rows, columns = _window(across * WIDTH, down * HEIGHT, radius)
        canvas[part] += np.clip(radius - np.hypot(columns, rows) + 0.5, 0, 1) * (0.5 - canvas[part])


def _sphere(canvas: FloatArray, disc: Disc, damage: float, stream: np.random.PCG64) -> None:
    """Draw one particle, lit from the upper left; one with a core is cut open to show it."""
    part, rows, columns = _window(disc.x, disc.y, disc.radius)
    distance = np.hypot(rows, columns)
    down_right = (rows + columns) / disc.radius
    if disc.core_radius:
        shade = 0.52 + 0.3 * np.clip(disc.core_radius - distance + 0.5, 0, 1) - 0.06 * down_right
    else:
        height = np.sqrt(np.clip(1 - (distance / disc.radius) ** 2, 0, 1))
        shade = 0.42 + 0.6 * np.clip(0.5 * height - 0.25 * down_right, -0.2, 0.6)
    for x, y, size in _pits(disc, damage, stream):
        hole = np.clip(size - np.hypot(columns - x, rows - y) + 0.5, 0, 1)
        shade = shade * (1 - 0.65 * hole)
    cover = np.clip(_edge(rows, columns, disc, damage, stream) - distance + 0.5, 0, 1)
    canvas[part] += cover * (np.clip(shade, 0.05, 0.97) - canvas[part])


def _edge(
    rows: FloatArray, columns: FloatArray, disc: Disc, damage: float, stream: np.random.PCG64
) -> FloatArray:
    """Return how far the particle reaches in the direction of each pixel: round, or ragged by damage."""
    waves = (signals.uniform(stream, (5,)) * 2 * np.pi).tolist()
    angle = np.arctan2(rows, columns)
    ragged = np.sum([np.sin((3 + 2 * k) * angle + wave) / (k + 1.5) for k, wave in enumerate(waves)], axis=0)
    return np.asarray(disc.radius * (1 - 0.05 * damage * (1 + ragged)))


def _pits(disc: Disc, damage: float, stream: np.random.PCG64) -> list[tuple[float, float, float]]:
    """Return (x, y, radius) of the pits of one particle: in the shell only where it has a core."""
    draw = signals.uniform(stream, (26, 3))
    inner = disc.core_radius * 1.12
    reach = inner + (0.96 * disc.radius - inner) * np.sqrt(draw[:, 0])
    size = disc.radius * (0.03 + 0.09 * draw[:, 2] * (0.5 + damage / 2))
    turn = 2 * np.pi * draw[:, 1]
    pits = np.column_stack([reach * np.cos(turn), reach * np.sin(turn), size])
    return [(x, y, r) for x, y, r in pits[: round(26 * damage)].tolist()]


def _bed(radius: float, damage: float, stream: np.random.PCG64) -> FloatArray:
    """Return the inlet end of a bed in its tube: grainy, and sunken at the wall where damaged."""
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    rows, columns = rows - HEIGHT / 2, columns - WIDTH / 2
    distance = np.hypot(rows, columns)
    grain = 0.05 * signals.normal(stream, distance.shape)
    turn, wave = (2 * np.pi * signals.uniform(stream, (2,))).tolist()
    angle = np.arctan2(rows, columns)
    sunken = radius * (
        1 - 0.55 * damage * np.clip(np.cos(angle - turn) + 0.25 * np.sin(5 * angle + wave), 0, 1)
    )
    bed = 0.85 + grain - 0.5 * np.clip((distance - sunken) / 6 + 0.5, 0, 1)
    tube = 0.35 + 0.1 * np.clip(-(rows + columns) / (2 * radius), -1, 1)
    outside = np.clip(distance - radius + 0.5, 0, 1)
    beyond = np.clip(distance - 1.35 * radius + 0.5, 0, 1)
    canvas = bed * (1 - outside) + tube * outside
    return np.asarray(np.clip(canvas * (1 - beyond) + 0.97 * beyond, 0, 1))


def _frit(radius: float, damage: float, stream: np.random.PCG64) -> FloatArray:
    """Return an inlet frit: sintered grains with dark pores, and a pale deposit on it where damaged."""
    rows, columns = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    rows, columns = rows - HEIGHT / 2, columns - WIDTH / 2
    distance = np.hypot(rows, columns)
    sinter = np.full(distance.shape, 0.2)
    for across, down, size in signals.uniform(stream, (GRAINS, 3)).tolist():
        grain = 5.0 + 7.0 * size
        part, y, x = _window(across * WIDTH, down * HEIGHT, grain)
        ball = np.clip(1 - (np.hypot(x, y) / grain) ** 2, 0, 1)
        sinter[part] = np.maximum(sinter[part], 0.3 + 0.35 * ball - 0.05 * (x + y) / grain)
    clouds = np.zeros(distance.shape)
    for across, down, size in signals.uniform(stream, (CLOUDS, 3)).tolist():
        far = np.hypot(columns - (across - 0.5) * 2 * radius, rows - (down - 0.5) * 2 * radius)
        clouds += np.exp(-0.5 * (far / (radius * (0.12 + 0.2 * size))) ** 2)
    cover = np.clip(clouds * damage, 0, 1) * 0.85
    inside = np.clip(radius - distance + 0.5, 0, 1)
    face = sinter * (1 - cover) + (0.88 + 0.03 * signals.normal(stream, distance.shape)) * cover
    ring = 0.5 + 0.1 * np.clip(-(rows + columns) / (2 * radius), -1, 1)
    beyond = np.clip(distance - 1.3 * radius + 0.5, 0, 1)
    canvas = face * inside + ring * (1 - inside)
    return np.asarray(np.clip(canvas * (1 - beyond) + 0.97 * beyond, 0, 1))


def bar_nm(nm_per_pixel: float) -> float:
    """Return the length of the scale bar: 1, 2 or 5 times a power of ten, at most 0.35 of the width."""
    most = 0.35 * WIDTH * nm_per_pixel
    ten = 10.0 ** floor(log10(most))
    return max(step * ten for step in (1, 2, 5) if step * ten <= most)


def _scale_bar(canvas: FloatArray, nm_per_pixel: float) -> None:
    """Draw the scale bar with its length, and the word 'drawing', into the strip."""
    length = bar_nm(nm_per_pixel)
    text = f"{length / 1e6:g} mm" if length >= 1e6 else f"{length / 1e3:g} µm"
    bar = round(length / nm_per_pixel)
    canvas[HEIGHT + 9 : HEIGHT + 15, 12 : 12 + bar] = 0.0
    stamp(canvas, text, 12 + bar + 10, HEIGHT + 5)
    stamp(canvas, "drawing", WIDTH - 96, HEIGHT + 5)
