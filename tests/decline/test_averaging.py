"""Quantiles of a mixture are where they say, however far off a component of little weight may lie."""

import numpy as np
import pytest
import scipy

from lyewitness.decline.averaging import Mixture, quantiles
from tests.findings.messy import messy

WANTED = (0.025, 0.05, 0.5, 0.95, 0.975)


def mixture_of(weight: list[float], middle: list[float], error: list[float], freedom: list[float]) -> Mixture:
    """Return a mixture at one exposure, none of it logarithmic."""
    column = [np.array(one)[:, None] for one in (weight, middle, error)]
    nothing = np.zeros(1)
    return Mixture(
        column[0],
        np.zeros(len(weight), dtype=bool),
        np.array(freedom),
        column[1],
        column[2],
        column[1],
        column[2],
        nothing,
        0.1,
        {},
    )


@pytest.mark.parametrize("far", [0.0, 1e2, 1e3, 1e5])
@pytest.mark.parametrize("share", [0.001, 0.01, 0.2])
@pytest.mark.parametrize("freedom", [2.0, 5.0, 30.0])
def test_quantiles_hold_their_chances(far: float, share: float, freedom: float) -> None:
    """Held against scipy's distributions: the chance below each quantile is the one that was asked for."""
    weight, middle, error = [1 - 2 * share, share, share], [100.0, 104.0 - far, 90.0], [1.5, far + 1.0, 20.0]
    found = quantiles(mixture_of(weight, middle, error, [freedom] * 3), False, WANTED)[:, 0]
    parts = scipy.stats.t.cdf((found[:, None] - np.array(middle)) / np.array(error), freedom)
    assert parts @ np.array(weight) == pytest.approx(WANTED, abs=0.01)


def test_no_column_fails_that_no_injection_saw_failing() -> None:
    """Five injections, none beyond 106 % where the limit is 184: the curve between them stays with them."""
    (symmetry,) = (
        one
        for one in messy(7005).judgement.declines
        if (one.series.column, one.series.marker, one.series.metric) == ("K2", "caffeine", "symmetry_factor")
    )
    assert symmetry.life.state == "not reached"
    assert 95.0 < symmetry.curve_percent.min() <= symmetry.curve_percent.max() < 110.0
