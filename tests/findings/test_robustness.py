"""Studies with holes: whatever is missing, the findings say so and do not break."""

import random
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Findings
from lyewitness.study.records import Limit
from tests.findings.making import evidence_of, found_in, judged

pytestmark = pytest.mark.slow

LIMITS = (
    Limit("plate_number_half_height", at_least_percent=80.0),
    Limit("retention_factor", at_least_percent=90.0),
    Limit("symmetry_factor", at_most=2.0),
    Limit("pressure_bar", at_most_percent=150.0),
)
WHOLE = evidence_of(
    {"hybrid": (60.0, 64.0, 57.0), "silica": (25.0, 27.0), "polymer": (900.0,)}, limits=LIMITS
)
METRICS = (
    "retention_factor", "plate_number_half_height", "symmetry_factor", "peak_area", "hold_up_time_min",
    "retention_time_min", "exposure_cv",
)  # fmt: skip
FIELDS = ("length_mm", "inner_diameter_mm", "particle_um")
CONDITIONS = ("flow_mL_min", "temperature_C", "ph")


def taken(names: Sequence[str], chance: random.Random, share: float) -> dict[str, Any]:
    """Return None for about that share of `names`."""
    return {name: None for name in names if chance.random() < share}


def with_holes(seed: int) -> Evidence:
    """Return the study with things taken out at random."""
    chance = random.Random(seed)
    study = WHOLE.study
    gone = {c.id for c in study.columns if chance.random() < 0.15}
    columns = tuple(
        replace(
            column,
            **taken(FIELDS, chance, 0.2),
            lot="" if chance.random() < 0.3 else column.lot,
            serial="" if chance.random() < 0.3 else column.serial,
        )
        for column in study.columns
    )
    study = replace(
        study,
        columns=columns,
        stress=replace(study.stress, **taken(CONDITIONS, chance, 0.3)),
        markers=tuple(m for m in study.markers if chance.random() < 0.85) or study.markers[:1],
        limits=tuple(limit for limit in study.limits if chance.random() < 0.8),
        conditions=tuple(row for row in study.conditions if chance.random() < 0.5),
        injections=tuple(
            i if i.column not in gone and chance.random() < 0.9 else replace(i, used=False, why="a hole")
            for i in study.injections
        ),
    )
    used = {i.id for i in study.injections if i.used}
    markers = {marker.id for marker in study.markers}
    rows = tuple(
        replace(
            row,
            used=row.injection in used,
            found=(there := chance.random() < 0.95),
            **taken(METRICS, chance, 0.05 if there else 1.0),
        )
        for row in WHOLE.measurements.rows
        if row.marker in markers
    )
    evidence = replace(WHOLE, traces={k: t for k, t in WHOLE.traces.items() if chance.random() < 0.7})
    return judged(evidence, study, replace(WHOLE.measurements, rows=rows))


def texts_of(findings: Findings) -> list[str]:
    """Return every sentence."""
    said = [check.detail for check in findings.checks] + list(findings.missing)
    for answer in findings.answers:
        said += [answer.short, answer.how_sure]
        said += [claim.text for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments)]
    return said


@pytest.mark.parametrize("seed", range(12))
def test_holes_break_nothing_and_are_named(seed: int) -> None:
    """Whatever is taken out, there is an answer, in whole sentences, every claim with its reasons."""
    findings = found_in(with_holes(seed))
    (answer,) = findings.answers
    assert answer.short
    assert findings.missing
    for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments):
        assert claim.because, claim
    for text in texts_of(findings):
        assert text.endswith((".", "!", "?")), text
        assert "nan" not in text.lower().split(), text
        assert "None " not in text.replace("None of", ""), text
