"""Simulated studies as this stage sees them, without files in between.

In: a `Scenario` and a seed. Out: `Study`, `Trace`s by injection, and the simulator's truth.
"""

from dataclasses import dataclass
from pathlib import Path

from lyewitness.peaks.measuring import measure
from lyewitness.peaks.records import PeakRow
from lyewitness.rehearsal.records import Rehearsal, Scenario, TruePeak
from lyewitness.rehearsal.scenario import simulate
from lyewitness.study.records import Column, Conditions, Injection, Marker, Question, Study
from lyewitness.traces.records import Trace


@dataclass(frozen=True, eq=False, slots=True)
class Rehearsed:
    """A simulated study and what is true of it."""

    study: Study
    traces: dict[str, Trace]
    truth: Rehearsal

    def pairs(self) -> list[tuple[TruePeak, PeakRow]]:
        """Return what is true and what was measured, in the order of the rows."""
        rows = measure(self.study, self.traces).rows
        return [(self.truth.truth.peaks[row.injection, row.marker], row) for row in rows]


def rehearse(scenario: Scenario, seed: int) -> Rehearsed:
    """Run `scenario` and return it as a study with traces."""
    truth = simulate(scenario, seed)
    traces = {
        name: Trace(f"{name}.csv", "", drawn.time_min, drawn.signal, "mAU", "min", "delimited text", "0" * 64)
        for name, drawn in truth.traces.items()
    }
    return Rehearsed(study_from(scenario, truth), traces, truth)


def study_from(scenario: Scenario, truth: Rehearsal) -> Study:
    """Return the study that a folder of this scenario would be read as."""
    groups = {group.name: group for group in scenario.groups}
    expected = {
        marker.id: {
            group.name: group.hold_up_min * (1.0 + group.markers[marker.id].retention_factor)
            for group in scenario.groups
        }
        for marker in scenario.markers
    }
    return Study(
        folder=Path(),
        id=scenario.id,
        title=scenario.title,
        questions=(Question("q", "Which lasts longest?"),),
        stress=Conditions(flow_mL_min=scenario.stress.flow_mL_min),
        test=Conditions(flow_mL_min=scenario.test.flow_mL_min),
        columns=tuple(
            Column(
                id=column.id,
                label=column.id,
                group=column.group,
                particle="other",
                length_mm=groups[column.group].length_mm,
                inner_diameter_mm=groups[column.group].inner_diameter_mm,
                particle_um=groups[column.group].particle_um,
            )
            for column in truth.truth.columns.values()
        ),
        markers=tuple(Marker(m.id, m.role, expected[m.id], m.pka) for m in scenario.markers),
        limits=(),
        injections=tuple(
            Injection(i.id, f"{i.id}.csv", i.column, exposure_h=i.exposure_h, used=i.used, why=i.why)
            for i in truth.truth.injections
        ),
    )
