"""Tables of study.toml turned into records, with every mistake told by line and key.

In: the text of a TOML file, parsed within bounds. Out: records of any kind, and problems.
"""

import re
import tomllib
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from lyewitness.study.delimited import YEARS
from lyewitness.words.problems import Gathering, listed, shortened, suggestion, told_plainly

DEEPEST = 12
"""Tables in tables: nothing that is read lies deeper than four."""
LARGEST_NUMBER = 1e15
"""Whole numbers above it stand for nothing in a study, and not all of them can be written as a double."""
LONGEST_LINE = 2000
"""Letters of a line in which a key or a usual mistake is looked for."""
USUAL: tuple[tuple[str, str, str], ...] = (
    (
        r"=\s*[-+]?\d+,\d+\s*(#.*)?$",
        "a number with a decimal point",
        "Write a decimal point: 10.5, not 10,5.",
    ),
    (
        r"=\s*\d{1,2}[./]\d{1,2}[./]\d{2,4}",
        "a date such as 2026-03-01",
        "Write year-month-day, without quotes.",
    ),
    (
        r"^[^\"'#]*\b\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d(?!:?\d)",
        "a time with its seconds, such as 2026-03-01T08:00:00+01:00",
        "Add the seconds: T08:00:00, not T08:00.",
    ),
    (
        r"=\s*[-+]?[\d.]+\s*[A-Za-z%°µ]",
        "a number without its unit",
        "The key names the unit: write the number alone.",
    ),
    (r"=\s*[“”„«»‘’`]", "text in straight quotes", 'Write key = "text" with the quotes of a keyboard.'),
    (r"=\s*(?!true|false|inf|nan)[A-Za-z…][^\"=]*$", "text in double quotes", 'Write key = "text".'),
    (r"=\s*(#.*)?$", "a value after the '='", "Write the value, or put '#' before the line."),
    (r"^\s*\[+[^\]]*$", "a heading such as [stress] or [[column]]", "Close the bracket."),
)
"""(what the line looks like, what should stand there, what to do), the first that fits is told."""


_NUMBER = re.compile(r"\s*[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?\s*")
_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+|\"[^\"]+\")\s*(?:\.[^=]*)?=")


_LONG_KEY = re.compile(r"^[ \t\[]*[\w-]+(?:[ \t]*\.[ \t]*[\w-]+){64,}", re.MULTILINE)
"""What no setting has; to read a key of 20,000 parts takes gigabytes before it can be refused."""


def parsed(text: str, problems: Gathering, first_line: int = 1) -> dict[str, Any] | None:
    """Return the document, or None after a problem; `first_line` is where `text` begins in its file.

    Values that nothing can be done with (too deep, too large, a date beyond the calendar) are a problem too.
    """
    long = _LONG_KEY.search(text)
    if long is not None:
        number = text.count("\n", 0, long.start()) + first_line
        expected = f"a key of at most {DEEPEST} levels"
        problems.note(f"line {number}", "a key of very many parts", expected, "Take the points out.")
        return None
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _explain(text, error, problems, first_line)
        return None
    except RecursionError:
        _too_deep(problems)
        return None
    except ValueError as error:  # whole numbers of more digits than Python converts
        problems.note("", shortened(str(error)), "numbers of at most 15 digits", "Correct the number.")
        return None
    return _bared(document) if _within_bounds(document, problems) else None


def _bared(value: Any) -> Any:
    """Return a document without blanks around its texts, as tables have none: `"A "` is the group `A`."""
    if isinstance(value, dict):
        return {key: _bared(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_bared(inner) for inner in value]
    return value.strip() if isinstance(value, str) else value


def _within_bounds(document: dict[str, Any], problems: Gathering) -> bool:
    """Note what lies too deep, and numbers and dates that stand for nothing; walks without recursion."""
    before = len(problems.problems)
    waiting: list[tuple[str, Any, int]] = [("", document, 0)]
    while waiting:
        path, value, depth = waiting.pop()
        if depth > DEEPEST:
            _too_deep(problems)
            return False
        if isinstance(value, dict | list):
            pairs = value.items() if isinstance(value, dict) else enumerate(value, start=1)
            waiting += [
                (f"{path}.{key}"[:LONGEST_LINE].lstrip("."), inner, depth + 1) for key, inner in pairs
            ]
        elif isinstance(value, int) and abs(value) > LARGEST_NUMBER:
            found = f"a whole number of about {1 + int(value.bit_length() * 0.30103)} digits"
            problems.note(shortened(path), found, "at most 15 digits", "Correct the number.")
        elif isinstance(value, date) and not YEARS[0] <= value.year <= YEARS[1]:
            expected = f"a year from {YEARS[0]} to {YEARS[1]}"
            problems.note(shortened(path), f"{value}", expected, "Correct the date.")
    return len(problems.problems) == before


def _too_deep(problems: Gathering) -> None:
    problems.note("", "tables within tables within tables", f"at most {DEEPEST} levels", "Take brackets out.")


def _explain(text: str, error: tomllib.TOMLDecodeError, problems: Gathering, first_line: int) -> None:
    """Add the problem of a text that cannot be read, with the mistake that its line most looks like."""
    message, _, place = str(error).rpartition(" (at ")
    number = re.match(r"line (\d+)", place)
    lines = text.split("\n")
    line = lines[int(number[1]) - 1][:LONGEST_LINE].strip() if number and int(number[1]) <= len(lines) else ""
    where = f"line {int(number[1]) + first_line - 1}" if number else "its end"
    for pattern, expected, cure in USUAL:
        if re.search(pattern, line):
            problems.note(where, f"'{shortened(line)}'", expected, cure)
            return
    problems.note(
        where,
        f"'{shortened(line)}' ({told_plainly(message or error)})",
        "TOML that can be read",
        "Look at this line and the one before it: quotes, brackets and commas.",
    )


def key_lines(text: str) -> Mapping[str, int]:
    """Return line numbers (from 1) by path: `study.id`, `column[2].length_mm`, `column[2]`.

    Arrays of tables count from 1. Keys inside multi-line strings may be counted by mistake, which can
    only send a reader to a line near the right one.
    """
    lines: dict[str, int] = {}
    seen: Counter[str] = Counter()
    table = ""
    for number, line in enumerate(text.split("\n"), start=1):
        line = re.sub(r"\s+", " ", line[:LONGEST_LINE])  # many blanks would make the patterns slow
        if header := _HEADER.match(line):
            table = header[2].replace('"', "").replace(" ", "")
            if header[1] == "[[":
                seen[table] += 1
                table = f"{table}[{seen[table]}]"
            lines.setdefault(table, number)
        elif key := _KEY.match(line):
            name = key[1].strip('"')
            lines.setdefault(f"{table}.{name}" if table else name, number)
    return lines


def place_of(path: str, lines: Mapping[str, int]) -> str:
    """Return `line 34, column[2].length_mm`, with the line of the nearest table where the key is absent."""
    probe = path
    while probe and probe not in lines:
        probe = probe.rpartition(".")[0]
    return f"line {lines[probe]}, {path}" if probe else path


Record = TypeVar("Record")
Table = dict[str, Any]

MOST = 1e12
"""Of any other number: peak areas reach 1e9, and squares of what lies far beyond can no longer be added."""
RANGES: Mapping[str, tuple[float, float]] = {
    "buffer_mM": (0, 10_000),
    "ph": (-1, 16),
    "ph_temperature_C": (0, 100),
    "organic_percent": (0, 100),
    "temperature_C": (0, 250),
    "flow_mL_min": (1e-6, 1000),
    "wavelength_nm": (100, 2000),
    "injection_uL": (0, 10_000),
    "length_mm": (0.1, 5000),
    "inner_diameter_mm": (0.01, 1000),
    "particle_um": (0.05, 500),
    "core_ratio": (0.01, 0.999),
    "pka": (-10, 25),
    "retention_min": (1e-4, 10_000),
    "run_time_min": (1e-3, 10_000),
    "reference_injections": (1, 1000),
    "confidence": (0.5, 0.9999),
    "noise_window_half_widths": (1, 100),
    "equivalence_margin_percent": (0.1, 500),
    "extrapolate_to_h": (0, 1e5),
    "sampling_interval_s": (1e-6, 3600),
    "delay_s": (-1e5, 1e5),
    "at_least_percent": (1e-3, 1e5),
    "at_most_percent": (1e-3, 1e5),
    "span_h": (1e-3, 1e6),
    "ends_h": (1e-3, 1e6),
    "looks_h": (0, 1e6),
    "price": (0, MOST),
    "seed": (0, LARGEST_NUMBER),
}
"""Least and greatest believable value of a key, wherever it stands: catches slips of unit and point."""
BLANK = "…"
EXPECTED: Mapping[str, tuple[str, str]] = {
    "float_parsing": ("a number", "Write a number with a decimal point and without quotes: 10.5."),
    "float_type": ("a number", "Write a number with a decimal point and without quotes: 10.5."),
    "int_parsing": ("a whole number", "Write a whole number without quotes."),
    "int_type": ("a whole number", "Write a whole number without quotes."),
    "int_from_float": ("a whole number", "Write a whole number."),
    "string_type": ("text", "Put the value in double quotes."),
    "bool_parsing": ("true or false", "Write true or false, without quotes."),
    "date_parsing": ("a date", "Write year-month-day without quotes: 2026-03-01."),
    "date_from_datetime_parsing": ("a date", "Write year-month-day without quotes: 2026-03-01."),
    "date_from_datetime_inexact": ("a date", "Write year-month-day without quotes: 2026-03-01."),
    "datetime_type": ("a time", "Write it without quotes: 2026-03-01T08:00:00."),
    "date_type": ("a date", "Write year-month-day without quotes: 2026-03-01."),
    "datetime_parsing": ("a time", "Write it without quotes: 2026-03-01T08:00:00."),
    "datetime_from_date_parsing": ("a time", "Write it without quotes: 2026-03-01T08:00:00."),
    "dict_type": ("a table", "Write a table: { name = 1.2 }."),
    "tuple_type": ("a list", 'Write a list: ["one", "two"].'),
}
"""What to say for each kind of mistake that the checking library names."""


@dataclass(slots=True)
class TomlReading:
    """One pass over study.toml: where keys stand, and what was found."""

    problems: Gathering
    lines: Mapping[str, int]

    def note(self, path: str, found: str, expected: str, cure: str) -> None:
        """Add one problem at a key."""
        self.problems.note(place_of(path, self.lines), found, expected, cure)

    def caution(self, path: str, found: str, expected: str, cure: str) -> None:
        """Add one caution at a key."""
        self.problems.caution(place_of(path, self.lines), found, expected, cure)

    def unknown(self, path: str, table: Mapping[str, Any], known: tuple[str, ...]) -> None:
        """Add a caution for each key of a table that is not read."""
        for key in table:
            if key not in known:
                where = f"{path}.{key}" if path else key
                self.problems.caution(
                    place_of(where, self.lines),
                    f"the key '{key}'",
                    f"one of {listed(known, 30)}",
                    suggestion(key, known, "The key is not read."),
                )

    def record(self, path: str, table: Any, kind: type[Record], **given: Any) -> Record | None:
        """Return `table` as a `kind`, with `given` where the table is silent; None after a problem."""
        if not isinstance(table, dict):
            self.note(path, f"{table!r}", "a table", f"Write it as [{path}] with keys below it.")
            return None
        known = tuple(item.name for item in fields(kind))  # type: ignore[arg-type]
        self.unknown(path, table, known)
        wanted = {**given, **{key: value for key, value in table.items() if key in known}}
        in_range = self._of_its_kind(path, wanted, kind) and self._in_range(path, wanted)
        try:
            record = TypeAdapter(kind).validate_python(wanted)
            return record if in_range else None
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                self._explain(path, dict(detail))
            return None

    def _of_its_kind(self, path: str, table: Mapping[str, Any], kind: type[Any]) -> bool:
        """Note what the checking library takes for another kind of thing without a word.

        True and false where a number belongs are 1 and 0 to it; numbers where a time belongs, also in quotes,
        are seconds since 1970.
        """
        kinds = {item.name: str(item.type) for item in fields(kind)}
        good = True
        for key, value in table.items():
            wanted, is_truth = kinds[key], isinstance(value, bool) and "bool" not in kinds[key]
            is_number = isinstance(value, int | float) or (
                isinstance(value, str) and _NUMBER.fullmatch(value)
            )
            if is_number and "date" in wanted and "float" not in wanted:
                told = EXPECTED["datetime_parsing" if "datetime" in wanted else "date_parsing"]
            elif is_truth:
                told = EXPECTED["float_type" if "float" in wanted else "int_type"]
            else:
                continue
            self.note(f"{path}.{key}", str(value).lower() if is_truth else shortened(str(value)), *told)
            good = False
        return good

    def _in_range(self, path: str, table: Mapping[str, Any]) -> bool:
        good = True
        for key, value in table.items():
            numbers = (
                value.values() if isinstance(value, dict) else value if isinstance(value, list) else [value]
            )
            low, high = RANGES.get(key, (-MOST, MOST))
            for number in numbers:
                if (
                    isinstance(number, int | float)
                    and not isinstance(number, bool)
                    and not low <= number <= high
                ):
                    self.note(
                        f"{path}.{key}",
                        f"{number:g}",
                        f"a number from {low:g} to {high:g}",
                        "Check the unit.",
                    )
                    good = False
        return good

    def _explain(self, path: str, detail: Mapping[str, Any]) -> None:
        """Turn one validation error into a problem with the key's line."""
        key = str(detail["loc"][0]) if detail["loc"] else ""
        if detail["type"] == "missing":
            self.note(f"{path}.{key}", "nothing", f"the key '{key}'", f"Write '{key} = …' into this table.")
            return
        where = f"{path}.{key}" if key else path
        expected, cure = EXPECTED.get(str(detail["type"]), ("", "Correct the value."))
        if not expected:
            expected = str(detail["msg"]).removeprefix("Input should be ").partition(", unable")[0]
        self.note(where, shortened(repr(detail["input"])), expected, cure)

    def blanks(self, path: str, table: Any) -> None:
        """Add a problem for each value that is still the dots of a blank form."""
        pairs = table.items() if isinstance(table, dict) else enumerate(table, start=1)
        for key, value in pairs:
            where = f"{path}[{key}]" if isinstance(table, list) else f"{path}.{key}".lstrip(".")
            if value == BLANK:
                self.note(where, f"'{BLANK}'", "what the comment beside it says", "Fill it in.")
            elif isinstance(value, dict | list):
                self.blanks(where, value)


def tables_of(reading: TomlReading, document: Table, name: str) -> list[Any]:
    """Return the tables of `[[name]]`; a single `[name]` counts as one."""
    tables = document.get(name, [])
    return tables if isinstance(tables, list) else [tables]


def records_of(reading: TomlReading, document: Table, name: str, kind: type[Record]) -> tuple[Record, ...]:
    """Return every `[[name]]` as a record, leaving out those with a problem."""
    records = (
        reading.record(f"{name}[{number}]", table, kind)
        for number, table in enumerate(tables_of(reading, document, name), start=1)
    )
    return tuple(record for record in records if record is not None)


def with_own_ids(
    reading: TomlReading, name: str, records: tuple[Record, ...], key: Callable[[Record], str]
) -> tuple[Record, ...]:
    """Return the records whose id is new and usable, and note the others."""
    kept: dict[str, Record] = {}
    for number, record in enumerate(records, start=1):
        record_id = key(record)
        if record_id in kept:
            reading.note(
                f"{name}[{number}].id", f"'{record_id}' again", "an id of its own", "Rename one of them."
            )
        elif not record_id.strip() or any(ord(sign) < 32 or sign in "/\\[]|" for sign in record_id):
            reading.note(f"{name}[{number}].id", f"'{record_id}'", "a name without / \\ [ ] |", "Rename it.")
        else:
            kept[record_id] = record
    return tuple(kept.values())


def known_words(reading: TomlReading, path: str, words: tuple[str, ...], known: list[str], what: str) -> bool:
    """Note each word that is not the name of a known thing."""
    wrong = [word for word in words if word not in known]
    for word in wrong:
        cure = suggestion(word, known, f"Use the name of a {what} of this study.")
        reading.note(path, f"the {what} '{word}'", f"one of {listed(known)}", cure)
    return not wrong
