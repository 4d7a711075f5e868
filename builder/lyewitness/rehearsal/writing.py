"""A rehearsed study as a folder on disk.

In: `Scenario`, a folder that is absent or empty. Out: the folder, byte for byte the same for the same
scenario and seed.

Chromatogram files are as different instruments would leave them: no clock, no locale, and where a file is
compressed, a time stamp of zero.
"""

import csv
import gzip
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from scipy.io import netcdf_file

from lyewitness.rehearsal import signals
from lyewitness.rehearsal.drawings import draw, group_of
from lyewitness.rehearsal.example import example
from lyewitness.rehearsal.metadata import clock, readme, stamp, study_toml
from lyewitness.rehearsal.plans import Dialect, NotePlan, Scenario
from lyewitness.rehearsal.records import DrawnTrace, Rehearsal, TrueInjection
from lyewitness.rehearsal.simulating import simulate
from lyewitness.words.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Heading:
    """What an export says beside its numbers."""

    injection: str
    acquired_at: datetime
    wavelength_nm: float
    injection_uL: float


@dataclass(frozen=True, slots=True)
class TextDialect:
    """How one instrument writes a chromatogram as text."""

    preamble: tuple[str, ...]
    """Lines before the table, with fields of `Heading` in braces."""
    head: str
    delimiter: str
    seconds: bool
    time_places: int
    """Decimals of the time; below 0 where no time is written."""
    decimal_comma: bool = False
    line_end: str = "\n"
    encoding: str = "utf-8"
    signal_places: int = 2


TEXT: Mapping[Dialect, TextDialect] = {
    "comma, minutes": TextDialect(
        preamble=(
            "Chromatogram of injection: {injection}",
            "Acquired: {acquired_at}",
            "Detection: absorbance at {wavelength_nm:g} nm",
            "",
        ),
        head="time (min),absorbance (mAU)",
        delimiter=",",
        seconds=False,
        time_places=5,
    ),
    "semicolon, decimal comma, seconds": TextDialect(
        preamble=(
            "Injection;{injection}",
            "Date;{acquired_at}",
            "Wavelength / nm;{wavelength_nm:g}",
            "Injected volume / µL;{injection_uL:g}",
        ),
        head="t / s;A / mAU",
        delimiter=";",
        seconds=True,
        time_places=2,
        decimal_comma=True,
        encoding="latin-1",
    ),
    "tab, seconds": TextDialect(
        preamble=("# injection\t{injection}", "# acquired\t{acquired_at}"),
        head="Time [s]\tSignal [mAU]",
        delimiter="\t",
        seconds=True,
        time_places=2,
        line_end="\r\n",
        signal_places=3,
    ),
    "one column": TextDialect(
        preamble=("{injection}",),
        head="mAU",
        delimiter="",
        seconds=True,
        time_places=-1,
    ),
    "UTF-16, tab, minutes": TextDialect(
        preamble=("Injection\t{injection}", "Volume\t{injection_uL:g} µL"),
        head="Time (min)\tSignal (mAU)",
        delimiter="\t",
        seconds=False,
        time_places=5,
        encoding="utf-16",
    ),
}
ENDINGS: Mapping[Dialect, str] = {
    "comma, minutes": ".csv",
    "semicolon, decimal comma, seconds": ".txt",
    "tab, seconds": ".tsv",
    "one column": ".asc",
    "UTF-16, tab, minutes": ".txt",
    "ASTM E1947 netCDF": ".cdf",
}


def export(trace: DrawnTrace, heading: Heading, dialect: Dialect) -> bytes:
    """Return the file of one trace."""
    if dialect == "ASTM E1947 netCDF":
        return as_netcdf(trace, heading)
    return as_text(trace, heading, TEXT[dialect])


def as_text(trace: DrawnTrace, heading: Heading, dialect: TextDialect) -> bytes:
    """Return the trace as delimited text."""
    words = {
        "injection": heading.injection,
        "acquired_at": heading.acquired_at.isoformat(sep=" "),
        "wavelength_nm": heading.wavelength_nm,
        "injection_uL": heading.injection_uL,
    }
    lines = [line.format(**words) for line in dialect.preamble] + [dialect.head]
    signals = _decimals(trace.signal, dialect.signal_places)
    if dialect.time_places < 0:
        table = signals
    else:
        times = _decimals(trace.time_min * (60 if dialect.seconds else 1), dialect.time_places)
        table = [f"{time}{dialect.delimiter}{signal}" for time, signal in zip(times, signals, strict=True)]
    body = dialect.line_end.join(table)
    if dialect.decimal_comma:
        body = body.replace(".", ",")
    text = dialect.line_end.join([*lines, body, ""])
    if dialect.encoding == "utf-16":
        # The order of bytes is named, or it would be that of the machine.
        return b"\xff\xfe" + text.encode("utf-16-le")
    return text.encode(dialect.encoding)


def _decimals(values: FloatArray, places: int) -> list[str]:
    """Return the numbers with that many decimals and no negative zero."""
    return [f"{value:.{places}f}" for value in (np.round(values, places) + 0.0).tolist()]


def as_netcdf(trace: DrawnTrace, heading: Heading) -> bytes:
    """Return the trace as a classic netCDF file after ASTM E1947, times in seconds."""
    interval_s = float(trace.time_min[1] - trace.time_min[0]) * 60
    buffer = io.BytesIO()
    # The writer closes its buffer, so the bytes are taken after a flush.
    file = netcdf_file(buffer, "w", version=1)
    attributes = {
        "dataset_completeness": "C1",
        "aia_template_revision": "1.0.1",
        "netcdf_revision": "3",
        "languages": "English",
        "injection_date_time_stamp": heading.acquired_at.strftime("%Y%m%d%H%M%S+0000"),
        "sample_name": "markers",
        "experiment_title": heading.injection,
        "detector_unit": "mAU",
        "detection_method_comments": f"absorbance at {heading.wavelength_nm:g} nm",
        "retention_unit": "seconds",
    }
    for name, value in attributes.items():
        setattr(file, name, value.encode("ascii"))
    file.createDimension("point_number", trace.signal.size)
    scalars = {
        "actual_run_time_length": interval_s * (trace.signal.size - 1),
        "actual_sampling_interval": interval_s,
        "actual_delay_time": float(trace.time_min[0]) * 60,
        "detector_maximum_value": float(trace.signal.max()),
        "detector_minimum_value": float(trace.signal.min()),
    }
    for name, number in scalars.items():
        file.createVariable(name, np.dtype(">f4"), ())[...] = np.float32(round(number, 6))
    ordinate = file.createVariable("ordinate_values", np.dtype(">f4"), ("point_number",))
    ordinate[:] = np.round(trace.signal, 4).astype(">f4")
    setattr(ordinate, "uniform_sampling_flag", b"Y")  # noqa: B010
    file.flush()
    data = buffer.getvalue()
    file.close()
    return data


def compressed(data: bytes) -> bytes:
    """Return `data` gzipped, without the time of day."""
    return gzip.compress(data, compresslevel=9, mtime=0)


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
