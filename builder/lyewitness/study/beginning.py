"""A new study folder, laid out to be filled in.

In: the path of a folder that does not exist or is empty, and what is planned. Out: files by path; nothing is
overwritten.
"""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from lyewitness.study.questions import words_of
from lyewitness.study.records import Particle
from lyewitness.words.problems import Problem, StudyFolderError

INJECTIONS_HEADER = "injection,file,column,exposure_h,use,why\n"
CONDITIONS_HEADER = "column,exposure_h,pressure_bar,temperature_C,ph,flow_mL_min\n"
IMAGES_HEADER = "file,caption,column,exposure_h,kind,nm_per_pixel,pair,alt,particles\n"
FRESH = 3
"""Injections of each fresh column: the reference of the default choices."""
# More in one folder is a slip of the key.
MOST_COLUMNS = 500
MOST_LOOKS = 2000
"""Beyond these a slip of a unit is likelier than a study."""
LONG_H = 48.0
"""A study of more than two days is worth a look halfway: what it shows can save days."""
HOURS = {"h": 1.0, "d": 24.0, "min": 1 / 60}


@dataclass(frozen=True, slots=True)
class Layout:
    """What is planned of a study before it runs."""

    columns: int
    groups: tuple[str, ...]
    every_h: float | None = None
    """Exposure from look to look, hours."""
    for_h: float | None = None
    """Exposure at which the stress is to end, hours."""

    @property
    def injected_h(self) -> tuple[float, ...]:
        """Return the exposures of the injections of one column: some of the fresh one, then one each step."""
        if self.every_h is None or self.for_h is None:
            return (0.0,) * FRESH
        number = int(self.for_h / self.every_h + 1e-9)
        return (0.0,) * FRESH + tuple(round(self.every_h * turn, 6) for turn in range(1, number + 1))

    @property
    def looks_h(self) -> tuple[float, ...]:
        """Return the exposures at which the results are to be looked at: before, halfway if long, and after.

        Each look takes its share of the error; one at every injection would leave none of them enough.
        """
        end = self.for_h or 0.0
        halfway = min(self.injected_h, key=lambda hours: abs(hours - end / 2))
        return tuple(sorted({0.0, *((halfway,) if end > LONG_H else ()), end}))

    def members(self) -> tuple[tuple[str, str, str], ...]:
        """Return (id, group, block) of each column; a block holds one column of every group at most."""
        found = []
        for place in range(self.columns):
            turn, group = divmod(place, len(self.groups))
            found.append((f"{_letters(group)}{turn + 1}", self.groups[group], f"block {turn + 1}"))
        return tuple(
            sorted(found, key=lambda member: (self.groups.index(member[1]), len(member[0]), member[0]))
        )


def _letters(number: int) -> str:
    """Return A, B, … Z, AA, AB, …"""
    letters = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def layout_of(columns: int | None, groups: str, every: str, until: str) -> Layout | None:
    """Return the layout that the words of a command ask for, None for none; raises StudyFolderError."""
    if columns is None and not groups and not every and not until:
        return None
    names = tuple(dict.fromkeys(name.strip() for name in groups.split(",") if name.strip()))
    wrong = []
    if columns is None or not 1 <= columns <= MOST_COLUMNS:
        wrong.append(_wrong("--columns", f"{columns or 'nothing'}", f"a number from 1 to {MOST_COLUMNS}"))
    if not names or (columns is not None and len(names) > columns >= 1):
        wrong.append(_wrong("--groups", f"'{groups}'", 'names with commas, no more than columns: "A,B,C"'))
    if any(ord(sign) < 32 or sign in '"\\' for sign in groups):
        wrong.append(_wrong("--groups", f"{groups!r}", "names without quotes"))
    steps = {option: _hours(option, text, wrong) for option, text in (("--every", every), ("--for", until))}
    every_h, for_h = steps["--every"], steps["--for"]
    if (every_h is None) != (for_h is None) and not wrong:
        wrong.append(_wrong("--every, --for", "one of them", "both: --every 6h --for 120h"))
    if every_h is not None and for_h is not None and not every_h <= for_h <= MOST_LOOKS * every_h:
        wrong.append(_wrong("--for", f"'{until}'", f"one to {MOST_LOOKS} times --every"))
    if wrong or columns is None:
        raise StudyFolderError(tuple(wrong))
    return Layout(columns, names, every_h, for_h)


def _wrong(option: str, found: str, expected: str) -> Problem:
    return Problem("error", "", option, found, expected, "Correct the command.")


def _hours(option: str, text: str, wrong: list[Problem]) -> float | None:
    """Return hours written as `6h`, `6`, `90min` or `5d`."""
    if not text:
        return None
    match = re.fullmatch(r"\s*([0-9]{1,6}(?:\.[0-9]{1,6})?)\s*(h|d|min)?\s*", text)
    hours = float(match[1]) * HOURS[match[2] or "h"] if match else 0.0
    if hours <= 0:
        wrong.append(_wrong(option, f"'{text}'", "hours such as 6h, 90min or 5d"))
        return None
    return hours


def begin(folder: Path, layout: Layout | None = None) -> tuple[str, ...]:
    """Write a new study folder and return the names of what was written.

    With a layout its columns, blocks, injections, log and a note stand in it, ready to be filled in. Raises
    StudyFolderError where `folder` already holds something.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        problem = Problem(
            "error",
            "",
            "",
            f"'{folder}' with something in it",
            "a new or empty folder",
            "Name another folder.",
        )
        raise StudyFolderError((problem,))
    files = _files(layout)
    for name in ("chromatograms", "images", "notes"):
        (folder / name).mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        with (folder / name).open("x", encoding="utf-8") as file:
            file.write(text)
    return (*files, "chromatograms/", "images/", "notes/")


def _files(layout: Layout | None) -> dict[str, str]:
    """Return the text of each file by name."""
    blank = (Path(__file__).parent / "blank_study.toml").read_text(encoding="utf-8")
    files = {
        "study.toml": blank,
        "injections.csv": INJECTIONS_HEADER,
        "conditions.csv": CONDITIONS_HEADER,
        "images.csv": IMAGES_HEADER,
    }
    if layout is None:
        return files
    return files | {
        "study.toml": _with_columns(blank, layout),
        "injections.csv": INJECTIONS_HEADER + "".join(_injection_rows(layout)),
        "conditions.csv": CONDITIONS_HEADER + "".join(_condition_rows(layout)),
        "notes/first-day.md": _note(layout),
    }


def _with_columns(blank: str, layout: Layout) -> str:
    """Return the blank with a table for each column in place of its one, and the plan."""
    start = blank.index("[[column]]")
    end = blank.index("[[marker]]")
    pattern = blank[start:end]
    tables = [pattern.replace('id = "A1"', f'id = "{column}"', 1).replace(
        'group = "…"', f'group = "{group}"\nblock = "{block}"', 1
    ).replace('particle = "…"', f'particle = "{particle_of(group)}"', 1)
        for column, group, block in layout.members()]  # fmt: skip
    bare = [re.sub(r"(?m)^# block = .*\n", "", table) for table in tables]
    later = [re.sub(r"(?m)^ +# .*\n|(?<=\w) +# .*$|(?<=[\]\"]) +# .*$", "", table) for table in bare[1:]]
    text = blank[:start] + bare[0] + "".join(later) + blank[end:]
    if layout.for_h is None:
        return text
    looks = ", ".join(f"{hours:g}" for hours in layout.looks_h)
    plan = "[test]                          # conditions of the injections, where they differ; and the plan\n"
    plan += f"ends_h = {layout.for_h:g}\n"
    plan += (
        f"looks_h = [{looks}]           # when results are looked at: each look makes the others stricter\n"
    )
    return re.sub(r"(?m)^# \[test\] .*\n", lambda _: plan, text)


def particle_of(group: str) -> str:
    """Return the kind of particle that the name of a group says beyond doubt; else dots to fill in."""
    named = set(words_of(group))
    fitting = [kind for kind in get_args(Particle) if kind != "other" and set(words_of(kind)) <= named]
    return fitting[0] if len(fitting) == 1 else "…"


def _injection_rows(layout: Layout) -> list[str]:
    times = layout.injected_h
    width = max(2, len(str(len(times))))
    return [
        f"{column}-{turn:0{width}d},chromatograms/{column}-{turn:0{width}d}.csv,{column},{hours:g},,\n"
        for column, _, _ in layout.members()
        for turn, hours in enumerate(times, start=1)
    ]


def _condition_rows(layout: Layout) -> list[str]:
    return [
        f"{column},{hours:g},,,,\n"
        for column, _, _ in layout.members()
        for hours in dict.fromkeys(layout.injected_h)
    ]


def _note(layout: Layout) -> str:
    """Return a note that names the columns block by block."""
    blocks: dict[str, list[str]] = {}
    for column, group, block in layout.members():
        blocks.setdefault(block, []).append(f"[[column:{column}]] ({group})")
    listing = "".join(f"- {block}: {', '.join(columns)}\n" for block, columns in blocks.items())
    return (
        '+++\ntitle = "First day"\n# date = 2026-01-31\n+++\n'
        f"Side by side in each block, in drawn order:\n\n{listing}\n"
        "Buffer made up, its pH, and what happened:\n"
    )
