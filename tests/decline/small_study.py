"""Studies made of records, for the tests of the decline stage.

In: series of values by column and marker. Out: `Study` and `Measurements` that hold them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.study.records import (
    Choices,
    Column,
    Conditions,
    Injection,
    Limit,
    Marker,
    Question,
    Study,
)
from lyewitness.words.arrays import FloatArray

LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80.0),
    Limit("retention_factor", at_least_percent=90.0),
    Limit("symmetry_factor", at_most=2.0),
)


def study_of(
    groups: Mapping[str, Sequence[str]],
    limits: tuple[Limit, ...] = LIMITS,
    choices: Choices | None = None,
) -> Study:
    """Return a study with the columns of `groups`, a void marker and one base, and no injections yet."""
    columns = tuple(
        Column(column, column, group, "porous hybrid", length_mm=50.0, inner_diameter_mm=2.1)
        for group, members in groups.items()
        for column in members
    )
    conditions = Conditions(temperature_C=50.0, ph=11.3, flow_mL_min=0.4)
    markers = (Marker("uracil", "void", 0.42), Marker("base", "base", 2.9, 9.6))
    return Study(
        Path(), "s", "A study", (Question("q", "Which lasts longest?"),), conditions, conditions,
        columns, markers, limits, (), choices=choices or Choices(),
    )  # fmt: skip


def with_values(
    study: Study, hours: FloatArray, values: Mapping[tuple[str, str], Mapping[str, FloatArray]]
) -> tuple[Study, Measurements]:
    """Return the study with an injection for each column and hour, and rows that hold `values`.

    `values` is by (column, marker), then by metric: arrays as long as `hours`.
    """
    injections: list[Injection] = []
    rows: list[PeakRow] = []
    for column in study.columns:
        for index, hour in enumerate(hours):
            name = f"{column.id}-{index:03d}"
            injections.append(Injection(name, f"{name}.csv", column.id, exposure_h=float(hour)))
            for marker in study.markers:
                metrics = values.get((column.id, marker.id))
                row = PeakRow(
                    name, column.id, column.group, marker.id, float(hour), float(hour) * 100.0, True,
                    metrics is not None, "" if metrics is not None else "not found",
                )  # fmt: skip
                measured: dict[str, Any] = {key: float(a[index]) for key, a in (metrics or {}).items()}
                rows.append(replace(row, **measured))
    return replace(study, injections=tuple(injections)), Measurements(tuple(rows))


def noisy(rng: np.random.Generator, clean: FloatArray, percent: float = 0.5) -> FloatArray:
    """Return `clean` with independent noise."""
    return np.asarray(clean * (1 + percent / 100 * rng.standard_normal(len(clean))))
