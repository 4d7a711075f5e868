"""The guide: every key, column, limit, event, format, theme and exit code, taken from the records themselves.

In: the help of the commands and the exit codes. Out: Markdown files by name. What a field means is the text
under it in the source of its record, and its default is the record's own, so that neither can go stale.
"""

import ast
import inspect
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, fields
from typing import Any, get_args

from lyewitness.outputs.datapackage import TABLES, meaning_of_column
from lyewitness.peaks.records import FLAGS
from lyewitness.shipped import shipped_folder
from lyewitness.study import records
from lyewitness.study.metadata import STUDY_KEYS
from lyewitness.study.toml_records import RANGES
from lyewitness.traces.reading import READERS, Reader
from lyewitness.words.metrics import LIMITED, METRICS

MADE_FROM = "This file was made by `lyewitness guide` from the program's own records."
SECTIONS: Sequence[tuple[str, type[Any], str]] = (
    ("[[person]]", records.Person, "The people of the study."),
    ("[stress]", records.Conditions, "What the columns are exposed to."),
    ("[test]", records.Conditions, "Conditions of the injections; what is left out is as in `[stress]`."),
    ("[test], the plan", records.Plan, "When the study was to end, and to be looked at."),
    ("[[column]]", records.Column, "One for each column."),
    ("[[marker]]", records.Marker, "One for each compound that is injected."),
    ("[limits], METRIC = { … }", records.Limit, "When a column has failed; one table, or a list of them."),
    ("[choices]", records.Choices, "How to compute."),
    ("[exports]", records.Exports, "What the chromatogram files do not say of themselves."),
    ("[[question]]", records.Question, "Further questions to the same evidence; one may stand in `[study]`."),
    ("[[event]]", records.Event, "What happened while the study ran."),
    ("[[factor]]", records.Factor, "What was varied on purpose."),
    ("[[revision]]", records.Revision, "Editions of the study."),
)
ELSEWHERE: Mapping[str, str] = {
    "`[study]`": "The question, its asker, and the study's name.",
    "`[injections]`": "Its key `pattern` stands for injections.csv: `runs/{column}_{exposure_h}.csv`; "
    '`leave_out."A1-07" = "a bubble"` leaves one of its injections out, with the reason.',
    "`extends`": "Above all: a .toml file, such as `../laboratory.toml`, whose keys hold where it is silent.",
}
COMPANIONS: Sequence[tuple[str, type[Any], str, Mapping[str, str]]] = (
    ("injections.csv", records.Injection, "A row for each injection.", {"id": "injection", "used": "use"}),
    ("conditions.csv", records.LoggedCondition, "A row for each reading of the log.", {}),
    ("images.csv", records.StudyImage, "A row for each picture.", {"count_particles": "particles"}),
    ("the head of notes/*.md", records.Note, "Between two lines `+++`, as TOML.", {"dated": "date"}),
)
UNREAD = ("place", "clocked", "references", "text")
"""Fields that no user writes."""
FROM_THE_FILE = ((records.StudyImage, "id"), (records.Note, "id"), (records.Note, "file"))
"""Nor these: the name of the file says them."""
GIVEN: Mapping[tuple[type[Any], str], str] = {
    (records.Column, "label"): "its `id`",
    (records.Column, "particle"): "other",
    (records.Question, "id"): "`q1`, `q2`, … by its place",
    (records.Note, "title"): "its file name",
}
"""What the reader gives where a key is left out that its record must have."""
NEEDED = {"id": "required", "title": "required", "question": "required without a `[[question]]`"}
"""What `[study]` must state."""
ASKED = ((records.Question, "text"),)
"""And those that stand in one table alone."""
RENAMED: Mapping[str, tuple[str, ...]] = {"begin": ("at", "from"), "end": ("to",)}
"""Keys of `[[event]]` by field."""
UPGRADES = """\
# Upgrades

A folder that was good stays good, and a table keeps its columns: both are added to, never broken. A key
that this version does not know is a caution, never an error. After an upgrade run `lyewitness check FOLDER`,
then `lyewitness report FOLDER --into REPORT` again: only what lyewitness wrote for the same study is
replaced, in one step. `data/provenance.json` tells with which version a report was computed, and the hash of
every file read; two builds of one folder by one version are the same, byte for byte.
"""


def guide_files(commands: Mapping[str, tuple[str, str]], exit_codes: str) -> dict[str, bytes]:
    """Return the guide as Markdown files by name; `commands` are (short, long) help by command."""
    pages = {
        "README.md": _contents(),
        "study-folder.md": _study_folder(),
        "tables.md": _tables(),
        "limits-and-events.md": _limits_and_events(),
        "formats.md": _formats(),
        "themes.md": _themes(),
        "commands.md": _commands(commands, exit_codes),
        "upgrades.md": UPGRADES,
    }
    return {name: f"{text.rstrip()}\n\n{MADE_FROM}\n".encode() for name, text in pages.items()}


def meanings_of(kind: type[Any]) -> dict[str, str]:
    """Return what each field of a record means: the text under it in its source; else nothing."""
    (definition,) = ast.parse(inspect.getsource(kind)).body
    body = definition.body if isinstance(definition, ast.ClassDef) else []
    found: dict[str, str] = {}
    for statement, after in zip(body, [*body[1:], ast.Pass()], strict=True):
        if isinstance(statement, ast.AnnAssign) and isinstance(statement.target, ast.Name):
            text = after.value.value if _is_text(after) else ""  # type: ignore[attr-defined]
            found[statement.target.id] = " ".join(str(text).split())
    return found


def _is_text(statement: ast.AST) -> bool:
    return isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)


def keys_of(kind: type[Any], renamed: Mapping[str, str] | None = None) -> Iterator[tuple[str, str, str, str]]:
    """Yield (key, kind of value, default, meaning) of each key that makes a record."""
    meanings = meanings_of(kind)
    for item in fields(kind):
        unread = item.name in UNREAD and (kind, item.name) not in ASKED
        unread = unread or (kind, item.name) in FROM_THE_FILE
        if unread or (kind is records.Limit and item.name == "metric"):
            continue
        made = item.default_factory is not MISSING
        default = "" if made else "required" if item.default is MISSING else _told(item.default)
        default = GIVEN.get((kind, item.name), default)
        names = RENAMED.get(item.name, (item.name,)) if kind is records.Event else (item.name,)
        for name in names:
            key = (renamed or {}).get(name, name)
            if default == "required" and len(names) > 1:
                others = ", ".join(f"`{one}`" for one in names if one != name)
                yield key, _values(item.type, item.name), f"required, or {others}", meanings[item.name]
                continue
            yield key, _values(item.type, item.name), default, meanings[item.name]


def _told(default: object) -> str:
    """Return a default as study.toml would state it; nothing for one that says nothing."""
    if default is None or default in ("", ()):
        return ""
    return str(default).lower() if isinstance(default, bool) else str(default)


def _values(kind: Any, name: str) -> str:
    """Return what may stand there: the words, or the kind and its range."""
    words = [one for one in get_args(kind) if isinstance(one, str) and one]
    if words:
        return ", ".join(f"`{word}`" for word in words)
    text = str(kind)
    if "Mapping" in text and "float" not in text:
        return "table"
    plain = {
        "bool": "true or false",
        "int": "whole number",
        "datetime.datetime | float": "date and time, or number of hours",
        "float | datetime.datetime": "number of hours, or date and time",
        "datetime": "date and time",
        "float": "number",
        "date": "date",
        "tuple": "list",
    }
    said = next((word for part, word in plain.items() if part in text), "text")
    said = "table, or number" if "Mapping" in text and "float" in text else said
    low, high = RANGES.get(name, (None, None))
    return said if low is None else f"{said}, {low:g} to {high:g}"


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table in Markdown; bars in cells are escaped."""
    lines = [head, ["---"] * len(head), *rows]
    escaped = ([cell.replace("|", "\\|") for cell in line] for line in lines)
    return "\n".join(f"| {' | '.join(line)} |" for line in escaped) + "\n"


def _contents() -> str:
    return (
        "# Guide to lyewitness\n\n"
        "- [The study folder](study-folder.md): every key, with meaning and default\n"
        "- [The tables of a report](tables.md): every column\n"
        "- [Limits and events](limits-and-events.md)\n"
        "- [Formats of chromatograms](formats.md)\n"
        "- [Themes](themes.md)\n"
        "- [Commands and exit codes](commands.md)\n"
        "- [Upgrades](upgrades.md)\n"
    )


def _study_folder() -> str:
    head = ("key", "value", "default", "meaning")
    study = {**meanings_of(records.Question), "question": meanings_of(records.Question)["text"]}
    study |= {name: text for name, text in meanings_of(records.Study).items() if text}
    parts = [
        "# The study folder\n",
        "## study.toml\n",
        *(f"{key}: {text}\n" for key, text in ELSEWHERE.items()),
    ]
    keys = ((f"`{key}`", NEEDED.get(key, ""), study[key]) for key in STUDY_KEYS)
    parts += ["### [study]\n", _table(("key", "default", "meaning"), keys)]
    for name, kind, words in SECTIONS:
        rows = ((f"`{key}`", *more) for key, *more in keys_of(kind))
        parts += [f"### {name}\n", f"{words}\n", _table(head, rows)]
    for name, kind, words, renamed in COMPANIONS:
        rows = ((f"`{key}`", *more) for key, *more in keys_of(kind, renamed))
        parts += [f"## {name}\n", f"{words}\n", _table(head, rows)]
    return "\n".join(parts)


def _tables() -> str:
    parts = [
        "# The tables of a report\n",
        "UTF-8, comma, decimal point, one header line; an empty cell is 'not measured', never zero.\n",
    ]
    for name, columns in TABLES.items():
        rows = ((f"`{column}`", meaning_of_column(column)) for column in columns)
        parts += [f"## data/{name}\n", _table(("column", "meaning"), rows)]
    parts += ["## Flags of a peak\n", _table(("flag", "meaning"), ((f"`{k}`", v) for k, v in FLAGS.items()))]
    return "\n".join(parts)


def _limits_and_events() -> str:
    limits = (
        (f"`{one}`", METRICS[one].words, METRICS[one].unit, METRICS[one].explanation) for one in LIMITED
    )
    bounds = ((f"`{key}`", text) for key, _, _, text in keys_of(records.Limit))
    kinds = (
        (f"`{kind}`", "yes" if records.Event(kind, 0.0).exposes else "no")
        for kind in get_args(records.EventKind)
    )
    return "\n".join(
        (
            "# Limits and events\n",
            "## Metrics that `[limits]` may name\n",
            _table(("metric", "words", "unit", "what it is"), limits),
            "## Bounds\n",
            _table(("bound", "meaning"), bounds),
            "## Kinds of `[[event]]`\n",
            _table(("kind", "its time counts as exposure unless `still_exposed` says otherwise"), kinds),
        )
    )


def _formats() -> str:
    listed = "\n".join(f"- {reader.format}\n\n  {_of_reader(reader)}\n" for reader in READERS)
    return (
        "# Formats of chromatograms\n\nKnown by content, not by name; each may be gzip-compressed.\n\n"
        f"{listed}\n\nWhere a file does not state its units, `[exports]` in study.toml does.\n"
    )


def _of_reader(reader: Reader) -> str:
    """Return what a reader takes and passes over: the text at the head of its module, of files alone."""
    text = " ".join((inspect.getdoc(sys.modules[reader.read.__module__]) or "").split())
    whole, _, rest = text.partition(" In: ")
    taken = rest.partition(" Out: ")[2].replace("`Draft`", "trace")
    return f"{whole} It gives {taken}"


def _themes() -> str:
    names = sorted(path.name for path in shipped_folder("themes").iterdir() if path.is_dir())
    look = tomllib.loads((shipped_folder("themes") / "daylight" / "look.toml").read_text(encoding="utf-8"))
    rows = ((f"`{key}`", _kind_of(value)) for key, value in look.items())
    return (
        f"# Themes\n\nShipped: {', '.join(names)}. A folder of your own: `--theme FOLDER`, with any "
        "of `theme.toml` (`inherits`), `look.toml`, `strings.toml`, `templates/`, `assets/`. Its templates "
        f"run in a sandbox.\n\n## Keys of look.toml\n\n{_table(('key', 'value'), rows)}"
    )


def _kind_of(value: object) -> str:
    if isinstance(value, dict):
        return ", ".join(f"`{key}`" for key in value)
    return f"such as `{value}`"


def _commands(commands: Mapping[str, tuple[str, str]], exit_codes: str) -> str:
    told = "\n".join(f"## lyewitness {name}\n\n{long}\n" for name, (_, long) in commands.items())
    codes = [line.strip().partition(" ") for line in exit_codes.splitlines()[1:]]
    rows = ((f"`{code}`", words.strip()) for code, _, words in codes)
    return f"# Commands\n\n{told}\n## Exit codes\n\n{_table(('code', 'meaning'), rows)}"
