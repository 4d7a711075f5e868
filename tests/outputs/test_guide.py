"""The guide is whole: every key, column, limit, event, format, theme and exit code stands in it."""

import re
from dataclasses import fields
from pathlib import Path
from typing import get_args

import pytest

from lyewitness.cli import EXIT_CODES, HELP, main
from lyewitness.findings.records import Report
from lyewitness.outputs.datapackage import TABLES, meaning_of_column
from lyewitness.outputs.guide import COMPANIONS, SECTIONS, guide_files, keys_of
from lyewitness.outputs.tables import data_files
from lyewitness.shipped import shipped_folder
from lyewitness.study.inside import StudyFiles
from lyewitness.study.metadata import SECTIONS as READ_SECTIONS
from lyewitness.study.metadata import STUDY_KEYS, read_metadata
from lyewitness.study.records import Event, EventKind
from lyewitness.traces.reading import READERS
from lyewitness.words.metrics import LIMITED
from lyewitness.words.problems import Gathering


@pytest.fixture(scope="module")
def guide() -> dict[str, str]:
    """Return the guide's pages by name."""
    return {name: data.decode() for name, data in guide_files(HELP, EXIT_CODES).items()}


def test_every_key_has_a_meaning(guide: dict[str, str]) -> None:
    """Each section that is read stands in the guide, each of its keys with a meaning."""
    page = guide["study-folder.md"]
    assert all(f"[{name}" in page or f"`{name}`" in page for name in READ_SECTIONS)
    assert all(f"| `{key}` | " in page for key in STUDY_KEYS)
    assert not re.findall(r"^\| `[a-z_]+` \| +\|$", page, re.MULTILINE)
    for _, kind, _ in SECTIONS:
        for key, _, _, meaning in keys_of(kind):
            assert meaning, key
            assert f"| `{key}` |" in page
    for _, kind, _, renamed in COMPANIONS:
        for key, _, _, meaning in keys_of(kind, renamed):
            assert meaning, key
    assert {key for key, *_ in keys_of(Event)} >= {"at", "from", "to"}


def test_defaults_are_those_of_the_records() -> None:
    """A default in the guide is what a record has where study.toml is silent."""
    for _, kind, _ in SECTIONS:
        told = {key: default for key, _, default, _ in keys_of(kind)}
        for item in fields(kind):
            if isinstance(item.default, float | int) and not isinstance(item.default, bool):
                assert float(told[item.name]) == item.default


WHOLE = {
    "study": ['id = "a"', 'title = "A"', 'question = "Which?"'],
    "person": ['name = "A"', 'role = "did it"'],
    "column": ['id = "C1"', 'label = "One"', 'group = "A"', 'particle = "porous silica"'],
    "marker": ['id = "m"', 'role = "neutral"', "retention_min = 1.0"],
    "question": ['id = "q"', 'text = "Will it last?"', 'asked_by = "B"'],
    "event": ['kind = "leak"', "at = 3.0", 'note = "wet"'],
    "factor": ['name = "guard"', 'levels = { with = ["A"], without = ["C1"] }'],
    "revision": ["number = 1", "date = 2026-03-02", 'by = "A"', 'why = "first"'],
}
"""A key a line; what the guide calls required and nothing else may be required."""


def _errors(section: str, left_out: int | None) -> list[str]:
    lines = []
    for name, keys in WHOLE.items():
        lines.append(f"[{name}]" if name == "study" else f"[[{name}]]")
        lines += [key for number, key in enumerate(keys) if (name, number) != (section, left_out)]
    problems = Gathering("study.toml")
    read_metadata("\n".join(lines).encode(), problems, StudyFiles(Path("nowhere")))
    return [problem.found for problem in problems.problems if problem.severity == "error"]


@pytest.mark.parametrize("section", WHOLE)
def test_what_is_told_to_be_required_is_and_nothing_else(section: str, guide: dict[str, str]) -> None:
    """Without a key a sound study.toml has an error exactly where the guide says `required`."""
    page = guide["study-folder.md"]
    head = f"### [{section}]\n" if section == "study" else f"### [[{section}]]\n"
    table = page.split(head)[1].split("\n#")[0]
    assert _errors(section, None) == []
    for number, line in enumerate(WHOLE[section]):
        key = line.partition(" = ")[0]
        (row,) = (row for row in table.splitlines() if row.startswith(f"| `{key}` |"))
        assert bool(_errors(section, number)) == ("required" in row and "without" not in row), key


def test_every_column_of_every_table_has_a_meaning(example: Report, guide: dict[str, str]) -> None:
    """What the example's tables are headed by stands in the guide, and each column says what it is."""
    for path, data in data_files(example, ()).items():
        if path.endswith(".csv"):
            header = data.decode().partition("\n")[0].split(",")
            assert list(TABLES[Path(path).name]) == header
            assert all(f"| `{name}` | " in guide["tables.md"] for name in header)
            assert not [name for name in header if not meaning_of_column(name)]


def test_limits_events_formats_themes_commands_and_codes_are_told(guide: dict[str, str]) -> None:
    """No page leaves out what the program knows."""
    assert all(f"| `{one}` | " in guide["limits-and-events.md"] for one in (*LIMITED, *get_args(EventKind)))
    assert all(f"- {reader.format}\n" in guide["formats.md"] for reader in READERS)
    themes = [path.name for path in shipped_folder("themes").iterdir() if path.is_dir()]
    assert all(name in guide["themes.md"] for name in themes)
    assert all(f"## lyewitness {name}\n" in guide["commands.md"] for name in HELP)
    assert all(f"| `{code}` | " in guide["commands.md"] for code in (0, 1, 2, 3, 130))
    assert "never broken" in guide["upgrades.md"]
    links = re.findall(r"\(([a-z-]+\.md)\)", guide["README.md"])
    assert set(links) == set(guide) - {"README.md"}


def test_the_command_writes_and_replaces_its_own_only(tmp_path: Path) -> None:
    """`guide --into DOCS` writes its pages, writes them again, and leaves a folder with a page of mine."""
    docs = tmp_path / "docs"
    assert main(["guide", "--into", str(docs)]) == 0
    assert main(["guide", "--into", str(docs)]) == 0
    assert (docs / "study-folder.md").is_file()
    (docs / "mine.md").write_text("mine")
    assert main(["guide", "--into", str(docs)]) == 1
    assert (docs / "mine.md").read_text() == "mine"


def test_a_shell_completes_commands(capsys: pytest.CaptureFixture[str]) -> None:
    """The completion script names every command."""
    with pytest.raises(SystemExit) as stop:
        main(["--print-completion", "bash"])
    assert stop.value.code == 0
    said = capsys.readouterr().out
    assert all(name in said for name in HELP)
