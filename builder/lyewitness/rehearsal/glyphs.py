"""The few letters and digits that a drawing bears, as dots, so that no font is needed.

In: text, a grey image. Out: the image with the text in it.
"""

import numpy as np
from numpy.typing import NDArray

HEIGHT, WIDTH = 7, 5
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
        image[top : top + HEIGHT * scale, left : left + WIDTH * scale][dots] = 0.0
        left += (WIDTH + 1) * scale
    return left
