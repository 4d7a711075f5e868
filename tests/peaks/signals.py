"""Studies and traces with known peaks, for the tests of this stage.

In: peaks as (area, centre, σ, τ) from scipy's exponnorm. Out: `Trace`s and a `Study` around them.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from scipy.stats import exponnorm, norm

from lyewitness.study.records import Column, Conditions, Injection, Marker, Question, Study
from lyewitness.traces.records import Trace
from lyewitness.words.arrays import FloatArray

TruePeak = tuple[float, float, float, float]
"""Area, centre, σ, τ."""


def reference_curve(time: FloatArray, peak: TruePeak) -> FloatArray:
    """Return the exact curve of one peak, by scipy alone."""
    area, center, sigma, tau = peak
    if tau == 0:
        return np.asarray(area * norm.pdf(time, center, sigma))
    return np.asarray(area * exponnorm.pdf(time, tau / sigma, loc=center, scale=sigma))


def trace_of(
    peaks: Sequence[TruePeak],
    noise: float = 0.0,
    seed: int = 1,
    end_min: float = 4.0,
    rate_hz: float = 20.0,
    drift: FloatArray | float = 0.0,
    name: str = "trace.csv",
) -> Trace:
    """Return a trace with these peaks, white noise and a drift added."""
    time = np.arange(0.0, end_min, 1.0 / rate_hz / 60.0)
    signal = sum((reference_curve(time, peak) for peak in peaks), np.zeros_like(time)) + drift
    signal = signal + np.random.default_rng(seed).normal(0.0, noise, len(time)) if noise else signal
    return as_trace(time, signal, name)


def as_trace(time: FloatArray, signal: FloatArray, name: str = "trace.csv") -> Trace:
    """Return a trace around two arrays."""
    return Trace(name, "", time, signal, "mAU", "min", "delimited text", "0" * 64)


def study_of(
    markers: Mapping[str, float],
    exposures_h: Sequence[float],
    void: str = "uracil",
    column: Column | None = None,
    unused: Sequence[int] = (),
) -> Study:
    """Return a study of one column with one injection at each exposure, named `i000`, `i001`, …"""
    column = column or Column("H1", "Hybrid 1", "hybrid", "porous hybrid", "C18", 50.0, 2.1, 1.7)
    return Study(
        folder=Path(),
        id="s",
        title="s",
        questions=(Question("q", "Which lasts?"),),
        stress=Conditions(flow_mL_min=0.4),
        test=Conditions(flow_mL_min=0.4),
        columns=(column,),
        markers=tuple(
            Marker(name, "void" if name == void else "base", time) for name, time in markers.items()
        ),
        limits=(),
        injections=tuple(
            Injection(
                f"i{place:03d}",
                f"{place}.csv",
                column.id,
                exposure_h=hours,
                used=place not in unused,
                why="air bubble" if place in unused else "",
            )
            for place, hours in enumerate(exposures_h)
        ),
    )
