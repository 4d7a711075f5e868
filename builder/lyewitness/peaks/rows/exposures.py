"""Where each injection stands on the exposure, in hours and in column volumes.

In: a study and the hold-up time of its injections. Out: `Exposure`s by injection and `VoidVolume`s by column.
"""

from collections.abc import Mapping, Sequence
from math import pi

import numpy as np

from lyewitness.peaks.records import VoidVolume
from lyewitness.study.exposure import Exposure, exposure_of
from lyewitness.study.records import Column, Injection, Study

TOTAL_POROSITY = 0.65
"""Share of an empty column that is mobile phase, packed with porous particles (from memory; 0.55 … 0.75)."""


def position_of(study: Study, column: Column, injection: Injection) -> float:
    """Return where an injection stands in its column's sequence, in whichever unit the study uses."""
    exposure = exposure_of(injection, column, study.stress.flow_mL_min, None)
    for value in (exposure.hours, injection.exposure_mL, exposure.column_volumes):
        if value is not None:
            return value
    return 0.0


def in_order(study: Study) -> dict[str, list[Injection]]:
    """Return the injections of each column in the order of exposure."""
    sequences: dict[str, list[Injection]] = {column.id: [] for column in study.columns}
    for injection in study.injections:
        sequences[injection.column].append(injection)
    for column in study.columns:
        sequences[column.id].sort(key=lambda injection, c=column: position_of(study, c, injection))  # type: ignore[misc]
    return sequences


def void_volume_of(
    study: Study, column: Column, ordered: Sequence[Injection], hold_up_min: Mapping[str, float]
) -> VoidVolume | None:
    """Return the void volume of a column: median hold-up time of its reference × flow of the test.

    Source: definition of the hold-up volume (IUPAC). Without hold-up times it is estimated from the column's
    dimensions and `TOTAL_POROSITY`, and says so; None where those are not known either.
    """
    flow = study.test.flow_mL_min or study.stress.flow_mL_min
    used = [injection.id for injection in ordered if injection.used]
    reference = used[: study.choices.reference_injections]
    times = [hold_up_min[injection] for injection in reference if injection in hold_up_min]
    if times and flow:
        return VoidVolume(float(np.median(times)) * flow, "hold-up time of the reference injections × flow")
    length, diameter = column.length_mm, column.inner_diameter_mm
    if length and diameter:
        volume = TOTAL_POROSITY * pi / 4.0 * diameter**2 * length / 1000.0
        return VoidVolume(volume, f"dimensions of the column × a total porosity of {TOTAL_POROSITY:g}")
    return None


def exposures_of(
    study: Study, sequences: Mapping[str, Sequence[Injection]], volumes: Mapping[str, VoidVolume]
) -> dict[str, Exposure]:
    """Return the exposure of every injection."""
    placed = {}
    for column in study.columns:
        volume = volumes[column.id].volume_mL if column.id in volumes else None
        for injection in sequences[column.id]:
            placed[injection.id] = exposure_of(injection, column, study.stress.flow_mL_min, volume)
    return placed
