"""Traces as few points, without losing what is to be seen."""

import re

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.figures.slimming import extremes, path_data, simplified
from lyewitness.words.arrays import FloatArray


def test_a_straight_line_needs_few_points() -> None:
    """What lies on one line costs nothing."""
    across = np.linspace(0, 700, 5000)
    assert simplified(across, 0.2 * across, 0.33)[0].size <= 5


def test_a_peak_keeps_its_apex_and_its_course() -> None:
    """The simplified line leaves the trace by less than half a pixel, apex included."""
    across = np.linspace(0, 700, 6000)
    up = 200 * np.exp(-0.5 * ((across - 333.3) / 3.0) ** 2) + 20 * np.exp(-0.5 * ((across - 500) / 30) ** 2)
    x, y = simplified(across, up, 0.33)
    assert x.size < 300
    assert abs(y.max() - up.max()) < 0.5
    assert max(_distance(point, x, y) for point in np.column_stack([across, up])[::7]) < 0.5


def test_noise_keeps_its_extremes() -> None:
    """However noisy, each pixel column keeps its lowest and highest point, and two points at most."""
    across = np.sort(np.random.default_rng(3).uniform(0, 600, 20_000))
    up = np.random.default_rng(4).normal(0, 30, 20_000)
    x, y = extremes(across, up)
    assert x.size <= 2 * 600 + 2
    assert np.all(np.diff(x) >= 0)
    for column in (0, 123, 599):
        inside, kept = up[np.floor(across) == column], y[np.floor(x) == column]
        assert (kept.min(), kept.max()) == (inside.min(), inside.max())


def _distance(point: FloatArray, x: FloatArray, y: FloatArray) -> float:
    """Return how far a point lies from the nearest segment of a line."""
    starts, steps = np.column_stack([x, y])[:-1], np.column_stack([np.diff(x), np.diff(y)])
    share = np.clip(np.sum((point - starts) * steps, axis=1) / np.sum(steps**2, axis=1), 0, 1)
    return float(np.min(np.linalg.norm(starts + share[:, None] * steps - point, axis=1)))


@given(st.lists(st.tuples(st.floats(-900, 900), st.floats(-900, 900)), min_size=2, max_size=40))
def test_path_data_says_the_points(points: list[tuple[float, float]]) -> None:
    """Read back step by step, a path goes through the points to a tenth of a pixel."""
    x, y = np.array(points).T
    data = path_data(x, y)
    start, steps = data[1:].split("l")
    numbers = [float(word) for word in re.findall(r"-?[\d.]+", start + " " + steps)]
    read = np.cumsum(np.array(numbers).reshape(-1, 2), axis=0)
    assert np.allclose(read, np.column_stack([x, y]), atol=0.0501)
