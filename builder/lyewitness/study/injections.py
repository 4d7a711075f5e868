"""The injections of a study, from injections.csv or from a pattern over file names.

In: the folder's files and its metadata. Out: `Injection`s and problems.
"""

import csv
import io
import json
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from lyewitness.study.delimited import TableRow, delimiter_of, read_table
from lyewitness.study.inside import StudyFiles
from lyewitness.study.metadata import Metadata
from lyewitness.study.placing import Placed
from lyewitness.study.records import Column, Injection, Study
from lyewitness.words.decoding import decoded
from lyewitness.words.problems import Gathering, listed, shortened, suggestion

TABLE = "injections.csv"
KNOWN = (
    "injection", "file", "column", "exposure_h", "exposure_mL", "exposure_cv", "at", "trace", "use", "why",
)  # fmt: skip
_FIELDS = {
    "exposure_h": r"[0-9]+(?:[.,][0-9]+)?",
    "exposure_mL": r"[0-9]+(?:[.,][0-9]+)?",
    "exposure_cv": r"[0-9]+(?:[.,][0-9]+)?",
    "injection": r"[^/]+?",
    "trace": r"[^/]+?",
}


def read_injections(files: StudyFiles, metadata: Metadata) -> tuple[tuple[Injection, ...], Gathering]:
    """Return the injections in the order of the folder, with the problems of their table or pattern."""
    data = files.read(TABLE)
    if data is not None:
        problems = Gathering(TABLE)
        injections = tuple(_from_table(data, files, metadata.columns, problems))
        files.rows_read[TABLE] = len(injections)
        if not injections and not problems.problems:
            problems.note("row 2", "no injection", "one row for each injection", "Fill in the table.")
        _note_hidden(files, metadata, injections, problems)
        return _checked(injections, metadata.columns, problems), problems
    problems = Gathering("study.toml" if metadata.injection_pattern else TABLE)
    if TABLE in files.refused:  # told by the gate; a pattern does not stand in for a table that is there
        return (), problems
    if not metadata.injection_pattern:
        problems.note(
            "",
            "no such file",
            "the list of injections",
            "Add injections.csv with the columns injection, file, column, exposure_h.",
        )
        return (), problems
    injections = _without(_from_pattern(files, metadata, problems), metadata, problems)
    return _checked(injections, metadata.columns, problems), problems


def _from_table(
    data: bytes, files: StudyFiles, columns: Sequence[Column], problems: Gathering
) -> Iterator[Injection]:
    """Yield one injection for each row, also for one with a problem, so that notes may refer to it."""
    column_ids = [column.id for column in columns]
    for row in read_table(data, problems, KNOWN, ("injection", "file", "column")):
        used = _used(row, problems)
        injection = Injection(
            id=row.text("injection"),
            file=row.text("file").replace("\\", "/"),
            column=row.text("column"),
            exposure_h=row.number_in("exposure_h", problems),
            exposure_mL=row.number_in("exposure_mL", problems),
            exposure_cv=row.number_in("exposure_cv", problems),
            at=row.time_in("at", problems),
            trace=row.text("trace"),
            used=used,
            why=row.text("why"),
            place=f"{TABLE}, {row.place}",
        )
        if column_ids and injection.column not in column_ids:
            problems.note(
                f"{row.place}, column",
                f"the column id '{injection.column}'",
                f"one of {listed(column_ids)}",
                suggestion(injection.column, column_ids, "Correct it, or add a [[column]] to study.toml."),
            )
        note_absent_file(files, injection.file, row, problems)
        yield injection


def note_absent_file(files: StudyFiles, name: str, row: TableRow, problems: Gathering) -> None:
    """Note a file that is not there; one that was refused is told by the gate."""
    if files.path_of(name) is None and not files.refuses(name):
        problems.note(
            f"{row.place}, file",
            f"'{shortened(name)}', which is no file of this folder",
            "a path below the study folder, with '/'",
            "Put the file there or correct the path.",
        )


def _used(row: TableRow, problems: Gathering) -> bool:
    """Return whether the row is used; `no` wants a reason, and `yes` none."""
    used = row.yes_in("use", problems, otherwise=True)
    if row.text("injection").startswith("#"):
        cure = "Take the row out, or leave the injection out with use = no and why; else rename it."
        found = f"'{shortened(row.text('injection'))}', which is read as an injection like any other"
        problems.caution(f"{row.place}, injection", found, "a name: this table has no remarks", cure)
    if used and row.text("why"):
        found = f"'{shortened(row.text('why'))}' for an injection that is counted"
        problems.caution(
            f"{row.place}, why", found, "a reason only with use = no", "Write use = no, or move it to a note."
        )
    if not used and not row.text("why"):
        problems.note(
            f"{row.place}, why", "nothing", "the reason why this injection is left out", "Write it in 'why'."
        )
    return used


def _from_pattern(files: StudyFiles, metadata: Metadata, problems: Gathering) -> tuple[Injection, ...]:
    """Return one injection for each file that fits the pattern, by column, exposure and name."""
    place = "injections.pattern"
    names = re.findall(r"\{([^}]*)\}", metadata.injection_pattern)
    unknown = [name for name in names if name not in {*_FIELDS, "column"}]
    exposures = [name for name in names if name.startswith("exposure_")]
    if unknown or "column" not in names or not exposures:
        problems.note(
            place,
            f"'{metadata.injection_pattern}'",
            f"{{column}} and one of {{exposure_h}}, {{exposure_mL}}, {{exposure_cv}}; known fields are "
            f"{listed([*_FIELDS, 'column'])}",
            "Correct the pattern.",
        )
        return ()
    expression = _expression(metadata.injection_pattern, metadata.columns)
    folder = metadata.injection_pattern.split("{")[0].rpartition("/")[0]
    deep = "/" in metadata.injection_pattern[len(folder) + 1 :]
    injections = []
    for name in files.names_below(folder, "**/*" if deep else "*"):
        if match := expression.fullmatch(name):
            injections.append(_matched(name, match.groupdict()))
        else:
            problems.caution(place, f"the file '{name}'", "a name that fits the pattern", "It is not read.")
    if not injections and not files.refuses(f"{folder}/" if folder else ""):
        problems.note(
            place, f"no file that fits '{metadata.injection_pattern}'", "some", "Check the pattern."
        )
    twice = any(count > 1 for count in Counter(injection.id for injection in injections).values())
    named = [replace(one, id=_stem(one.file)) if twice or not one.id else one for one in injections]
    order = {column.id: number for number, column in enumerate(metadata.columns)}
    return tuple(sorted(named, key=lambda one: (order[one.column], _exposure(one), one.id)))


def _without(
    injections: tuple[Injection, ...], metadata: Metadata, problems: Gathering
) -> tuple[Injection, ...]:
    """Return the injections of a pattern, those that `leave_out` names with `used` off and their reason."""
    reasons, known = dict(metadata.left_out), [one.id for one in injections]
    for name in reasons:
        if injections and name not in known:
            problems.note(
                f"injections.leave_out.{name}",
                f"'{shortened(name)}'",
                "the name of an injection that the pattern finds",
                suggestion(name, known, "Correct it, or take the line out."),
            )
    return tuple(
        replace(one, used=False, why=reasons[one.id]) if one.id in reasons else one for one in injections
    )


def _note_hidden(
    files: StudyFiles, metadata: Metadata, injections: Sequence[Injection], problems: Gathering
) -> None:
    """Note a table beside a pattern that leaves files of the pattern unread: most of them is an error."""
    if not metadata.injection_pattern:
        return
    fitting = {one.file for one in _from_pattern(files, metadata, Gathering("study.toml"))}
    hidden = fitting - {one.file for one in injections}
    if not fitting:
        found = f"a table beside a pattern in study.toml, '{metadata.injection_pattern}', which finds nothing"
        cure = "Take the pattern out of study.toml, or correct it and take the table out."
        problems.caution("", found, "one of the two: the table is followed", cure)
    if not hidden:
        return
    note = problems.note if 2 * len(hidden) > len(fitting) else problems.caution
    note(
        "",
        f"a table beside a pattern in study.toml: it hides {len(hidden)} of {len(fitting)} files that fit",
        "one of the two: the table stands for the pattern, and does not add to it",
        'Take the table out; to leave an injection out, write leave_out."NAME" = "why" below [injections].',
    )


def _expression(pattern: str, columns: Sequence[Column]) -> re.Pattern[str]:
    """Return the regular expression of a pattern; a column id is one of those known, the longest first."""
    ids = sorted((re.escape(column.id) for column in columns), key=len, reverse=True)
    fields = {**_FIELDS, "column": "|".join(ids) or r"[^/]+?"}
    parts = re.split(r"(\{[^}]*\})", pattern)
    expression = ""
    for part in parts:
        name = part[1:-1]
        if not part.startswith("{"):
            expression += re.escape(part)
        elif f"(?P<{name}>" in expression:
            expression += f"(?P={name})"
        else:
            expression += f"(?P<{name}>{fields[name]})"
    return re.compile(expression + r"(?:\.gz)?")


def _matched(name: str, found: dict[str, str]) -> Injection:
    """Return the injection that a file name describes."""
    numbers = {
        key: float(value.replace(",", ".")) for key, value in found.items() if key.startswith("exposure_")
    }
    return Injection(
        id=found.get("injection", ""),
        file=name,
        column=found["column"],
        exposure_h=numbers.get("exposure_h"),
        exposure_mL=numbers.get("exposure_mL"),
        exposure_cv=numbers.get("exposure_cv"),
        trace=found.get("trace", ""),
        place=name,
    )


def _stem(name: str) -> str:
    """Return a file's name without folder, `.gz` and ending."""
    return name.rpartition("/")[2].removesuffix(".gz").rpartition(".")[0] or name


def _exposure(injection: Injection) -> float:
    """Return whichever exposure is stated, 0 where none is."""
    stated = (injection.exposure_h, injection.exposure_mL, injection.exposure_cv)
    return next((value for value in stated if value is not None), 0.0)


def _checked(
    injections: tuple[Injection, ...], columns: Sequence[Column], problems: Gathering
) -> tuple[Injection, ...]:
    """Return the injections that have names of their own; note what else is wrong with each."""
    by_id = {column.id: column for column in columns}
    faulty = {one.place.partition(",")[0] for one in problems.problems}
    first: dict[str, str] = {}
    kept = []
    for injection in injections:
        place = injection.place.removeprefix(f"{TABLE}, ")
        if not injection.id or any(sign in injection.id for sign in "/\\[]|") or injection.id in first:
            again = f" again (first in {first[injection.id]})" if injection.id in first else ""
            problems.note(
                f"{place}, injection",
                f"'{injection.id}'{again}",
                "a name of its own, without / \\ [ ] |",
                "Give each injection its own name.",
            )
            continue
        first[injection.id] = place
        column = by_id.get(injection.column)
        injection = in_zone_of_start(injection, column)
        if column is not None and place not in faulty:
            _note_without_place(injection, column, place, problems)
        kept.append(injection)
    note_borrowed_zones(injections, kept, problems)
    looked_at = {injection.column for injection in injections}
    for column in columns:
        if injections and column.id not in looked_at:
            problems.caution(
                "",
                f"no injection on column '{column.id}'",
                "some",
                "Add them, or take the column out of study.toml.",
            )
    return tuple(kept)


def _note_without_place(injection: Injection, column: Column, place: str, problems: Gathering) -> None:
    """Note an injection whose exposure cannot be known."""
    stated = (injection.exposure_h, injection.exposure_mL, injection.exposure_cv)
    if any(value is not None for value in stated):
        return
    if injection.at is None and column.exposure_start is not None:
        return  # the export may bear a time stamp: seen when it is read
    if injection.at is None:
        problems.note(
            place,
            "no exposure",
            "exposure_h, exposure_mL, exposure_cv or at",
            "Fill in one of these columns.",
        )
    else:
        note_time_without_start(injection.at, column, place, problems)


def in_zone_of_start(row: Placed, column: Column | None) -> Placed:
    """Return the row with its time in the zone of its column's start, where the time bears none itself."""
    start = column.exposure_start if column is not None else None
    if row.at is None or start is None or row.at.tzinfo is not None or start.tzinfo is None:
        return row
    return replace(row, at=row.at.replace(tzinfo=start.tzinfo))


def note_borrowed_zones(before: Sequence[Placed], after: Sequence[Placed], problems: Gathering) -> None:
    """Say once of a table that its times were read in the zone of the starts."""
    bare = {row.place for row in before if row.at is not None and row.at.tzinfo is None}
    borrowed = [row.at for row in after if row.place in bare and row.at is not None and row.at.tzinfo]
    if borrowed:
        problems.caution(
            "at",
            f"{len(borrowed)} times without a zone, such as {borrowed[0]:%Y-%m-%dT%H:%M:%S}, read in that of "
            f"exposure_start: {borrowed[0].isoformat()}",
            "times with a zone, where exposure_start bears one",
            "Nothing need be done, if this is right; else write each time with its own zone.",
        )


def note_time_without_start(at: datetime, column: Column, place: str, problems: Gathering) -> None:
    """Note a time that cannot be turned into an exposure of `column`."""
    start = column.exposure_start
    if start is None or (start.tzinfo is None) != (at.tzinfo is None):
        zoned = " with a zone" if start else ""
        problems.note(
            f"{place}, at",
            f"a time{zoned}, and exposure_start = {start} in [[column]] '{column.id}'",
            "exposure_start of this column, both with or both without a time zone",
            "Write exposure_start with its zone, as these times are; those without one are then read in it."
            if start
            else f"Add 'exposure_start = {at:%Y-%m-%dT%H:%M:%S}', or when it was, to the [[column]].",
        )
    elif at < start:
        problems.note(f"{place}, at", f"{at}", f"a time not before {start}", "Correct one of them.")


def line_without(study: Study, injection: Injection, why: str) -> str:
    """Return the row of an injection with `use = no` and the reason, as its own table has rows.

    Where the table lacks these two columns, `head_to_add` says what its first line lacks. Of a pattern it is
    the line of study.toml that leaves the injection out, below `[injections]`: a table would hide all other
    files.
    """
    if of_pattern(injection):
        return f"leave_out.{_quoted(injection.id)} = {_quoted(why)}"
    lines, number = _lines(study), injection.place.rpartition("row ")[2]
    if number.isdigit() and int(number) <= len(lines):
        delimiter = delimiter_of(lines[0])
        head = _head_with_reasons(lines[0], delimiter)
        cells = next(csv.reader([lines[int(number) - 1]], delimiter=delimiter))
        cells += [""] * (len(head) - len(cells))
        cells[head.index("use")], cells[head.index("why")] = "no", why
        return _row_text(cells, delimiter)
    stated = (injection.exposure_h, injection.exposure_mL, injection.exposure_cv)
    value = next((f"{one}" for one in stated if one is not None), "")
    return _row_text([injection.id, injection.file, injection.column, value, "no", why], ",")


def head_to_add(study: Study) -> str:
    """Return what the first line of injections.csv lacks for `line_without` to fit; empty where nothing."""
    lines = _lines(study)
    if not lines:
        return ""
    delimiter = delimiter_of(lines[0])
    stated = next(csv.reader([lines[0]], delimiter=delimiter))
    return "".join(delimiter + word for word in _head_with_reasons(lines[0], delimiter)[len(stated) :])


def _head_with_reasons(line: str, delimiter: str) -> list[str]:
    """Return the heads of the table's columns, with those that say whether a row counts and why not."""
    head = [cell.strip().lower() for cell in next(csv.reader([line], delimiter=delimiter))]
    return head + [word for word in ("use", "why") if word not in head]


def _lines(study: Study) -> list[str]:
    """Return the lines of injections.csv; none where a study has none."""
    data = StudyFiles(study.folder, stated=dict(study.file_hashes)).read(TABLE)
    return decoded(data).split("\n") if data is not None else []


def lines_exchanged(study: Study, first: Injection, second: Injection) -> tuple[str, ...]:
    """Return the rows of two injections with their files exchanged, as the table has rows.

    None where no table has both, or both are in one file.
    """
    lines = _lines(study)
    if not lines or of_pattern(first) or of_pattern(second) or first.file == second.file:
        return ()
    delimiter = delimiter_of(lines[0])
    head = [cell.strip().lower() for cell in next(csv.reader([lines[0]], delimiter=delimiter))]
    numbers = [one.place.rpartition("row ")[2] for one in (first, second)]
    if "file" not in head or not all(n.isdigit() and int(n) <= len(lines) for n in numbers):
        return ()
    rows = [next(csv.reader([lines[int(n) - 1]], delimiter=delimiter)) for n in numbers]
    at = head.index("file")
    if any(len(cells) <= at for cells in rows):
        return ()
    rows[0][at], rows[1][at] = rows[1][at], rows[0][at]
    return tuple(_row_text(cells, delimiter) for cells in rows)


def of_pattern(injection: Injection) -> bool:
    """Return whether a pattern over file names found an injection, and no table has it."""
    return bool(injection.place) and injection.place == injection.file


def _quoted(text: str) -> str:
    """Return a text as TOML has it in double quotes."""
    return json.dumps(text, ensure_ascii=False)


def _row_text(cells: Sequence[str], delimiter: str) -> str:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter, lineterminator="").writerow(cells)
    return text.getvalue()
