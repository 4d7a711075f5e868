"""Quantiles and probabilities are those of a library of statistics."""

import subprocess
import sys
from typing import Any

import numpy as np
import pytest
from scipy import stats

from lyewitness.decline import distributions

SHARES = np.array([1e-9, 1e-4, 0.025, 0.05, 0.5, 0.9, 0.975, 0.99995])[:, None]
FREEDOM = np.array([0.5, 1.0, 2.0, 3.0, 5.5, 10.0, 58.0, 1e3, 1e6])
PLACES = np.array([-40.0, -5.0, -1.0, 0.0, 0.3, 2.0, 9.0, 40.0])[:, None]


@pytest.mark.parametrize(
    ("name", "method", "arguments"),
    [
        ("norm", "pdf", (PLACES,)),
        ("norm", "cdf", (PLACES,)),
        ("norm", "sf", (PLACES,)),
        ("norm", "ppf", (SHARES,)),
        ("norm", "isf", (SHARES,)),
        ("t", "cdf", (PLACES, FREEDOM)),
        ("t", "sf", (PLACES, FREEDOM)),
        ("t", "ppf", (SHARES, FREEDOM)),
        ("nct", "cdf", (PLACES, FREEDOM[1:-1], 2.5)),
        ("chi2", "sf", (PLACES, FREEDOM)),
        ("chi2", "ppf", (SHARES, FREEDOM)),
        ("f", "sf", (np.abs(PLACES), 3, FREEDOM)),
        ("f", "ppf", (SHARES, 1, FREEDOM[1:])),
        ("beta", "ppf", (SHARES, FREEDOM[:-1], 4.0)),
        ("binom", "cdf", (np.arange(30)[:, None], np.array([30, 50, 100]), 0.95)),
    ],
)
def test_values_are_those_of_scipy_stats(name: str, method: str, arguments: tuple[Any, ...]) -> None:
    """Every distribution gives what the library gives, from far tails to the middle, for any shape."""
    ours, theirs = (getattr(getattr(home, name), method) for home in (distributions, stats))
    np.testing.assert_allclose(ours(*arguments), theirs(*arguments), rtol=1e-12, atol=1e-300)
    one = tuple(float(np.ravel(argument)[0]) for argument in arguments)
    assert float(ours(*one)) == pytest.approx(float(theirs(*one)), rel=1e-12)


def test_a_report_loads_no_library_of_statistics() -> None:
    """Loading it would take longer than what it is needed for."""
    asked = "import sys, lyewitness.pipeline; print('scipy.stats' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout == "False\n"
