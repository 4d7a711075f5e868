"""Themes: folders of templates, assets, figure colours and strings, which may inherit another.

In: the name or folder of a theme. Out: `Theme`. What is wrong with one is told with file, place and cure
before anything is computed.
"""

import io
import tomllib
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from posixpath import normpath
from types import MappingProxyType
from typing import Any
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

from PIL import Image

from lyewitness.document.theme_styles import Leading, leading_in
from lyewitness.figures.style import merged
from lyewitness.shipped import shipped_folder
from lyewitness.words.problems import Problem, StudyFolderError, listed, suggestion

BASE = "daylight"
"""The theme that a folder inherits which names no other."""


PAPERS = ("A4", "letter")
KEYS = ("inherits", "description", "typefaces", "paper", "logo", "logo_alt")
"""Of theme.toml."""
PICTURES: Mapping[str, str] = MappingProxyType(
    {"png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg", "svg": "image/svg+xml"}
)
"""Kinds of picture that a theme may show, by the ending of the file."""
MOST_OF_A_LOGO = 200_000
"""Bytes: every reply and every PDF holds a logo whole."""
PRINT_STYLES, LETTER_STYLES, SUMMARY_STYLES = "print.css", "letter.css", "summary.css"
"""The styles of what is set on paper, which no page of the edition loads."""
ON_PAPER = (PRINT_STYLES, LETTER_STYLES, SUMMARY_STYLES)
MADE = ("colours.css", "type.css", "type-licences.txt")
"""Files beside a theme's own that the program writes."""


@dataclass(frozen=True, slots=True)
class Logo:
    """The mark of a house, as it stands on pages, replies and prints."""

    file: str
    """Path below `assets/`."""
    alt: str
    """What it shows, for those who do not see it."""
    held: str
    """An address that holds the picture itself."""


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
    """`[typefaces]` of theme.toml: by family (`serif`, `sans`), face and file of the packages with fonts."""
    paper: str = PAPERS[0]
    """`paper` of theme.toml: the sheet that prints are set for, one of `PAPERS`."""
    logo: Logo | None = None
    """`logo` of theme.toml; None where a theme names none."""

    def say(self, key: str, /, **values: object) -> str:
        """Return the string `key` with `values` set in; KeyError where the theme has none."""
        text = self.strings[key]
        return text.format(**values) if values else text

    def words_of(self, table: str) -> Mapping[str, str]:
        """Return all strings below `table`, by what follows its dot."""
        start = table + "."
        return {key.removeprefix(start): text for key, text in self.strings.items() if key.startswith(start)}


def load_theme(name_or_folder: str | Path) -> Theme:
    """Return the theme of that name or folder. Raises StudyFolderError with every fault that it has."""
    folders = tuple(_ancestry(name_or_folder))
    strings: dict[str, str] = {}
    look: dict[str, Any] = {}
    told: dict[str, Any] = {}
    wrong: list[Problem] = []
    for folder in reversed(folders):
        own, look_of = _read(folder / "theme.toml"), _read(folder / "look.toml")
        wrong += _unknown(folder / "theme.toml", own, KEYS)
        if look:
            wrong += _unknown_looks(folder / "look.toml", look_of, look)
        strings.update(_flat(_read(folder / "strings.toml")))
        look = merged(look, look_of)
        told = merged(told, own)
    for folder in folders:
        wrong += () if _came_along(folder) else _astray(folder, folders)
    if wrong:
        raise StudyFolderError(tuple(wrong))
    faces = MappingProxyType(dict(told.get("typefaces", {})))
    paper = told.get("paper", PAPERS[0])
    if paper not in PAPERS:
        raise _unusable(str(folders[0] / "theme.toml"), f"paper = {paper!r}", " or ".join(PAPERS))
    return Theme(
        folders[0].name,
        folders,
        MappingProxyType(strings),
        MappingProxyType(look),
        faces,
        paper,
        _logo(told, folders),
    )


def _unknown(file: Path, told: Mapping[str, Any], known: Iterable[str], table: str = "") -> Iterator[Problem]:
    """Yield a problem for each key that says nothing to the program."""
    for key in told:
        if key not in known:
            cure = suggestion(key, known, "Correct the key, or remove it.")
            yield Problem("error", str(file), f"{table}{key}", "an unknown key", listed(known), cure)


def _unknown_looks(file: Path, told: Mapping[str, Any], known: Mapping[str, Any]) -> Iterator[Problem]:
    yield from _unknown(file, told, tuple(known))
    for table, of_table in told.items():
        if isinstance(of_table, Mapping) and table in known:
            yield from _unknown(file, of_table, tuple(known[table]), f"{table}.")


def _astray(folder: Path, folders: Sequence[Path]) -> Iterator[Problem]:
    """Yield a problem for each address in a folder's styles that leads to nothing a report holds."""
    for file in sorted((folder / "assets").rglob("*.css")):
        try:
            text = file.read_text(encoding="utf-8")
        except UnicodeDecodeError as wrong:
            raise _unusable(str(file), str(wrong), "styles in UTF-8") from wrong
        for one in leading_in(text):
            if fault := _fault_of(one, file.relative_to(folder / "assets").as_posix(), folders):
                yield Problem("error", str(file), f"line {one.line}", *fault)


def _fault_of(one: Leading, file: str, folders: Sequence[Path]) -> tuple[str, str, str] | None:
    """Return what is wrong with an address, what belongs there and the cure; None where nothing is."""
    if one.address.startswith(("data:", "#")):
        return None
    if urlsplit(one.address).scheme or one.address.startswith("/"):
        return (
            f"'{one.address}', which lies outside the report",
            "a file below the theme's 'assets'",
            "Put a copy of the file into 'assets' and name that: a report fetches nothing from anywhere.",
        )
    if one.imported and file in ON_PAPER:
        return (
            f"'@import' of '{one.address}' in styles for paper",
            "the rules themselves",
            f"Write the rules into '{file}'.",
        )
    path = asset_path(file, one.address)
    if path in MADE or asset(folders, path):
        return None
    cure = "Put the file there, or correct the address: it is read from where the style sheet lies."
    return f"'{one.address}', and there is no '{path}' in 'assets'", "a file below the theme's 'assets'", cure


def asset_path(file: str, address: str) -> str:
    """Return the path below `assets/` that an address in the style sheet `file` leads to."""
    return normpath(f"{file.rpartition('/')[0] or '.'}/{unquote(urlsplit(address).path)}")


def asset(folders: Iterable[Path], path: str) -> Path | None:
    """Return the nearest file of that path below `assets/`; None where there is none, or it leads out."""
    if path.startswith(("../", "/")) or Path(path).is_absolute():
        return None
    return next((file for folder in folders if (file := folder / "assets" / path).is_file()), None)


def picture_address(file: Path) -> str:
    """Return an address that holds a picture of a theme."""
    kind = PICTURES.get(file.suffix.lower().removeprefix("."), "application/octet-stream")
    return f"data:{kind};base64,{b64encode(file.read_bytes()).decode()}"


def _logo(told: Mapping[str, Any], folders: Sequence[Path]) -> Logo | None:
    """Return the logo that a theme names. Raises StudyFolderError where it cannot be shown."""
    if "logo" not in told:
        return None
    name, place = str(told["logo"]), str(folders[0] / "theme.toml")
    file = asset(folders, normpath(name))
    if file is None:
        raise _unusable(place, f"logo = {name!r}, and no such file in 'assets'", "a file below 'assets'")
    if why := _not_shown(file):
        raise _unusable(str(file), why, "a logo as PNG, JPEG or SVG that holds all it shows")
    return Logo(normpath(name), str(told.get("logo_alt", "Logo")), picture_address(file))


def _not_shown(file: Path) -> str:
    """Return why a picture cannot be a logo; empty where it can."""
    data, kind = file.read_bytes(), file.suffix.lower().removeprefix(".")
    if kind not in PICTURES:
        return f"a file that ends in '{file.suffix}'"
    if len(data) > MOST_OF_A_LOGO:
        return f"{len(data)} bytes, more than {MOST_OF_A_LOGO}"
    if kind == "svg":
        return _not_shown_drawing(data)
    try:
        with Image.open(io.BytesIO(data), formats=("PNG", "JPEG")) as opened:
            opened.verify()
    # Damaged files make decoders raise whatever their sums run into.
    except Exception as wrong:
        return f"a picture that cannot be read ({type(wrong).__name__})"
    return ""


def _not_shown_drawing(data: bytes) -> str:
    """Return why a drawing cannot be a logo: it is none, runs, or leads out of itself."""
    if b"<!ENTITY" in data:
        return "a drawing with entities of its own"
    try:
        drawing = ElementTree.fromstring(data)
    except ElementTree.ParseError as wrong:
        return f"a drawing that cannot be read: {wrong}"
    for one in drawing.iter():
        if one.tag.rpartition("}")[2].lower() in ("script", "foreignobject") or any(
            key.lower().startswith("on") for key in one.attrib
        ):
            return "a drawing that holds a script, or another page"
        leading = [text for key, text in one.attrib.items() if key.rpartition("}")[2] == "href"]
        styles = [f"a{{b:{text}}}" for text in one.attrib.values()]
        styles += [one.text or ""] if one.tag.rpartition("}")[2] == "style" else []
        leading += [found.address for text in styles for found in leading_in(text)]
        if out := next((text for text in leading if not text.startswith(("#", "data:"))), ""):
            return f"a drawing that shows '{out}', a file of its own"
    return ""


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
        _without_ways_out(folder)
        yield folder
        wanted = str(_read(folder / "theme.toml").get("inherits", "" if folder == _shipped(BASE) else BASE))
        beside = folder


def _without_ways_out(folder: Path) -> None:
    """Raise StudyFolderError where a theme of the user's own holds a link that leads out of it."""
    if _came_along(folder):
        return
    for path in sorted(folder.rglob("*")):
        if path.is_symlink() and not path.resolve().is_relative_to(folder):
            raise _unusable(str(path), "a link that leads out of the theme", "a file of the theme's own")


def _came_along(folder: Path) -> bool:
    """Return whether a theme came with the program."""
    return folder.is_relative_to(shipped_folder("themes").resolve())


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
