"""The conservative life against the published example.

LeBlond, Griffith, Aubuchon, 'Linear Regression 102', J. Valid. Technol. 2011, 17(3), 47: potency in %
against months, lower limit 95 %; published lives 26, 23.4 and 15.6 months.
"""

import numpy as np
import pytest
from scipy import stats

from lyewitness.decline.shelf_life import Batch, shelf_life

DATA = {
    "b2": "0 101.0, 1 101.3, 3 99.8, 3 99.2, 6 99.5, 6 97.8, 12 97.4, 12 97.2, 24 96.9, 24 96.0",
    "b3": "0 104.8, 3 103.0, 3 101.2, 6 100.8, 6 99.2, 12 98.6, 12 97.2, 24 97.6, 24 98.0",
    "b4": "0 104.0, 3 103.2, 6 102.8, 6 103.3, 12 102.4, 12 101.2, 24 99.1, 24 99.5",
    "b5": "0 102.0, 1 101.4, 2 100.8, 3 100.2, 3 99.7, 6 98.8, 6 98.5, 12 98.0, 12 97.1, 24 96.6, 24 96.1",
    "b7": "0 101.3, 1 101.5, 3 100.2, 3 99.8, 6 99.0, 6 98.5, 12 98.5, 12 97.4, 24 96.6, 24 96.4",
    "b8": "0 101.6, 3 100.0, 6 99.0, 12 97.8, 12 97.0",
}


def batches(*names: str) -> list[Batch]:
    """Return the published batches."""
    found = []
    for name in names:
        pairs = np.array([[float(value) for value in pair.split()] for pair in DATA[name].split(", ")])
        found.append((pairs[:, 0], pairs[:, 1]))
    return found


def test_batches_that_do_not_differ_are_pooled_to_one_line() -> None:
    """b2, b5, b7: neither slopes nor intercepts differ at 0.25; one line, 26 months as published."""
    found = shelf_life(batches("b2", "b5", "b7"), 95.0)
    assert found.pooling == "one line"
    assert found.slopes_p == pytest.approx(0.797, abs=5e-4)
    assert found.intercepts_p == pytest.approx(0.651, abs=5e-4)
    assert found.intercepts[0] == pytest.approx(100.56688, abs=1e-5)
    assert found.slopes[0] == pytest.approx(-0.19299363, abs=1e-8)
    assert found.life == pytest.approx(25.99576, abs=1e-5)


def test_batches_with_own_intercepts_keep_them() -> None:
    """b3, b4, b5: slopes alike (F = 0.183109), intercepts not (F = 21.73802); 23.4 months as published."""
    found = shelf_life(batches("b3", "b4", "b5"), 95.0)
    assert found.pooling == "separate intercepts"
    assert found.slopes_p == pytest.approx(stats.f.sf(0.183109, 2, 22), rel=1e-5)
    assert found.intercepts_p == pytest.approx(stats.f.sf(21.73802, 2, 22), rel=1e-5)
    assert found.slopes[0] == pytest.approx(-0.21312087, abs=1e-8)
    assert found.life == pytest.approx(23.39727, abs=1e-5)


def test_batches_that_differ_stay_apart() -> None:
    """b4, b5, b8: slopes differ (p = 0.170); 15.6 months with the common mean square, as published."""
    found = shelf_life(batches("b4", "b5", "b8"), 95.0)
    assert found.pooling == "separate lines"
    assert found.slopes_p == pytest.approx(0.170, abs=5e-4)
    assert found.life == pytest.approx(15.60613, abs=1e-5)
    own = shelf_life(batches("b4", "b5", "b8"), 95.0, pooled_variance=False)
    assert own.life == pytest.approx(15.84488, abs=1e-5)


def test_a_rising_metric_is_the_mirror_of_a_falling_one() -> None:
    """Values mirrored about 100 meet the mirrored limit at the same exposure."""
    falling = shelf_life(batches("b2", "b5", "b7"), 95.0)
    mirrored = [(hours, 200.0 - values) for hours, values in batches("b2", "b5", "b7")]
    assert shelf_life(mirrored, 105.0, falling=False).life == pytest.approx(falling.life, rel=1e-12)


def test_a_single_batch_is_not_tested_for_pooling() -> None:
    """One batch has its own line and no pooling test, and its bound is the one of separate lines."""
    found = shelf_life(batches("b8"), 95.0)
    assert found.slopes_p is None
    assert found.life == pytest.approx(15.84488, abs=1e-5)


def test_a_line_that_rises_never_meets_a_lower_limit() -> None:
    """Batches that do not decline have no conservative life."""
    hours = np.linspace(0.0, 10.0, 8)
    assert shelf_life([(hours, 100.0 + hours + 0.1 * np.sin(9 * hours))], 95.0).life is None


def test_too_few_points_are_refused() -> None:
    """Two points a batch leave nothing to judge the lines by."""
    with pytest.raises(ValueError, match="too few points"):
        shelf_life([(np.array([0.0, 1.0]), np.array([100.0, 99.0]))] * 2, 95.0)
