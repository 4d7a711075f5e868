"""Maxima, their prominences and widths, beside what scipy.signal's own doors give of the same signal."""

import subprocess
import sys

import numpy as np
import pytest
from scipy.signal import find_peaks

from lyewitness.peaks.narrow import narrow_peaks


@pytest.mark.parametrize("seed", range(6))
def test_narrow_peaks_are_those_that_the_library_finds(seed: int) -> None:
    """Places, prominences and widths are those of `scipy.signal.find_peaks`, to the last bit."""
    chance = np.random.default_rng(seed)
    place = np.arange(3000.0)
    apexes, wide = chance.uniform(0, 3000, 40), chance.uniform(1, 12, 40)
    signal = np.round(chance.normal(0, 0.5, 3000) + 0.01 * place, 1)
    signal += (20 * np.exp(-0.5 * ((place[:, None] - apexes) / wide) ** 2)).sum(axis=1)
    places, told = find_peaks(signal, prominence=12.0, width=(2.5, 20.0))
    found = narrow_peaks(signal, 12.0, (2.5, 20.0))
    assert len(places) > 5
    for mine, theirs in zip(found, (places, told["prominences"], told["widths"]), strict=True):
        assert np.array_equal(mine, theirs)


def test_peaks_are_found_without_the_rest_of_the_library() -> None:
    """Filters and statistics, which take half a second to load, are not loaded."""
    probe = (
        "import sys, numpy as np; from lyewitness.peaks.narrow import narrow_peaks\n"
        "assert len(narrow_peaks(np.sin(np.arange(99.0)), 1.0, (1.0, 9.0))[0])\n"
        "print([name for name in ('scipy.signal', 'scipy.stats') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
