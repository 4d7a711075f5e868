"""Sets of data with certified fits, published by NIST (Statistical Reference Datasets).

In: the files of `nist/`, each with its source. Out: `CertifiedSet`s with their models.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lyewitness.words.arrays import FloatArray

AnyArray = NDArray[Any]
Model = Callable[[AnyArray, FloatArray], AnyArray]
FOLDER = Path(__file__).with_name("nist")


@dataclass(frozen=True, eq=False, slots=True)
class CertifiedSet:
    """One set: data, model, two starts, certified answers."""

    name: str
    x: FloatArray
    y: FloatArray
    model: Model
    """Of parameters (p, 1) and x (n,); takes complex parameters."""
    starts: tuple[FloatArray, FloatArray]
    certified: FloatArray
    errors: FloatArray
    squares: float


MODELS: Mapping[str, Model] = {
    "Misra1a": lambda b, x: b[0] * (1 - np.exp(-b[1] * x)),
    "Misra1d": lambda b, x: b[0] * b[1] * x / (1 + b[1] * x),
    "DanWood": lambda b, x: b[0] * x ** b[1],
    "Chwirut2": lambda b, x: np.exp(-b[0] * x) / (b[1] + b[2] * x),
    "Rat42": lambda b, x: b[0] / (1 + np.exp(b[1] - b[2] * x)),
    "Rat43": lambda b, x: b[0] / (1 + np.exp(b[1] - b[2] * x)) ** (1 / b[3]),
    "Thurber": lambda b, x: _ratio_of_cubics(b, x),
    "Hahn1": lambda b, x: _ratio_of_cubics(b, x),
}


def _ratio_of_cubics(b: AnyArray, x: FloatArray) -> AnyArray:
    """Return (b1 + b2 x + b3 x² + b4 x³) / (1 + b5 x + b6 x² + b7 x³)."""
    top = b[0] + x * (b[1] + x * (b[2] + x * b[3]))
    return np.asarray(top / (1 + x * (b[4] + x * (b[5] + x * b[6]))))


def certified_set(name: str) -> CertifiedSet:
    """Read one set."""
    lines = (FOLDER / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    notes = [line[2:].split(",") for line in lines if line.startswith("# ")]
    parameters = np.array([[float(v) for v in note[1:]] for note in notes if note[0].startswith("b")])
    squares = next(float(note[1]) for note in notes if note[0] == "residual sum of squares")
    rows = np.array([[float(v) for v in line.split(",")] for line in lines if line[0] not in "#x"])
    return CertifiedSet(
        name,
        rows[:, 0],
        rows[:, 1],
        MODELS[name],
        (parameters[:, 0], parameters[:, 1]),
        parameters[:, 2],
        parameters[:, 3],
        squares,
    )


def batched(model: Model) -> tuple[Callable[[FloatArray, FloatArray], FloatArray], ...]:
    """Return curve and Jacobian for many parameter sets; the Jacobian by complex steps, exact to rounding."""

    def curve(theta: FloatArray, x: FloatArray) -> FloatArray:
        return np.asarray(model(theta.T[:, :, None], x[None, :]), dtype=np.float64)

    def jacobian(theta: FloatArray, x: FloatArray) -> FloatArray:
        columns = []
        for index in range(theta.shape[1]):
            stepped = theta.astype(np.complex128)
            step = 1e-30 * np.maximum(np.abs(theta[:, index]), 1e-6)
            stepped[:, index] += 1j * step
            columns.append(np.imag(model(stepped.T[:, :, None], x[None, :])) / step[:, None])
        return np.stack(columns, axis=2)

    return curve, jacobian
