"""Tables of study.toml turned into records, with every mistake told by line and key.

In: the document of a TOML file. Out: records of any kind, and problems.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from lyewitness.study.delimited import shortened
from lyewitness.study.gathering import Gathering, listed, suggestion
from lyewitness.study.toml_text import place_of

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
    "date_type": ("a date", "Write year-month-day without quotes: 2026-03-01."),
    "datetime_parsing": ("a time", "Write it without quotes: 2026-03-01T08:00:00."),
    "datetime_from_date_parsing": ("a time", "Write it without quotes: 2026-03-01T08:00:00."),
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
        in_range = self._in_range(path, wanted)
        try:
            record = TypeAdapter(kind).validate_python(wanted)
            return record if in_range else None
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                self._explain(path, dict(detail))
            return None

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
