"""Whether two pictures show the same place, and how far the second lies from the first.

In: two grey images of one size. Out: `Place`. The method: each picture without its mean fades out towards
its edges; the phases of both spectra alone say by which shift one lies on the other; the two are then laid
on each other by that shift, and believed only where the one tells the other.

    r(d) = F⁻¹[ A B* ÷ |A B*| ]

Kuglin and Hines, Proc. IEEE Int. Conf. Cybernetics and Society 1975, 163. The height of that peak alone is no
reason to trust it: two fields of equal spheres that have nothing to do with each other give peaks of 11 to 44
standard deviations, the same frit before and after 16 to 21.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from lyewitness.words.arrays import FloatArray

TOLD_ABOVE = 0.7
"""Correlation in the common part from which on two pictures show one place: half of the variance of the one
is then told by the other (r² = 0.5). Unrelated fields of equal spheres stay below 0.3 whatever the shift."""
SHIFT_BELOW = 0.2
"""Share of a side that a picture may have moved: with more, less than two thirds of it could be compared."""
SAME_SCALE = 0.005
"""Relative difference of two scales that is no difference: a fifth of a per cent moves an edge by a pixel."""
SMALLEST_SIDE = 32
"""Pixels: below this a shift of one in five is a handful of pixels, and chance matches."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the second picture lies on the first, shares of width and height; right and down are positive."""

    across: float
    down: float
    correlation: float | None
    """Of the greys in the common part; None where that is not why the place is believed."""


def placed(first: FloatArray, second: FloatArray) -> Place | None:
    """Return where `second` (h, w) lies on `first` (h, w); None where nothing says that they show one."""
    if first.shape != second.shape or min(first.shape) < SMALLEST_SIDE:
        return None
    found = shift_of(first, second)
    height, width = first.shape
    if abs(found[0]) > SHIFT_BELOW * width or abs(found[1]) > SHIFT_BELOW * height:
        return None
    told = correlation(first, second, *found)
    return Place(found[0] / width, found[1] / height, told) if told >= TOLD_ABOVE else None


def shift_of(first: FloatArray, second: FloatArray) -> tuple[int, int]:
    """Return (right, down) in pixels that `second` must be moved by to lie on `first`: the highest peak."""
    spectra = [scipy.fft.rfft2(_faded(one)) for one in (first, second)]
    cross = spectra[0] * np.conj(spectra[1])
    phases = cross / np.maximum(np.abs(cross), np.finfo(np.float64).tiny)
    surface = scipy.fft.irfft2(phases, first.shape)
    down, across = np.unravel_index(int(np.argmax(surface)), first.shape)
    return _signed(int(across), first.shape[1]), _signed(int(down), first.shape[0])


def correlation(first: FloatArray, second: FloatArray, across: int, down: int) -> float:
    """Return the correlation of the greys that both pictures have once `second` is moved; 0 for even ones."""
    height, width = first.shape
    here = first[max(down, 0) : height + min(down, 0), max(across, 0) : width + min(across, 0)]
    there = second[max(-down, 0) : height - max(down, 0), max(-across, 0) : width - max(across, 0)]
    one, other = here - here.mean(), there - there.mean()
    weight = float(np.sqrt(np.sum(one**2) * np.sum(other**2)))
    return float(np.sum(one * other)) / weight if weight > 0 else 0.0


def _faded(picture: FloatArray) -> FloatArray:
    """Return the picture without its mean, faded out towards its edges, which are nothing that it shows."""
    rows, columns = (np.hanning(side + 2)[1:-1] for side in picture.shape)
    return np.asarray((picture - picture.mean()) * rows[:, None] * columns[None, :])


def _signed(shift: int, side: int) -> int:
    """Return a shift that runs round the edge as the shorter way."""
    return shift if shift <= side // 2 else shift - side
