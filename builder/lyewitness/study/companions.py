"""What lies beside the injections: the conditions log, the images with their list, the dated notes.

In: the folder's files. Out: `LoggedCondition`s, `StudyImage`s, notes and problems.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from statistics import median
from typing import cast, get_args

from lyewitness.study.delimited import TableRow, read_table
from lyewitness.study.injections import (
    in_zone_of_start,
    note_absent_file,
    note_borrowed_zones,
    note_time_without_start,
)
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Column, ImageKind, LoggedCondition, Note, StudyImage
from lyewitness.study.toml_records import parsed
from lyewitness.words.decoding import decoded
from lyewitness.words.problems import Gathering, listed, suggestion, with_article

REFERENCE = re.compile(r"\[\[([a-z]+):([^\[\]|]+)(?:\|([^\[\]]+))?\]\]")
"""`[[kind:id]]`, or `[[kind:id|words of the link]]`."""
FENCE = "+++"
OTHER_FENCE = "---"
HEADER_KEYS = ("title", "date", "author", "letter")


def read_notes(
    files: StudyFiles, known: Mapping[str, Sequence[str]]
) -> tuple[tuple[Note, ...], list[Gathering]]:
    """Return the notes sorted by date and name, and the problems of each.

    `known` holds the ids that may be referred to, by kind; `note` is added here.
    """
    names = files.names_below("notes", "*.md")
    targets = {**known, "note": [_note_id(name) for name in names]}
    notes, gatherings = [], []
    for name in names:
        problems = Gathering(name)
        notes.append(_note(name, decoded(files.read(name) or b""), targets, problems))
        gatherings.append(problems)
    notes.sort(key=lambda note: (note.dated is None, note.dated or date.max, note.id))
    return tuple(notes), gatherings


def _note(name: str, text: str, targets: Mapping[str, Sequence[str]], problems: Gathering) -> Note:
    """Return one note."""
    header, body, first_line = _header(text, problems)
    dated = header.get("date")
    if isinstance(dated, datetime):
        dated = dated.date()
    if dated is not None and not isinstance(dated, date):
        problems.note(
            "header, date", f"{dated!r}", "a date such as 2026-03-02, without quotes", "Correct it."
        )
        dated = None
    heading = next((line.strip("# \t") for line in body.split("\n") if line.startswith("#")), "")
    title = str(header.get("title") or heading or _note_id(name))
    references = _references(body, first_line, targets, problems)
    return Note(
        id=_note_id(name),
        file=name,
        title=title,
        text=body,
        dated=dated,
        author=str(header.get("author", "")),
        letter=str(header.get("letter", "")),
        references=references,
    )


def _header(text: str, problems: Gathering) -> tuple[dict[str, object], str, int]:
    """Return the header's keys, the text below it and the line number on which that begins."""
    lines = text.split("\n")
    if lines[0].strip() == OTHER_FENCE:
        cure = f"Write {FENCE} for {OTHER_FENCE}, and 'title = \"…\"', 'date = 2026-03-02' between them."
        problems.caution("line 1", f"a header between {OTHER_FENCE}", f"TOML between lines {FENCE}", cure)
    if lines[0].strip() != FENCE:
        return {}, text, 1
    end = next((number for number, line in enumerate(lines[1:], start=1) if line.strip() == FENCE), None)
    if end is None:
        problems.note(
            "line 1", f"a header without end ({FENCE})", f"a second line {FENCE}", "Close the header."
        )
        return {}, "\n".join(lines[1:]), 2
    header = parsed("\n".join(lines[1:end]), problems, first_line=2) or {}
    for key in header:
        if key not in HEADER_KEYS:
            problems.caution("header", f"the key '{key}'", f"one of {listed(HEADER_KEYS)}", "It is not read.")
    return header, "\n".join(lines[end + 1 :]), end + 2


def _references(
    body: str, first_line: int, targets: Mapping[str, Sequence[str]], problems: Gathering
) -> tuple[tuple[str, str], ...]:
    """Return what the note points at; a reference to what does not exist names its line."""
    references = []
    for number, line in enumerate(body.split("\n"), start=first_line):
        for match in REFERENCE.finditer(line):
            kind, target = match[1], match[2].strip()
            references.append((kind, target))
            if kind not in targets:
                cure = suggestion(kind, targets, "Use one of these kinds.")
                problems.note(f"line {number}", f"{match[0]}", f"a kind among {listed(targets)}", cure)
            elif kind == "injection" and not targets[kind]:
                continue  # that no injection could be read is told of their table
            elif target not in targets[kind]:
                cure = suggestion(target, targets[kind], f"Name {with_article(kind)} of this study.")
                problems.note(f"line {number}", f"{match[0]}", f"{with_article(kind)} that exists", cure)
    return tuple(references)


def _note_id(name: str) -> str:
    """Return the file name without folder and ending."""
    return name.rpartition("/")[2].removesuffix(".md")


CONDITIONS = "conditions.csv"
CONDITIONS_KNOWN = (
    "column", "exposure_h", "exposure_mL", "exposure_cv", "at", "pressure_bar", "temperature_C", "ph",
    "flow_mL_min",
)  # fmt: skip
LOGGED_NUMBERS = (
    "exposure_h", "exposure_mL", "exposure_cv", "pressure_bar", "temperature_C", "ph", "flow_mL_min",
)  # fmt: skip
MOST_READINGS = 1000
"""Rows of the log of one column: six minutes apart over a hundred hours, finer than courses need."""
IMAGES = "images.csv"
IMAGES_KNOWN = (
    "file", "caption", "column", "exposure_h", "kind", "nm_per_pixel", "pair", "alt", "particles",
    "registered",
)  # fmt: skip
IMAGE_ENDINGS = (".png", ".jpg", ".jpeg", ".tif", ".tiff")


def read_conditions(
    files: StudyFiles, columns: Sequence[Column]
) -> tuple[tuple[LoggedCondition, ...], Gathering]:
    """Return the rows of conditions.csv; an absent log is no problem here."""
    problems = Gathering(CONDITIONS)
    data = files.read(CONDITIONS)
    if data is None:
        return (), problems
    rows = read_table(data, problems, CONDITIONS_KNOWN, ("column",))
    files.rows_read[CONDITIONS] = len(rows)
    logged = [row for row in (_logged(row, columns, problems) for row in rows) if row is not None]
    by_id = {column.id: column for column in columns}
    placed = tuple(in_zone_of_start(row, by_id.get(row.column)) for row in logged)
    note_borrowed_zones(logged, placed, problems)
    return placed, problems


READINGS = ("pressure_bar", "temperature_C", "ph", "flow_mL_min")
FAR_APART = 2.0
"""Readings of one moment differ by this factor at most, from the pump's strokes (common practice)."""
TENFOLD = (8.0, 12.5)
"""A reading that is so many times its column's median, or one part in so many: one in MPa for bar."""


def note_doubtful_readings(logged: Sequence[LoggedCondition], problems: Gathering) -> None:
    """Note readings of one moment that contradict each other, and single ones that look like another unit."""
    for name in READINGS:
        by_column: dict[str, list[LoggedCondition]] = {}
        for row in logged:
            if (getattr(row, name) or 0.0) > 0.0:
                by_column.setdefault(row.column, []).append(row)
        for rows in by_column.values():
            moments: dict[tuple[object, ...], LoggedCondition] = {}
            usual = median(getattr(row, name) for row in rows)
            for row in rows:
                value = getattr(row, name)
                moment = (row.exposure_h, row.exposure_mL, row.exposure_cv, row.at)
                before = getattr(moments.setdefault(moment, row), name)
                place = f"{row.place.partition(', ')[2]}, {name}"
                if max(value, before) > FAR_APART * min(value, before):
                    told = f"{value:g} beside {before:g} at the same time"
                    problems.caution(place, told, "one reading of a time", "Correct or remove one of them.")
                elif TENFOLD[0] <= max(value, usual) / min(value, usual) <= TENFOLD[1]:
                    told = f"{value:g}, a tenth or ten times of the column's usual {usual:g}"
                    problems.caution(place, told, "one unit", "Correct it if it was noted in another unit.")


def _logged(row: TableRow, columns: Sequence[Column], problems: Gathering) -> LoggedCondition | None:
    """Return one row of the log, None after a problem."""
    found = len(problems.problems)
    logged = LoggedCondition(
        column=row.text("column"),
        exposure_h=row.number_in("exposure_h", problems),
        exposure_mL=row.number_in("exposure_mL", problems),
        exposure_cv=row.number_in("exposure_cv", problems),
        at=row.time_in("at", problems),
        pressure_bar=row.number_in("pressure_bar", problems),
        temperature_C=row.number_in("temperature_C", problems),
        ph=row.number_in("ph", problems),
        flow_mL_min=row.number_in("flow_mL_min", problems),
        place=f"{CONDITIONS}, {row.place}",
    )
    _known_column(row, columns, problems)
    placed = (logged.exposure_h, logged.exposure_mL, logged.exposure_cv, logged.at)
    if len(problems.problems) == found and all(value is None for value in placed):
        problems.note(
            row.place, "no exposure", "exposure_h, exposure_mL, exposure_cv or at", "Fill in one of them."
        )
    column = next((column for column in columns if column.id == logged.column), None)
    at = in_zone_of_start(logged, column).at
    if at is not None and column is not None and placed[:3] == (None, None, None):
        note_time_without_start(at, column, row.place, problems)
    return logged if len(problems.problems) == found else None


def _known_column(row: TableRow, columns: Sequence[Column], problems: Gathering) -> None:
    """Note a column id that study.toml does not have."""
    ids = [column.id for column in columns]
    if ids and row.text("column") not in ids:
        problems.note(
            f"{row.place}, column",
            f"the column id '{row.text('column')}'",
            f"one of {listed(ids)}",
            suggestion(row.text("column"), ids, "Correct it, or add a [[column]] to study.toml."),
        )


def condensed(conditions: Sequence[LoggedCondition], problems: Gathering) -> tuple[LoggedCondition, ...]:
    """Return the log with `MOST_READINGS` rows a column at most: medians of so many consecutive rows.

    Of a log that is not that long every row is kept. Medians leave out what a bubble does to one reading.
    """
    by_column: dict[str, list[LoggedCondition]] = {}
    for row in conditions:
        by_column.setdefault(row.column, []).append(row)
    kept: list[LoggedCondition] = []
    for column, rows in by_column.items():
        together = -(-len(rows) // MOST_READINGS)
        if together == 1:
            kept += rows
            continue
        rows = sorted(rows, key=lambda row: row.exposure_h or row.exposure_mL or row.exposure_cv or 0.0)
        kept += [_median_row(rows[start : start + together]) for start in range(0, len(rows), together)]
        problems.caution(
            f"column '{column}'",
            f"{len(rows)} rows, read as medians of {together} each",
            f"at most {MOST_READINGS} rows a column",
            "Nothing need be done; a shorter log is read row by row.",
        )
    return tuple(kept)


def _median_row(rows: Sequence[LoggedCondition]) -> LoggedCondition:
    """Return one row that stands for several: the median of each of their numbers."""
    numbers = {
        name: median(values)
        for name in LOGGED_NUMBERS
        if (values := [value for row in rows if (value := getattr(row, name)) is not None])
    }
    return replace(rows[len(rows) // 2], **numbers)


def read_images(files: StudyFiles, columns: Sequence[Column]) -> tuple[tuple[StudyImage, ...], Gathering]:
    """Return the listed images, then those in images/ that no list names."""
    problems = Gathering(IMAGES)
    data = files.read(IMAGES)
    images: dict[str, StudyImage] = {}
    rows = read_table(data, problems, IMAGES_KNOWN, ("file", "caption")) if data is not None else ()
    if data is not None:
        files.rows_read[IMAGES] = len(rows)
    for row in rows:
        image = _image(row, files, columns, problems)
        if image.id in images:
            problems.note(
                f"{row.place}, file", f"'{image.file}' again", "each image once", "Rename or remove one."
            )
        else:
            images[image.id] = image
    listed_files = {image.file for image in images.values()}
    for name in files.names_below("images"):
        if (
            name.lower().endswith(IMAGE_ENDINGS)
            and name not in listed_files
            and _image_id(name) not in images
        ):
            files.read(name)
            images[_image_id(name)] = StudyImage(id=_image_id(name), file=name, caption="")
            problems.caution(
                "",
                f"no row for '{name}'",
                "a row with its caption",
                "Add it: without a caption it proves nothing.",
            )
    return tuple(images.values()), problems


def _image(row: TableRow, files: StudyFiles, columns: Sequence[Column], problems: Gathering) -> StudyImage:
    """Return one listed image, also one with a problem, so that notes may refer to it."""
    name = row.text("file").replace("\\", "/")
    note_absent_file(files, name, row, problems)
    if files.read(name) is not None and not name.lower().endswith(IMAGE_ENDINGS):
        problems.note(
            f"{row.place}, file", f"'{name}'", "a PNG, JPEG or TIFF image", "Save it as one of these."
        )
    kind = row.text("kind") or "other"
    if kind not in get_args(ImageKind):
        problems.note(
            f"{row.place}, kind", f"'{kind}'", listed(get_args(ImageKind)), "Use one of these words."
        )
    if row.text("column"):
        _known_column(row, columns, problems)
    return StudyImage(
        id=_image_id(name),
        file=name,
        caption=row.text("caption"),
        column=row.text("column"),
        exposure_h=row.number_in("exposure_h", problems),
        kind=cast(ImageKind, kind),
        nm_per_pixel=row.number_in("nm_per_pixel", problems),
        pair=row.text("pair"),
        alt=row.text("alt"),
        count_particles=row.yes_in("particles", problems),
        registered=row.yes_in("registered", problems) if row.text("registered") else None,
    )


def _image_id(name: str) -> str:
    """Return the file name without folder and ending."""
    return name.rpartition("/")[2].rpartition(".")[0]
