"""What every printed sheet has in common: its size, its type, and a foot by which two prints are told apart.

In: `Edition`, `Theme`. Out: words and styles.

The foot names study, revision, day of issue and a fingerprint of all files that were read. A theme chooses
the sheet: `paper = "letter"` in theme.toml, `A4` where nothing is said.
"""

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from types import MappingProxyType

from lyewitness.document.edition import Edition
from lyewitness.document.theme_styles import with_pictures_held
from lyewitness.document.themes import PRINT_STYLES, Theme, asset, asset_path, picture_address
from lyewitness.outputs.assets import colour_styles, group_styles
from lyewitness.outputs.typefaces import typeface_styles
from lyewitness.store import NO_STORE, Store
from lyewitness.study.records import Study
from lyewitness.words.phrases import mid_sentence

SHEETS: Mapping[str, str] = MappingProxyType(
    {"A4": "A4", "letter": "letter; margin-left: 22.95mm; margin-right: 22.95mm"}
)
"""Size by the theme's word; the text is 170 mm wide on each, so that lines break alike."""


def latest_moment(study: Study) -> datetime:
    """Return the latest day that the study itself names, so that a report does not depend on the clock."""
    days = [question.asked_on for question in study.questions] + [note.dated for note in study.notes]
    days += [injection.at.date() for injection in study.injections if injection.at]
    days += [revision.date for revision in study.revisions]
    known = [day for day in days if day is not None]
    return datetime.combine(max(known, default=date(2000, 1, 1)), time(), tzinfo=UTC)


def foot(edition: Edition) -> str:
    """Return `study-id · revision 2 of 2026-05-18 · files 34c11e2828a136e6`."""
    study, known = edition.report.study, edition.report.fingerprint
    day = latest_moment(study).date()
    parts = [study.id]
    if edition.issue:
        parts.append(mid_sentence(edition.issue))
    elif day.year > NO_DAY:
        parts.append(edition.say("foot.issued", day=day.isoformat()))
    if known:
        parts.append(edition.say("foot.files", hash=known))
    return " · ".join(parts)


def hyphened_names(study: Study) -> frozenset[str]:
    """Return the names of the study that have a hyphen, at which paper shall not break them."""
    things = (study.columns, study.images, study.notes, study.injections)
    names = {study.id, *(one.id for some in things for one in some)}
    names |= {name for column in study.columns for name in (column.lot, column.serial)}
    return frozenset(name for name in names if "-" in name)


NO_DAY = 2000
"""What stands for a study that names no day."""


def print_styles(theme: Theme, name: str = PRINT_STYLES, store: Store = NO_STORE) -> str:
    """Return styles for paper: type, light colours, each folder's file of that name, the sheet's size.

    The theme's own come last.
    """
    files = [folder / "assets" / name for folder in reversed(theme.folders)]

    def held(address: str) -> str:
        """Return a picture of the theme as an address that holds it: paper has no files beside it."""
        file = asset(theme.folders, asset_path(name, address))
        return picture_address(file) if file else address

    return "\n".join(
        (
            typeface_styles(theme, store, on_paper=True),
            colour_styles(theme, dark=False),
            group_styles(theme),
            *(with_pictures_held(file.read_text("utf-8"), held) for file in files if file.is_file()),
            sheet_styles(theme),
        )
    )


def sheet_styles(theme: Theme) -> str:
    """Return the rule that gives each page its size."""
    return f"@page{{size:{SHEETS[theme.paper]}}}"


_LETTER = re.compile(rb'<path id="([^"]*)"(?: d="([^"]*)")? transform="scale\(0\.015625\)"/>')
_USE = rb'<use xlink:href="#(l\d+)"(?: x="(-?[\d.]+)")?(?: y="(-?[\d.]+)")?/>'
_OUTLINE = re.compile(r"[A-Za-z]|-?[\d.]+")
_WORD = re.compile(rb"(?:%s)+" % re.sub(rb"(?<!\\)\((?!\?)", b"(?:", _USE))
_LETTER_IN_WORD = re.compile(_USE)
_PER_PX = 64
"""Units of a letter's outline in one of the words' (1 ÷ 0.015625)."""


def words_in_one(drawing: bytes) -> bytes:
    """Return a drawing with the letters of a word as one path.

    What sets paper draws each letter that is named in its place as a drawing of its own, which takes a third
    of the time of a report; on screens a letter that is named is the shorter form.
    """
    letters = {name: _OUTLINE.findall(outline.decode()) for name, outline in _LETTER.findall(drawing)}

    def joined(word: re.Match[bytes]) -> bytes:
        found = _LETTER_IN_WORD.findall(word.group())
        if any(name not in letters for name, _, _ in found):
            return word.group()
        shifted = (_shifted(letters[name], float(x or 0), float(y or 0)) for name, x, y in found)
        outline = " ".join(filter(None, shifted))
        return f'<path d="{outline}" transform="scale(0.015625)"/>'.encode() if outline else b""

    return _WORD.sub(joined, drawing) if letters else drawing


def _shifted(outline: list[str], x: float, y: float) -> str:
    """Return the steps of an outline with each pair of numbers moved."""
    moves, steps = (x * _PER_PX, y * _PER_PX), []
    across = 0
    for step in outline:
        if step.isalpha():
            steps.append(step)
            continue
        # A unit is a five-hundredth of a pixel at the size of the words.
        steps.append(f"{float(step) + moves[across]:.0f}")
        across = 1 - across
    return " ".join(steps)
