"""A rehearsed study as a folder on disk.

In: `Scenario`, a folder that is absent or empty. Out: the folder, byte for byte the same for the same
scenario and seed.
"""

import csv
import io
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

import numpy as np

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.clock import clock, stamp
from lyewitness.rehearsal.drawings import draw, group_of
from lyewitness.rehearsal.example import example
from lyewitness.rehearsal.exports import ENDINGS, Heading, export
from lyewitness.rehearsal.metadata import readme, study_toml
from lyewitness.rehearsal.plans import NotePlan, Scenario
from lyewitness.rehearsal.records import Rehearsal, TrueInjection
from lyewitness.rehearsal.simulating import simulate

EXAMPLE_SEED = example().seed


def rehearse(folder: Path, seed: int = EXAMPLE_SEED) -> None:
    """Write the example study into `folder`; FileExistsError where something lies there already."""
    write_study(example(), folder, seed)


def write_study(scenario: Scenario, folder: Path, seed: int | None = None) -> Rehearsal:
    """Simulate `scenario`, write its study folder, and return what was simulated.

    Raises FileExistsError where `folder` exists and is not an empty folder.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise FileExistsError(f"{folder} is there already and is not empty; choose another folder")
    run = simulate(scenario, seed)
    for name, data in study_files(run, scenario.seed if seed is None else seed).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return run


def study_files(run: Rehearsal, seed: int) -> dict[str, bytes]:
    """Return every file of the study folder by its path."""
    scenario = run.scenario
    files = {
        "README.md": readme(run, seed).encode(),
        "study.toml": study_toml(scenario).encode(),
        "injections.csv": _csv(_injection_rows(run)),
        "conditions.csv": _csv(_condition_rows(run, seed)),
    }
    for injection in run.truth.injections:
        files[file_of(injection)] = export(
            run.traces[injection.id], _heading(scenario, injection), injection.dialect
        )
    if scenario.images:
        files["images.csv"] = _csv(_image_rows(scenario))
    for number, image in enumerate(scenario.images):
        files[f"images/{image.file}"] = draw(
            image, group_of(image, scenario), signals.random_stream(seed, 9, number)
        )
    for note in scenario.notes:
        files[f"notes/{note.file}"] = _note(note).encode()
    return files


def file_of(injection: TrueInjection) -> str:
    """Return the path of an injection's export below the study folder."""
    return f"chromatograms/{injection.id}{ENDINGS[injection.dialect]}"


def _heading(scenario: Scenario, injection: TrueInjection) -> Heading:
    """Return what the export says of itself."""
    return Heading(
        injection=injection.id,
        acquired_at=_acquired_at(scenario, injection),
        wavelength_nm=scenario.test.wavelength_nm or 240.0,
        injection_uL=scenario.test.injection_uL or 1.0,
    )


def _acquired_at(scenario: Scenario, injection: TrueInjection) -> datetime:
    """Return when an injection was made, by the clock."""
    group = next(group for group in scenario.groups if group.name == injection.group)
    number = int(injection.column.removeprefix(group.letter))
    return clock(scenario, group, number, injection.exposure_h).replace(microsecond=0)


def _csv(rows: Iterable[tuple[str, ...]]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode()


def _injection_rows(run: Rehearsal) -> Iterable[tuple[str, ...]]:
    """One row an injection; by the clock as well, where pauses make that worth knowing."""
    timed = bool(run.scenario.events)
    yield ("injection", "file", "column", "exposure_h", *(("at",) if timed else ()), "use", "why")
    for one in run.truth.injections:
        at = (stamp(_acquired_at(run.scenario, one)),) if timed else ()
        used = "yes" if one.used else "no"
        yield (one.id, file_of(one), one.column, f"{one.exposure_h:g}", *at, used, one.why)


def _condition_rows(run: Rehearsal, seed: int) -> Iterable[tuple[str, ...]]:
    """One row an injection: pressure under test conditions, the others under stress.

    The pH is that of the bottle in use, measured at 25 °C; a new bottle is opened every 24 h.
    """
    stress = run.scenario.stress
    yield ("column", "exposure_h", "pressure_bar", "temperature_C", "ph", "flow_mL_min")
    for order, (name, column) in enumerate(run.truth.columns.items()):
        stream = signals.random_stream(seed, 8, order)
        count = column.exposure_h.size
        temperature = column.temperature_C + 0.12 * signals.serial_normal(stream, (count,), 0.6)
        flow = stress.flow_mL_min * (1 + 0.002 * signals.serial_normal(stream, (count,), 0.6))
        bottle = np.floor(column.exposure_h / 24).astype(int)
        bottles = signals.normal(signals.random_stream(seed, 10), (int(bottle.max()) + 1,))
        ph = stress.ph + 0.02 * bottles[bottle]
        pressure = run.truth.pressure_bar[name]
        for i, hours in enumerate(column.exposure_h.tolist()):
            numbers = (f"{pressure[i]:.1f}", f"{temperature[i]:.1f}", f"{ph[i]:.2f}", f"{flow[i]:.3f}")
            yield (name, f"{hours:g}", *numbers)


def _image_rows(scenario: Scenario) -> Iterable[tuple[str, ...]]:
    yield ("file", "caption", "column", "exposure_h", "kind", "nm_per_pixel", "pair", "alt", "particles")
    for image in scenario.images:
        place = (image.column, f"{image.exposure_h:g}", image.kind, f"{image.nm_per_pixel:g}")
        counted = "yes" if image.subject == "particles" else ""
        yield (f"images/{image.file}", image.caption, *place, image.pair, image.alt, counted)


def _note(note: NotePlan) -> str:
    header = (f'title = "{note.title}"', f"date = {note.dated.isoformat()}", f'author = "{note.author}"')
    return "\n".join(["+++", *header, "+++", "", note.text.strip(), ""])
