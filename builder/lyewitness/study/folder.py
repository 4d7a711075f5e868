"""A study folder, read whole: every problem is found in one pass.

In: the path of a folder. Out: `StudyReading`.
"""

from dataclasses import dataclass
from pathlib import Path

from lyewitness.study.companions import (
    condensed,
    note_doubtful_readings,
    read_conditions,
    read_images,
    read_notes,
)
from lyewitness.study.injections import read_injections
from lyewitness.study.inside import StudyFiles, names_not_kept
from lyewitness.study.metadata import Metadata, read_metadata
from lyewitness.study.placing import (
    Clock,
    clock_problems,
    dates_of_notes,
    log_problems,
    placed_by_clock,
    unlike_times,
    without_pauses,
)
from lyewitness.study.plausibility import contradictory, implausible
from lyewitness.study.records import Study
from lyewitness.study.set_on_purpose import parted_by_setting
from lyewitness.words.problems import Gathering, Problem


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
    metadata = parted_by_setting(metadata, toml)
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
    conditions, in_pauses = without_pauses(conditions, metadata.columns, metadata.events)
    note_doubtful_readings(conditions, condition_problems)
    conditions = condensed(conditions, condition_problems)
    gatherings = [toml, injection_problems, condition_problems, image_problems, *note_problems]
    problems = tuple(problem for gathering in gatherings for problem in gathering.problems)
    problems += (*files.refusals(), *names_not_kept(files), *implausible(metadata, injections, conditions))
    if not any(problem.severity == "error" for problem in toml.problems):
        problems += contradictory(metadata, injections, conditions)
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
        currency=metadata.currency,
        invented=metadata.invented,
        choices=metadata.choices,
        exports=metadata.exports,
        conditions=conditions,
        logged_in_pauses=in_pauses,
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
