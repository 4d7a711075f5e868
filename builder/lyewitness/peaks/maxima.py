"""What stands out of a signal, as scipy.signal tells it, without the rest of that library.

In: a signal, places in it. Out: its maxima, how far they rise, how wide they are.

Loading all of scipy.signal brings filters, splines and scipy.stats: 0.45 s of processor, of which three
compiled functions are used here.
"""

from functools import cache
from importlib import import_module
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from typing import Any

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray

Places = NDArray[np.intp]
Risen = tuple[FloatArray, Places, Places]
"""Prominences, and where the bases left and right of them lie."""
COMPILED = "_peak_finding_utils"


@cache
def _compiled() -> Any:
    """Return the compiled functions; loaded with all of scipy.signal where a release keeps them elsewhere."""
    spec = PathFinder.find_spec(COMPILED, [f"{folder}/signal" for folder in scipy.__path__])
    if spec is None or spec.loader is None:
        return import_module(f"scipy.signal.{COMPILED}")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def local_maxima(signal: FloatArray) -> Places:
    """Return the places higher than both neighbours; of a flat top its middle (`scipy.signal.find_peaks`)."""
    return np.asarray(_compiled()._local_maxima_1d(np.ascontiguousarray(signal))[0])


def prominences(signal: FloatArray, places: Places) -> Risen:
    """Return how far each maximum rises above its higher pass (`scipy.signal.peak_prominences`)."""
    risen, left, right = _compiled()._peak_prominences(np.ascontiguousarray(signal), places, -1)
    return risen, left, right


def half_widths(
    signal: FloatArray, places: Places, risen: Risen
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return widths at half prominence, and where they begin and end (`scipy.signal.peak_widths`); points."""
    wide, _, before, behind = _compiled()._peak_widths(np.ascontiguousarray(signal), places, 0.5, *risen)
    return wide, before, behind
