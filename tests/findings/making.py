"""Small studies with chosen lives, as records, so that a test can say what was seen and read what is said."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import exp, log
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np

from lyewitness.decline import judging
from lyewitness.decline.declines import Task, judge_declines
from lyewitness.decline.records import Decline, Judgement
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.finding import find
from lyewitness.findings.records import Check, Findings
from lyewitness.peaks.records import Measurements, PeakRow
from lyewitness.store import NO_STORE, Store, digest_of
from lyewitness.study.records import (
    Choices,
    Column,
    Conditions,
    Injection,
    Limit,
    LoggedCondition,
    Marker,
    MarkerRole,
    Question,
    Study,
)
from lyewitness.traces.records import Trace

SCHEDULE_H = (0.0, 0.1, 0.2, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0)
START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
ROLES: Mapping[str, MarkerRole] = {"uracil": "void", "caffeine": "neutral", "aniline": "base"}
FRESH = {"uracil": 0.5, "caffeine": 2.0, "aniline": 3.0}


Courses = Mapping[tuple[str, str, str], float]


def column(column_id: str, group: str, **changes: Any) -> Column:
    """Return a column like any other but for `changes`."""
    usual = Column(
        column_id, column_id, group, "porous hybrid", "C18", 50.0, 2.1, 1.7,
        lot=f"lot {column_id}", serial=f"serial {column_id}",
    )  # fmt: skip
    return replace(usual, **changes)


def study_of(groups: Mapping[str, Sequence[float]], **changes: Any) -> Study:
    """Return a study with a column for each life of each group, all injected at the same exposures."""
    columns = tuple(
        column(f"{group[0].upper()}{number}", group)
        for group, lives in groups.items()
        for number in range(1, len(lives) + 1)
    )
    conditions = Conditions("pyrrolidine", 20, 11.3, 25, "acetonitrile", 30, 50, 0.4, 220, 1.0)
    usual = Study(
        folder=Path("study"),
        id="study",
        title="A study",
        questions=(Question("q1", "Which lasts longest?"),),
        stress=conditions,
        test=conditions,
        columns=columns,
        markers=tuple(Marker(name, role, FRESH[name]) for name, role in ROLES.items()),
        limits=(Limit("plate_number_half_height", at_least_percent=80.0, markers=("caffeine",)),),
        injections=tuple(
            Injection(f"{c.id}-{turn:02d}", f"{c.id}-{turn:02d}.csv", c.id, exposure_h=h)
            for c in columns
            for turn, h in enumerate(SCHEDULE_H, start=1)
        ),
        conditions=tuple(
            LoggedCondition(
                c.id, exposure_h=h, pressure_bar=200.0, temperature_C=50.0, ph=11.3, flow_mL_min=0.4
            )
            for c in columns
            for h in SCHEDULE_H[::2]
        ),
    )
    return replace(usual, **changes)


def measured(
    study: Study,
    lives: Mapping[str, float],
    scatter: float = 0.004,
    seed: int = 1,
    courses: Courses | None = None,
    cv_per_h: Mapping[str, float] | None = None,
) -> Measurements:
    """Return rows whose plate numbers pass 80 % at the life of each column, by first order.

    `courses`: relative change over the whole schedule, linear, by (column, marker, metric); a column of no
    name is every column. `cv_per_h`: column volumes an hour by group, 48 where not named.
    """
    random = np.random.default_rng(seed)
    rows = []
    for injection in study.injections:
        placed = study.column(injection.column)
        hours = injection.exposure_h or 0.0
        left = exp(log(0.8) * hours / lives[placed.id])
        for marker in study.markers:
            pace = (cv_per_h or {}).get(placed.group, 48.0)
            row = replace(_row(injection, placed.group, marker.id, hours, left), exposure_cv=hours * pace)
            noise = 1 + scatter * random.standard_normal(4)
            rows.append(_changed(row, marker.id, hours, noise, courses or {}))
    return Measurements(tuple(rows))


def _row(injection: Injection, group: str, marker: str, hours: float, left: float) -> PeakRow:
    void = ROLES[marker] == "void"
    return PeakRow(
        injection.id, injection.column, group, marker, hours, hours * 48.0, injection.used, True,
        confidence=1.0,
        retention_time_min=FRESH[marker],
        hold_up_time_min=0.5,
        retention_factor=None if void else FRESH[marker] / 0.5 - 1,
        plate_number_half_height=3000.0 if void else 10000.0 * left,
        symmetry_factor=1.1,
        peak_area=10.0,
        peak_height=100.0,
        signal_to_noise=500.0,
    )  # fmt: skip


def _changed(row: PeakRow, marker: str, hours: float, noise: Any, courses: Courses) -> PeakRow:
    metrics = ("plate_number_half_height", "peak_area", "symmetry_factor", "retention_factor")
    changes: dict[str, Any] = {}
    for metric, factor in zip(metrics, noise, strict=True):
        value = getattr(row, metric)
        small = 1.0 if metric == "retention_factor" else float(factor)
        changes[metric] = None if value is None else value * (1 + (small - 1))
    for (where, named, metric), change in courses.items():
        value = changes.get(metric, getattr(row, metric))
        if named == marker and where in ("", row.column) and value is not None:
            changes[metric] = value * (1 + change * hours / SCHEDULE_H[-1])
            if metric == "hold_up_time_min" and ROLES[marker] == "void":
                changes["retention_time_min"] = changes[metric]
    return replace(row, **changes)


def traces_of(study: Study, start: Mapping[str, datetime] | None = None) -> dict[str, Trace]:
    """Return a trace with a time stamp for each injection; columns start together, or as `start` says."""
    found = {}
    for injection in study.injections:
        began = (start or {}).get(injection.column, START)
        stamp = began + timedelta(hours=injection.exposure_h or 0.0)
        found[injection.id] = Trace(
            injection.file, "", np.array([0.0, 1.0]), np.array([0.0, 1.0]), "mAU", "min", "delimited text",
            sha256=injection.id, acquired_at=stamp.isoformat(),
        )  # fmt: skip
    return found


def lives_by_column(groups: Mapping[str, Sequence[float]]) -> dict[str, float]:
    """Return the lives by the ids that `study_of` gives."""
    return {
        f"{group[0].upper()}{number}": life
        for group, lives in groups.items()
        for number, life in enumerate(lives, start=1)
    }


def evidence_of(
    groups: Mapping[str, Sequence[float]],
    courses: Courses | None = None,
    cv_per_h: Mapping[str, float] | None = None,
    start: Mapping[str, datetime] | None = None,
    **changes: Any,
) -> Evidence:
    """Return the evidence of a study with these lives; `changes` are fields of the study."""
    study = study_of(groups, **changes)
    measurements = measured(study, lives_by_column(groups), courses=courses, cv_per_h=cv_per_h)
    return Evidence(study, traces_of(study, start), measurements, judge_once(study, measurements))


JUDGED: dict[str, tuple[Decline, ...]] = {}
"""Declines of one metric that were judged in this process, by the digest of all they were judged from."""


def judge_once(study: Study, measurements: Measurements) -> Judgement:
    """Return the judgement on a study; a metric of which all series were judged before is not judged again.

    Series of one metric tell each other of their noise (`lyewitness.decline.shared_noise`), others do not.
    """
    with patch.object(judging, "judge_declines", _judge_new_declines):
        return judging.judge(study, measurements)


def _judge_new_declines(
    tasks: Sequence[Task], choices: Choices, store: Store = NO_STORE
) -> tuple[Decline, ...]:
    found: dict[int, Decline] = {}
    for metric in {task.series.metric for task in tasks}:
        own = {index: task for index, task in enumerate(tasks) if task.series.metric == metric}
        key = digest_of(*own.values(), choices)
        if key not in JUDGED:
            JUDGED[key] = judge_declines(list(own.values()), choices, store)
        found.update(zip(own, JUDGED[key], strict=True))
    return tuple(found[index] for index in range(len(tasks)))


def with_columns(study: Study, **changes: Mapping[str, Any]) -> Study:
    """Return `study` with changed columns: `with_columns(study, H1={"length_mm": 100.0})`."""
    return replace(study, columns=tuple(replace(c, **changes.get(c.id, {})) for c in study.columns))


def judged(
    evidence: Evidence, study: Study | None = None, measurements: Measurements | None = None
) -> Evidence:
    """Return the evidence with another study or other measurements, judged again."""
    found = study or evidence.study
    rows = measurements or evidence.measurements
    return Evidence(found, evidence.traces, rows, judge_once(found, rows), evidence.problems)


def found_in(evidence: Evidence, judgement: Judgement | None = None) -> Findings:
    """Return the findings of `evidence`, with another judgement where one is given."""
    # What is judged again with an injection more or less was often judged for another test, too.
    with patch.object(judging, "judge_declines", _judge_new_declines):
        return find(
            evidence.study,
            evidence.traces,
            evidence.measurements,
            judgement or evidence.judgement,
            evidence.problems,
        )


def check_of(findings: Findings, check_id: str) -> Check:
    """Return the check of that id; KeyError where there is none."""
    return {check.id: check for check in findings.checks}[check_id]
