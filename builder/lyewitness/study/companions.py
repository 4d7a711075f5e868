"""What lies beside the injections: the conditions log and the images with their list.

In: the folder's files. Out: `LoggedCondition`s, `StudyImage`s and problems.
"""

from collections.abc import Sequence
from dataclasses import replace
from statistics import median
from typing import cast, get_args

from lyewitness.study.delimited import TableRow, read_table
from lyewitness.study.gathering import Gathering, listed, suggestion
from lyewitness.study.injections import note_absent_file, note_time_without_start
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Column, ImageKind, LoggedCondition, StudyImage

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
IMAGES_KNOWN = ("file", "caption", "column", "exposure_h", "kind", "nm_per_pixel", "pair", "alt", "particles")
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
    logged = [_logged(row, columns, problems) for row in rows]
    return tuple(row for row in logged if row is not None), problems


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
    if logged.at is not None and column is not None and placed[:3] == (None, None, None):
        note_time_without_start(logged.at, column, row.place, problems)
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
    )


def _image_id(name: str) -> str:
    """Return the file name without folder and ending."""
    return name.rpartition("/")[2].rpartition(".")[0]
