"""A study folder, read whole: every problem is found in one pass.

In: the path of a folder. Out: `StudyReading`.

Values that can be written and hardly be meant are told with what was probably meant.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isclose, pi
from pathlib import Path

from lyewitness.study.companions import condensed, read_conditions, read_images, read_notes
from lyewitness.study.events import MINUTES_PER_HOUR
from lyewitness.study.injections import read_injections
from lyewitness.study.inside import StudyFiles
from lyewitness.study.metadata import Metadata, read_metadata
from lyewitness.study.placing import (
    Clock,
    clock_problems,
    dates_of_notes,
    log_problems,
    placed_by_clock,
    unlike_times,
)
from lyewitness.study.records import Column, Conditions, Injection, Limit, LoggedCondition, Moment, Study
from lyewitness.words.problems import Gathering, Problem, listed

PERCENT_NOT_FRACTION = 1.5
"""Percent limits up to here are taken for fractions: no column is judged at 1 % of its reference."""
LEAST_BUFFER_MM = 0.1
"""mmol/L: below it a buffer holds no pH, and mol/L was probably meant."""
BELIEVABLE_VELOCITY_MM_S = (0.02, 15.0)
"""Flow ÷ empty cross-section of the tube; columns are run at 0.2 to 5 mm/s (common practice)."""
SAME_EXPOSURE = 0.02
"""Relative difference within which two exposures of one row say the same."""
SAME_SPAN = 1.5
"""Log and injections whose ends differ by more than this factor do not describe one stress."""


def implausible(
    metadata: Metadata, injections: Sequence[Injection], conditions: Sequence[LoggedCondition]
) -> tuple[Problem, ...]:
    """Return what is hardly meant, errors where the report would be wrong, cautions elsewhere."""
    return (
        *(problem for limit in metadata.limits for problem in _fractions(limit)),
        *_weak_buffer("stress", metadata.stress),
        *_weak_buffer("test", metadata.test),
        *(problem for column in metadata.columns for problem in _velocity(column, metadata.stress)),
        *_without_hours(injections, metadata.stress),
        *_two_exposures(injections, metadata.stress),
        *_twice(injections),
        *_other_span(injections, conditions),
        *_after_the_end(metadata.columns, injections),
        *_replaced(metadata.columns, injections),
    )


def _fractions(limit: Limit) -> Iterator[Problem]:
    """Yield an error for a percentage that is written as a fraction."""
    for name in ("at_least_percent", "at_most_percent"):
        bound = getattr(limit, name)
        if bound is not None and bound <= PERCENT_NOT_FRACTION:
            yield Problem(
                "error",
                "study.toml",
                f"limits.{limit.metric}",
                f"{name} = {bound:g}",
                "percent of the reference",
                f"Write {name} = {bound * 100:g}, if that is meant.",
            )


def _weak_buffer(section: str, conditions: Conditions) -> Iterator[Problem]:
    """Yield a caution for a buffer in mol/L and for a solvent share as a fraction."""
    if conditions.buffer_mM is not None and 0 < conditions.buffer_mM < LEAST_BUFFER_MM:
        cure = f"Write buffer_mM = {conditions.buffer_mM * 1000:g}, if mol/L was meant."
        found = f"buffer_mM = {conditions.buffer_mM:g}"
        yield Problem("caution", "study.toml", f"{section}.buffer_mM", found, "mmol/L", cure)
    if conditions.organic_percent is not None and 0 < conditions.organic_percent < 1:
        cure = f"Write organic_percent = {conditions.organic_percent * 100:g}, if a fraction was meant."
        found = f"organic_percent = {conditions.organic_percent:g}"
        yield Problem("caution", "study.toml", f"{section}.organic_percent", found, "percent by volume", cure)


def _velocity(column: Column, stress: Conditions) -> Iterator[Problem]:
    """Yield a caution where flow and inner diameter do not go together."""
    if not column.inner_diameter_mm or not stress.flow_mL_min:
        return
    area_mm2 = pi / 4 * column.inner_diameter_mm**2
    velocity = stress.flow_mL_min * 1000 / 60 / area_mm2
    low, high = BELIEVABLE_VELOCITY_MM_S
    if not low <= velocity <= high:
        yield Problem(
            "caution",
            "study.toml",
            f"column '{column.id}', inner_diameter_mm",
            f"{column.inner_diameter_mm:g} mm at {stress.flow_mL_min:g} mL/min, which is {velocity:.3g} mm/s",
            f"{low:g} to {high:g} mm/s",
            "Check the decimal point of the inner diameter and of the flow.",
        )


def _without_hours(injections: Sequence[Injection], stress: Conditions) -> Iterator[Problem]:
    """Yield an error for each injection placed by volume where no flow turns that into hours."""
    if stress.flow_mL_min:
        return
    for one in injections:
        if one.exposure_h is None and one.at is None and (one.exposure_mL, one.exposure_cv) != (None, None):
            yield Problem(
                "error",
                "injections.csv",
                one.place.rpartition(", ")[2],
                "an exposure by volume, and no flow",
                "flow_mL_min in [stress], which turns it into hours",
                "Add 'flow_mL_min = …' below [stress].",
            )


def _two_exposures(injections: Sequence[Injection], stress: Conditions) -> Iterator[Problem]:
    """Yield an error for each row whose hours and millilitres contradict each other."""
    if not stress.flow_mL_min:
        return
    for one in injections:
        if one.exposure_h is None or one.exposure_mL is None:
            continue
        hours = one.exposure_mL / (stress.flow_mL_min * MINUTES_PER_HOUR)
        if not isclose(hours, one.exposure_h, rel_tol=SAME_EXPOSURE, abs_tol=0.05):
            yield Problem(
                "error",
                "injections.csv",
                one.place.rpartition(", ")[2],
                f"{one.exposure_h:g} h and {one.exposure_mL:g} mL, which is {hours:.3g} h at the stated flow",
                "one exposure, or two that agree",
                "Leave the wrong one empty.",
            )


MOST_SHARING = 20
"""Injections that name one file by mistake; a table in which more do is not the one that was meant."""


def _twice(injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for an export that several injections name, an error where very many do."""
    sharing: dict[tuple[str, str], list[Injection]] = {}
    for one in injections:
        sharing.setdefault((one.file, one.trace), []).append(one)
    for (file, _), several in sharing.items():
        if len({one.id for one in several}) < 2:
            continue
        others = listed(one.id for one in several[1:])
        yield Problem(
            "caution" if len(several) <= MOST_SHARING else "error",
            "injections.csv",
            several[1].place.rpartition(", ")[2],
            f"the file of {others} is that of '{several[0].id}': {file}",
            "a file for each injection",
            "Correct one of the two." if len(several) == 2 else "Give each injection the file of its own.",
        )


def _other_span(injections: Sequence[Injection], conditions: Sequence[LoggedCondition]) -> Iterator[Problem]:
    """Yield a caution where the log and the injections describe stresses of different length."""
    for name in ("exposure_h", "exposure_mL", "exposure_cv"):
        ends = [
            max((value for one in placed if (value := getattr(one, name)) is not None), default=0.0)
            for placed in (injections, conditions)
        ]
        if min(ends) > 0 and not 1 / SAME_SPAN <= ends[0] / ends[1] <= SAME_SPAN:
            yield Problem(
                "caution",
                "conditions.csv",
                name,
                f"a log up to {ends[1]:g} beside injections up to {ends[0]:g}",
                "one and the same stress in both",
                "Check the unit and the heading of this column in both tables.",
            )


def _after_the_end(columns: Sequence[Column], injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield a caution for injections on a column after its stress was ended."""
    for column in columns:
        own = [one for one in injections if one.column == column.id and one.used]
        late = [one for one in own if _is_after(one, column.ended)]
        if late:
            said = (
                f"{column.ended:g} h" if isinstance(column.ended, float) else f"{column.ended:%Y-%m-%d %H:%M}"
            )
            yield Problem(
                "caution",
                "study.toml",
                f"column '{column.id}', ended",
                f"{said}, and injections after it, such as '{late[0].id}'",
                "an end after the last injection",
                "Correct the end, or leave these injections out with use = no and why.",
            )


def _is_after(injection: Injection, end: Moment | None) -> bool:
    """Return whether an injection was surely made after `end`."""
    if isinstance(end, datetime):
        at = injection.at
        return at is not None and (at.tzinfo is None) == (end.tzinfo is None) and at > end
    return (
        end is not None
        and injection.exposure_h is not None
        and injection.exposure_h > end * (1 + SAME_EXPOSURE)
    )


def _replaced(columns: Sequence[Column], injections: Sequence[Injection]) -> Iterator[Problem]:
    """Yield an error for a column whose exposure goes on where that of the one before it ended."""
    hours: dict[str, list[float]] = {}
    for one in injections:
        if one.exposure_h is not None and one.used:
            hours.setdefault(one.column, []).append(one.exposure_h)
    for column in columns:
        own, before = hours.get(column.id), hours.get(column.replaces)
        if column.replaces and own and before and min(own) >= max(before) > 1.0:
            yield Problem(
                "error",
                "injections.csv",
                f"column '{column.id}'",
                f"exposures from {min(own):g} h on, after those of '{column.replaces}', which it replaced",
                "exposures of its own, from 0 h on",
                f"Take the hours off that '{column.replaces}' had seen.",
            )


@dataclass(frozen=True, slots=True)
class StudyReading:
    """What a folder says and what is wrong with it."""

    study: Study | None
    """None where an error stands in the way."""
    problems: tuple[Problem, ...]


def read_study(folder: Path) -> StudyReading:
    """Read the study folder; chromatogram files are only looked for, not opened."""
    files = StudyFiles(folder)
    if not folder.is_dir():
        place = Problem("error", "", "", f"no folder '{folder}'", "a study folder", "Check the path.")
        return StudyReading(None, (place,))
    toml = Gathering("study.toml")
    data = files.read("study.toml")
    if data is None and not files.refused:
        toml.note(
            "", "no such file", "the study's metadata", "'lyewitness begin FOLDER' lays one out to fill in."
        )
    metadata = read_metadata(data, toml, files) if data is not None else None
    if metadata is None:
        return StudyReading(None, (*toml.problems, *files.refusals()))
    return _with_companions(files, metadata, toml)


def _with_companions(files: StudyFiles, metadata: Metadata, toml: Gathering) -> StudyReading:
    """Read all that lies beside study.toml."""
    injections, injection_problems = read_injections(files, metadata)
    conditions, condition_problems = read_conditions(files, metadata.columns)
    images, image_problems = read_images(files, metadata.columns)
    known = {
        "column": [column.id for column in metadata.columns],
        "marker": [marker.id for marker in metadata.markers],
        "injection": [injection.id for injection in injections],
        "image": [image.id for image in images],
        "group": list(dict.fromkeys(column.group for column in metadata.columns)),
    }
    notes, note_problems = read_notes(files, known)
    injections = placed_by_clock(injections, metadata.columns, metadata.events)
    conditions = placed_by_clock(conditions, metadata.columns, metadata.events)
    conditions = condensed(conditions, condition_problems)
    gatherings = [toml, injection_problems, condition_problems, image_problems, *note_problems]
    problems = tuple(problem for gathering in gatherings for problem in gathering.problems)
    problems += (*files.refusals(), *implausible(metadata, injections, conditions))
    own = Clock({one.id: one.at for one in injections if one.at}, "'at' of injections.csv", "injections.csv")
    problems += clock_problems(own, injections, metadata.columns, metadata.events)
    problems += tuple(log_problems(injections, conditions, metadata.columns))
    problems += tuple(unlike_times(metadata.columns, metadata.events))
    problems += tuple(dates_of_notes(notes, injections))
    if any(problem.severity == "error" for problem in problems):
        return StudyReading(None, problems)
    study = Study(
        folder=files.folder,
        id=metadata.id,
        title=metadata.title,
        questions=metadata.questions,
        stress=metadata.stress,
        test=metadata.test,
        columns=metadata.columns,
        markers=metadata.markers,
        limits=metadata.limits,
        injections=injections,
        people=metadata.people,
        licence=metadata.licence,
        keywords=metadata.keywords,
        invented=metadata.invented,
        choices=metadata.choices,
        exports=metadata.exports,
        conditions=conditions,
        images=images,
        notes=notes,
        events=metadata.events,
        factors=metadata.factors,
        plan=metadata.plan,
        running=metadata.running,
        revisions=metadata.revisions,
        supersedes=metadata.supersedes,
        extends=metadata.extends,
        rows_read=tuple(sorted(files.rows_read.items())),
        file_hashes=tuple(sorted(files.hashes.items())),
    )
    return StudyReading(study, problems)
