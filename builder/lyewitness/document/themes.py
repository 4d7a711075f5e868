"""A theme: a folder of templates, assets, figure colours and strings, which may inherit another.

In: the name of a shipped theme, or a folder. Out: `Theme`, with everything it inherits merged in.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from lyewitness.figures.style import merged
from lyewitness.shipped import shipped_folder
from lyewitness.words.problems import Problem, StudyFolderError

BASE = "daylight"
"""The theme that a folder inherits which names no other."""


@dataclass(frozen=True, slots=True)
class Theme:
    """What the pages look like and the words of their furniture."""

    name: str
    folders: tuple[Path, ...]
    """Its own folder first, then what it inherits, nearest first."""
    strings: Mapping[str, str]
    """Every string by its dotted key, such as `front.asked`."""
    look: Mapping[str, Any]
    """`look.toml` of all folders, merged table by table: the colours of figures and pages."""
    typefaces: Mapping[str, Mapping[str, str]]
    """`[typefaces]` of theme.toml: by family (`serif`, `sans`), face and file in matplotlib's font folder."""

    def say(self, key: str, /, **values: object) -> str:
        """Return the string `key` with `values` set in; KeyError where the theme has none."""
        text = self.strings[key]
        return text.format(**values) if values else text

    def words_of(self, table: str) -> Mapping[str, str]:
        """Return all strings below `table`, by what follows its dot."""
        start = table + "."
        return {key.removeprefix(start): text for key, text in self.strings.items() if key.startswith(start)}


def load_theme(name_or_folder: str | Path) -> Theme:
    """Return the theme of that name or folder. Raises StudyFolderError where it cannot be used."""
    folders = tuple(_ancestry(name_or_folder))
    strings: dict[str, str] = {}
    look: dict[str, Any] = {}
    told: dict[str, Any] = {}
    for folder in reversed(folders):
        strings.update(_flat(_read(folder / "strings.toml")))
        look = merged(look, _read(folder / "look.toml"))
        told = merged(told, _read(folder / "theme.toml"))
    faces = MappingProxyType(dict(told.get("typefaces", {})))
    return Theme(folders[0].name, folders, MappingProxyType(strings), MappingProxyType(look), faces)


def _ancestry(name_or_folder: str | Path) -> Iterator[Path]:
    """Yield the folder of the theme, then the folders of what it inherits; never one twice."""
    seen: list[Path] = []
    wanted: str | Path = name_or_folder
    beside = Path()
    while wanted:
        folder = _locate(wanted, beside)
        if folder in seen:
            circle = " → ".join(one.name for one in (*seen, folder))
            raise _unusable(str(folder / "theme.toml"), f"themes that inherit each other: {circle}")
        seen.append(folder)
        yield folder
        wanted = str(_read(folder / "theme.toml").get("inherits", "" if folder == _shipped(BASE) else BASE))
        beside = folder


def _locate(wanted: str | Path, beside: Path) -> Path:
    """Return the folder meant by `wanted`: a shipped name, or a path (as given, or from `beside`)."""
    shipped = _shipped(str(wanted))
    if shipped is not None:
        return shipped
    for folder in (Path(wanted), beside / wanted):
        if folder.is_dir():
            return folder.resolve()
    known = ", ".join(sorted(path.name for path in shipped_folder("themes").iterdir() if path.is_dir()))
    raise _unusable(str(wanted), "no theme of that name and no such folder", f"one of {known}, or a folder")


def _shipped(name: str) -> Path | None:
    """Return the folder of the shipped theme `name`; None where there is none."""
    if not name or name != Path(name).name or name.startswith("."):
        return None
    folder = shipped_folder("themes") / name
    return folder.resolve() if folder.is_dir() else None


def _read(file: Path) -> dict[str, Any]:
    """Return the TOML of `file`; empty where there is no such file."""
    if not file.is_file():
        return {}
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as wrong:
        raise _unusable(str(file), str(wrong), "TOML in UTF-8") from wrong


def _unusable(file: str, found: str, expected: str = "a theme that can be used") -> StudyFolderError:
    return StudyFolderError((Problem("error", file, "", found, expected, "Mend the theme or name another."),))


def _flat(table: Mapping[str, Any], start: str = "") -> Iterator[tuple[str, str]]:
    """Yield every string of nested `table` by its dotted key."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from _flat(value, f"{start}{key}.")
        else:
            yield f"{start}{key}", str(value)
