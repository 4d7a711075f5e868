"""Bad inputs made from the rows of corpus.toml, each in a copy of a small sound study.

In: a row. Out: a study folder with one thing wrong in it, what came of it, and what must be said.
"""

import gzip
import os
import shutil
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from PIL import Image

from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study

CORPUS = Path(__file__).with_name("corpus.toml")
NOTE = '+++\ntitle = "Start"\ndate = 2026-03-02\nauthor = "Analyst A"\n+++\nBegan with [[column:H1]].\n'
IMAGES = "file,caption,column,kind,nm_per_pixel\nimages/a.png,A micrograph,H1,micrograph,12.5\n"
Row = list[Any]


@dataclass(frozen=True, slots=True)
class Case:
    """One bad input, or one command that is to be refused."""

    way: str
    name: str
    making: tuple[Any, ...]
    """What `make` puts into the study, in the order of the columns of its way."""
    code: int
    """Exit code that the command is to end with."""
    outcome: str
    """error, caution or ready; empty for commands."""
    said: str
    """What stands in a message; empty where nothing is to be said."""


def cases() -> Iterator[Case]:
    """Give every row of the corpus."""
    corpus = tomllib.loads(CORPUS.read_text(encoding="utf-8"))
    for way in ("replace", "append", "whole", "disk", "picture", "counted"):
        for name, *making, outcome, said in corpus[way]:
            yield Case(way, f"{way}: {name}", tuple(making), int(outcome == "error"), outcome, said)
    for name, arguments, code, said in corpus["command"]:
        yield Case("command", f"command: {name}", tuple(arguments), code, "", said)
    for line in corpus["crossed"]["keys"]:
        key = line.partition(" = ")[0]
        for value in corpus["crossed"]["values"]:
            making = ("study.toml", f"{line}\n", f"{key} = {value}\n")
            yield Case("replace", f"crossed: {key} = {value}", making, 1, "error", key)


def sound_study(folder: Path) -> Path:
    """Write the small study that every row changes: two columns of two groups, log, note and picture."""
    whole = small_scenario()
    groups = tuple(replace(group, columns=1) for group in whole.groups)
    write_study(replace(whole, groups=groups, mishaps=(), schedule_h=(0, 0.1, 60, 120)), folder)
    (folder / "notes").mkdir(exist_ok=True)
    (folder / "notes" / "2026-03-02.md").write_text(NOTE, encoding="utf-8")
    (folder / "images").mkdir(exist_ok=True)
    (folder / "images.csv").write_text(IMAGES, encoding="utf-8")
    Image.effect_noise((60, 40), 40).save(folder / "images" / "a.png")
    return folder


def make(case: Case, study: Path) -> None:
    """Put what the row says into the study."""
    WAYS[case.way](study, *case.making)


def text_of(parts: str | Row) -> str:
    """Return a text of the corpus, its repeats written out."""
    if isinstance(parts, str):
        return parts
    return "".join(part if isinstance(part, str) else part[0] * part[1] for part in parts)


def _replaced(study: Path, file: str, old: str, new: str | Row) -> None:
    path = study / file
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{file} does not hold {old!r}"
    path.write_text(text.replace(old, text_of(new), 1), encoding="utf-8", newline="")


def _appended(study: Path, file: str, text: str | Row) -> None:
    with (study / file).open("a", encoding="utf-8") as end:
        end.write(text_of(text))


def _written(study: Path, file: str, text: str | Row) -> None:
    (study / file).write_bytes(text_of(text).encode("latin-1"))


def _picture(study: Path, kind: str, mode: str, width: int, height: int) -> None:
    Image.new(mode, (width, height)).save(study / "images" / "a.png", format=kind)


def _counted(study: Path, mode: str, width: int, height: int) -> None:
    """Put a picture of bright blots into the study, and ask for its particles."""
    Image.effect_noise((width, height), 90).convert(mode).save(study / "images" / "a.png")
    lines = (study / "images.csv").read_text(encoding="utf-8").splitlines()
    told = [f"{line},{word}\n" for line, word in zip(lines, ("particles", "yes"), strict=True)]
    (study / "images.csv").write_text("".join(told), encoding="utf-8")


def _on_disk(study: Path, operation: str, file: str, argument: str) -> None:
    path = study / file
    if operation in ("remove", "link", "folder", "sparse", "pipe"):
        _gone(path)
    OPERATIONS[operation](path, argument)


def _gone(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _sparse(path: Path, size: str) -> None:
    with path.open("wb") as file:
        file.truncate(int(size))


def _packed(path: Path, times: str) -> None:
    for _ in range(int(times)):
        path.write_bytes(gzip.compress(path.read_bytes()))


def _bomb(path: Path, size: str) -> None:
    with gzip.open(path, "wb", compresslevel=1) as file:
        for _ in range(int(size) // 2**20):
            file.write(b"0 " * 2**19)


def _recoded(path: Path, encoding: str) -> None:
    path.write_text(path.read_text(encoding="utf-8"), encoding=encoding)


def _gapped(path: Path, _: str) -> None:
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    path.write_text("".join(lines[: len(lines) // 2] + lines[6 * len(lines) // 10 :]), encoding="utf-8")


OPERATIONS: dict[str, Callable[[Path, str], object]] = {
    "remove": lambda path, _: None,
    "link": lambda path, goal: path.symlink_to(goal),
    "folder": lambda path, _: path.mkdir(),
    "copy": lambda path, other: path.write_bytes((path.parent / other).read_bytes()),
    "gap": _gapped,
    "sparse": _sparse,
    "pipe": lambda path, _: os.mkfifo(path),
    "gzip": _packed,
    "bomb": _bomb,
    "members": lambda path, count: path.write_bytes(gzip.compress(b"") * int(count)),
    "latin": lambda path, _: Path(os.fsdecode(bytes(path) + b"/\xff.png")).write_bytes(b""),
    "recode": _recoded,
    "returns": lambda path, _: path.write_bytes(path.read_bytes().replace(b"\n", b"\r")),
    "touch": lambda path, _: path.write_bytes(b"\0\xff"),
    "half": lambda path, _: path.write_bytes(path.read_bytes()[: path.stat().st_size // 2]),
}
WAYS: dict[str, Callable[..., None]] = {
    "replace": _replaced,
    "append": _appended,
    "whole": _written,
    "disk": _on_disk,
    "picture": _picture,
    "counted": _counted,
    "command": lambda _study, *_arguments: None,
}
