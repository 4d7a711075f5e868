"""What came through no column: a bubble is told from a peak of another substance, and from a spike."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lyewitness.findings.excursions import dips_of, narrow_of, noisier, spikes_of
from lyewitness.pipeline import compute
from lyewitness.traces.records import Trace
from tests.chemists_study import BAD, write

Floats = NDArray[np.float64]
TIME = np.linspace(0.0, 6.0, 1801)
NARROWEST = 0.025
"""Half-height width ÷ retention time at about 9000 plates."""


def gauss(time: Floats, at: float, width: float, height: float) -> Floats:
    """Return a Gaussian of that width at half height."""
    return np.asarray(height * np.exp(-4 * np.log(2) * ((time - at) / width) ** 2), dtype=np.float64)


def trace(*parts: Floats) -> Trace:
    """Return a trace of two markers with what is added to it."""
    signal = gauss(TIME, 2.0, 0.05, 60.0) + gauss(TIME, 4.0, 0.1, 40.0) + sum(parts, np.zeros_like(TIME))
    noise = np.random.default_rng(4).normal(0.0, 0.02, TIME.size)
    return Trace("a.csv", "", TIME, signal + noise, "mAU", "min", "delimited text", "0" * 64)


def passing(time: Floats) -> Floats:
    """Return a bubble that passes the cell: up steeply, then below the baseline."""
    return np.asarray(gauss(time, 1.3, 0.02, 25.0) - gauss(time, 1.33, 0.025, 14.0), dtype=np.float64)


def caught(time: Floats) -> Floats:
    """Return a bubble that hangs in the cell for two seconds and turns the light away."""
    return np.asarray(gauss(time, 2.5, 0.02, 22.0), dtype=np.float64)


def dark(time: Floats) -> Floats:
    """Return a bubble that lets more light through."""
    return np.asarray(-gauss(time, 1.4, 0.03, 18.0), dtype=np.float64)


def test_a_dip_that_no_neighbour_has_is_found() -> None:
    """A signal that falls below its baseline for some points has a dip there, one that wanders has none."""
    wandering = 8 * np.sin(TIME)
    assert dips_of(trace(dark(TIME)), (trace(), trace()), 3.0, NARROWEST) == pytest.approx([1.4], abs=0.01)
    assert dips_of(trace(wandering), (trace(), trace()), 3.0, NARROWEST) == []
    assert dips_of(trace(), (trace(), trace()), 3.0, NARROWEST) == []


@pytest.mark.parametrize(("times", "told"), [(60.0, True), (12.0, True), (4.0, False)])
def test_noise_far_beyond_the_neighbours_is_found(times: float, told: bool) -> None:
    """A lamp that fails is told with its factor; one that ages, or noise that no peak shows, is not."""
    restless = np.random.default_rng(5).normal(0.0, 0.02 * times, TIME.size)
    found = noisier(trace(restless), (trace(), trace()), 0.05)
    assert found == (pytest.approx(times, rel=0.2) if told else None)
    assert noisier(trace(restless), (trace(), trace()), 10.0) is None
    assert noisier(trace(restless), (trace(restless), trace(restless)), 0.05) is None


def test_numbers_too_coarse_for_their_noise_make_no_neighbour_noisy() -> None:
    """Of a signal told in whole units a trace with a little noise is not infinitely noisier."""
    coarse = replace(trace(), signal=np.round(trace().signal))
    assert noisier(trace(), (coarse, coarse), 0.0) is None


def test_a_dip_of_the_solvent_and_a_valley_are_no_bubbles() -> None:
    """What neighbours show about the same time, and what lies between two close peaks, is no dip."""
    solvent = -gauss(TIME, 0.62, 0.02, 12.0)
    valley = gauss(TIME, 2.06, 0.05, 60.0)
    later = -gauss(TIME, 0.64, 0.02, 12.0)
    assert dips_of(trace(solvent), (trace(later), trace(later)), 3.0, NARROWEST) == []
    assert dips_of(trace(valley), (trace(), trace()), 3.0, NARROWEST) == []


def test_a_spike_is_no_dip() -> None:
    """A point or two that fall are electrical, and told as spikes."""
    spike = np.where(np.arange(TIME.size) == 900, -30.0, 0.0)
    assert dips_of(trace(spike), (trace(), trace()), 3.0, NARROWEST) == []
    assert spikes_of(trace(spike), 3.0) == pytest.approx([3.0], abs=0.005)


BUBBLES: dict[str, Callable[[Floats], Floats]] = {"A1-05": passing, "A2-10": caught, "P2-11": dark}


@pytest.mark.slow
def test_bubbles_are_told_apart_from_foreign_peaks(tmp_path: Path) -> None:
    """Up and down, narrower than the column can make a peak, or downwards: each is called a bubble."""
    write(tmp_path / "study", seed=3)
    for name, bubble in BUBBLES.items():
        file = tmp_path / "study" / "chromatograms" / f"{name}.csv"
        stamp, head, *rows = file.read_text().strip().split("\n")
        values = np.array([[float(part) for part in row.split(",")] for row in rows])
        values[:, 1] += bubble(values[:, 0])
        lines = [f"{time:.5f},{value:.4f}" for time, value in values]
        file.write_text("\n".join([stamp, head, *lines]) + "\n")
    found = {one.injection: one for one in compute(tmp_path / "study").findings.doubtful}
    assert {name: one.kind for name, one in found.items()} == {**BAD, **dict.fromkeys(BUBBLES, "bubble")}
    assert "falls below its baseline at 1.40 min" in found["P2-11"].why
    assert "less than half as wide as any that comes through the column" in found["A2-10"].why


def test_bubbles_beside_and_upon_markers_are_found() -> None:
    """Peaks half as wide as the column's are found on the trace itself, unless a neighbour has them, too."""
    bubble = gauss(TIME, 1.3, 0.012, 6.0) + gauss(TIME, 2.02, 0.012, 40.0) + gauss(TIME, 3.1, 0.012, 9.0)
    wandering = 2 * np.sin(3 * TIME)
    found = narrow_of(trace(bubble, wandering), (trace(), trace()), 4.8, NARROWEST)
    assert found == pytest.approx([1.3, 3.1], abs=0.01)
    assert narrow_of(trace(bubble), (trace(), trace(bubble)), 4.8, NARROWEST) == []


@pytest.mark.parametrize("apart", [0.05, 0.07, 0.09])
def test_the_tips_of_a_split_peak_are_no_bubble(apart: float) -> None:
    """A bed with a void splits peaks: the valley makes their tips narrow; they came through the column."""
    split = gauss(TIME, 4.0 + apart * 4.0 / 2.0, 0.1, 30.0)
    assert narrow_of(trace(split), (trace(), trace()), 3.0, NARROWEST) == []
