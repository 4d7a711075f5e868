"""The least-squares engine against certified values."""

from pathlib import Path

import numpy as np
import pytest
import scipy.optimize
import scipy.stats

from lyewitness.decline.accelerated import straight
from lyewitness.decline.choosing import fit_shape, refine, starts
from lyewitness.decline.shapes import SHAPES
from tests.decline.nist_sets import MODELS, batched, certified_set


def digits(found: np.ndarray, certified: np.ndarray) -> float:
    """Return how many digits match, the worst of them (NIST's log relative error)."""
    relative = np.abs(found - certified) / np.abs(certified)
    return float(-np.log10(np.maximum(relative, 1e-16)).min())


@pytest.mark.parametrize("name", MODELS)
@pytest.mark.parametrize("start", [0, 1])
def test_nonlinear_least_squares_meet_the_certified_values(name: str, start: int) -> None:
    """NIST StRD nonlinear sets: seven digits or more of every parameter, from both published starts."""
    known = certified_set(name)
    curve, jacobian = batched(known.model)
    found = refine(
        curve, jacobian, known.starts[start][None, :], known.x, known.y[None, :], rounds=600, tolerance=0.0
    )
    assert digits(found[0], known.certified) >= 7
    squares = float(((known.y - curve(found, known.x)[0]) ** 2).sum())
    assert squares == pytest.approx(known.squares, rel=1e-9)


def test_certified_sets_are_fitted_together() -> None:
    """Both starts of a set in one batch lead to the same parameters as each by itself."""
    known = certified_set("Misra1a")
    curve, jacobian = batched(known.model)
    y = np.stack([known.y, known.y])
    found = refine(curve, jacobian, np.stack(known.starts), known.x, y, rounds=300, tolerance=0.0)
    assert found[0] == pytest.approx(found[1], rel=1e-7)


def norris() -> tuple[np.ndarray, np.ndarray]:
    """Return x, y of NIST StRD's Norris, from the file that scipy carries for its own tests."""
    path = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    rows = [line.split() for line in path.read_text(encoding="utf-8").splitlines()[60:96]]
    data = np.array([[float(value) for value in row] for row in rows])
    return data[:, 1], data[:, 0]


def test_straight_lines_meet_the_certified_values() -> None:
    """NIST StRD Norris: certified slope, intercept and residual standard deviation."""
    x, y = norris()
    line = straight(x, y)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)
    fitted = fit_shape(SHAPES["straight line"], x, y[None, :])[0]
    assert fitted == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-7)


TRUE = {
    "steady": [100.0],
    "straight line": [101.0, -35.0],
    "first order": [99.0, 0.7],
    "first order to a rest": [100.0, -40.0, 4.0],
    "delayed": [100.0, 1.5, 0.41],
    "delayed to a rest": [100.0, 60.0, 3.0, 0.3],
    "sigmoid": [100.0, -70.0, 0.55, 0.08],
}


@pytest.mark.parametrize("name", SHAPES)
def test_every_shape_is_found_again_without_noise(name: str) -> None:
    """Curves without noise give back the parameters they were drawn with."""
    shape, u = SHAPES[name], np.linspace(0.0, 1.0, 25)
    theta = np.array([TRUE[name]])
    y = shape.curve(theta, u)
    found = refine(
        shape.curve, shape.jacobian, starts(shape, u, y), u, y, shape.clipped, rounds=200, tolerance=0.0
    )
    assert found[0] == pytest.approx(theta[0], rel=1e-5)


# Without noise, but with what no curve of the shape follows: the best one lies at a bound.
BEYOND = {
    "first order to a rest": np.linspace(100.0, 60.0, 25),
    "delayed": 100.0 * np.exp(-3.0 * np.linspace(0.0, 1.0, 25) ** 0.5),
    "delayed to a rest": 100.0 - 40.0 * np.linspace(0.0, 1.0, 25) ** 0.5,
    "sigmoid": 100.0 - 40.0 * np.linspace(0.0, 1.0, 25) ** 0.7,
}


@pytest.mark.parametrize("name", BEYOND)
def test_what_presses_against_a_bound_is_held_there(name: str) -> None:
    """The best curve within the bounds is found as SciPy's trust region finds it, in the usual rounds."""
    shape, u, y = SHAPES[name], np.linspace(0.0, 1.0, 25), BEYOND[name]
    found = fit_shape(shape, u, y[None])
    lowest, highest = np.array(shape.lowest), np.array(shape.highest)
    assert ((found[0] == lowest) | (found[0] == highest)).any()

    def left(theta: np.ndarray) -> np.ndarray:
        return np.asarray(y - shape.curve(theta[None], u)[0])

    peer = scipy.optimize.least_squares(
        left,
        np.clip(starts(shape, u, y[None])[0], lowest + 1e-6, highest - 1e-6),
        bounds=(lowest, highest), x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14, max_nfev=5000,
    )  # fmt: skip
    assert float((left(found[0]) ** 2).sum()) <= 2 * peer.cost * (1 + 1e-6)


@pytest.mark.parametrize("name", SHAPES)
def test_what_fits_best_already_is_left_after_a_step_or_two(name: str) -> None:
    """A step that changes nothing but the last bits ends the search, whichever way they fall."""
    shape, u = SHAPES[name], np.linspace(0.0, 1.0, 25)
    noise = np.random.default_rng(3).standard_normal((12, 25))
    y = shape.curve(np.array([TRUE[name]]), u) + noise
    best = refine(shape.curve, shape.jacobian, starts(shape, u, y), u, y, shape.clipped, rounds=200)
    asked = 0

    def jacobian(theta: np.ndarray, at: np.ndarray) -> np.ndarray:
        nonlocal asked
        asked += 1
        return shape.jacobian(theta, at)

    for one, own in zip(best, y, strict=True):
        refine(shape.curve, jacobian, one[None], u, own[None], shape.clipped)
    assert asked <= 2 * len(y)


@pytest.mark.parametrize("name", SHAPES)
def test_jacobians_are_the_derivatives_of_the_curves(name: str) -> None:
    """Every Jacobian agrees with central differences."""
    shape, u = SHAPES[name], np.linspace(0.0, 1.0, 24)
    theta = np.array([TRUE[name]])
    for index in range(shape.parameters):
        step = np.zeros_like(theta)
        step[0, index] = 1e-6 * abs(theta[0, index])
        slope = (shape.curve(theta + step, u) - shape.curve(theta - step, u)) / (2 * step[0, index])
        assert shape.jacobian(theta, u)[0, :, index] == pytest.approx(slope[0], rel=1e-5, abs=1e-5)
