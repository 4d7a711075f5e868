"""Tables, on screen and on paper, whose numbers stand with their decimal points below each other.

In: columns and values. Out: `Cell`s and `Table`s, and for paper `BandedTable`s: what rows share is
said once above them, what nobody compares is left out.
"""

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from itertools import groupby
from string import ascii_lowercase

from lyewitness.document.blocks import Band, BandedTable, Cell, Column, Row, Table
from lyewitness.document.edition import Edition
from lyewitness.words.metrics import places_in
from lyewitness.words.numbers import fixed


def banded(view: Table, by: Sequence[str] = (), without: Sequence[str] = (), style: str = "") -> BandedTable:
    """Return `view` with its rows under what they share in the columns `by`, `without` others, named by key.

    A column that the table lacks is passed over. Rows keep their order: a band ends where its label does.
    """
    shared = [place for place, column in enumerate(view.columns) if column.key in by]
    kept = [
        place
        for place, column in enumerate(view.columns)
        if place not in shared and column.key not in without
    ]

    def label(row: Row) -> str:
        return ", ".join(row.cells[place].text for place in shared)

    return BandedTable(
        title=view.title,
        columns=tuple(view.columns[place] for place in kept),
        bands=tuple(
            Band(
                shared_words,
                tuple(replace(row, cells=tuple(row.cells[place] for place in kept)) for row in rows),
            )
            for shared_words, rows in groupby(view.rows, label)
        ),
        note=view.note,
        style=style,
        page=view.home.partition("#")[0],
    )


def dashed(on_paper: BandedTable, wordings: Collection[str]) -> BandedTable:
    """Return `on_paper` with a dash in each cell that holds one of `wordings` and nothing else."""
    return _changed(
        on_paper, lambda cells: (replace(one, text="–") if one.text in wordings else one for one in cells)
    )


def untitled(on_paper: BandedTable) -> BandedTable:
    """Return `on_paper` without the small print after its cells."""
    return _changed(on_paper, lambda cells: (replace(one, title="") for one in cells))


def lettered(on_paper: BandedTable, key: str, longest: int = 1) -> BandedTable:
    """Return `on_paper`, words beyond `longest` signs in column `key` as letters its note explains."""
    place = next((place for place, column in enumerate(on_paper.columns) if column.key == key), None)
    if place is None:
        return on_paper
    said = dict.fromkeys(row.cells[place].text for band in on_paper.bands for row in band.rows)
    letters = dict(zip((text for text in said if len(text) > longest), ascii_lowercase, strict=False))

    def with_letter(cells: tuple[Cell, ...]) -> Iterable[Cell]:
        short = letters.get(cells[place].text, cells[place].text)
        return (*cells[:place], replace(cells[place], text=short), *cells[place + 1 :])

    told = "; ".join(f"{letter}: {text}" for text, letter in letters.items())
    return replace(
        _changed(on_paper, with_letter),
        note=f"{on_paper.note} {told}.".lstrip() if told else on_paper.note,
    )


def _changed(on_paper: BandedTable, change: Callable[[tuple[Cell, ...]], Iterable[Cell]]) -> BandedTable:
    """Return `on_paper` with the cells of every row changed."""
    bands = (
        replace(band, rows=tuple(replace(row, cells=tuple(change(row.cells))) for row in band.rows))
        for band in on_paper.bands
    )
    return replace(on_paper, bands=tuple(bands))


NUMBER = re.compile(r"(−?[\d\u2009]+)(?:\.(\d+))?")
LEADING = re.compile(r"(−?\d+(?:\u2009\d{3})*)(?:\.\d+)?(?=[\s\u2009(%]|$)")
MOST_PADS = 6
"""Steps of the styles `pad-…` and `lead-…`."""
HELD = 34
"""Characters up to which a value with its interval is kept on one line; longer ones are reasons."""
LONG = 15
"""Rows from which a filter helps."""


def words(text: str, href: str = "", key: str = "", title: str = "") -> Cell:
    """Return a cell of words."""
    return Cell(text or "–", href=href, key=key, title=title)


def number(value: float | None, metric: str, places: int | None = None, href: str = "") -> Cell:
    """Return a cell with one number, sorted by its value; an en dash where there is none."""
    if value is None:
        return Cell("–", key="", number=True, href=href)
    shown = places_in(metric, [value]) if places is None else places
    return Cell(fixed(value, shown), key=repr(float(value)), number=True, href=href)


def sized(text: str, value: float | None, title: str = "") -> Cell:
    """Return a cell of words that sorts by a number, such as a life with its interval."""
    key = "" if value is None else repr(float(value))
    return Cell(text, key=key, held=len(text) <= HELD, title=title)


def columns_of(edition: Edition, *keys: str) -> tuple[Column, ...]:
    """Return columns headed by the theme's words for their keys."""
    return tuple(Column(key, edition.say(f"heads.{key}")) for key in keys)


def table(
    edition: Edition,
    home: str,
    title: str,
    columns: Sequence[Column],
    rows: Iterable[Row],
    csv: str = "",
    note: str = "",
    style: str = "",
) -> Table:
    """Return a table with its decimal points aligned column by column; `home` is its page and anchor."""
    lines = tuple(rows)
    aligned = [_aligned([line.cells[place] for line in lines]) for place in range(len(columns))]
    return Table(
        id=home.partition("#")[2],
        title=title,
        columns=tuple(
            replace(column, numeric=any(cell.number for cell in cells))
            for column, cells in zip(columns, aligned, strict=True)
        ),
        rows=tuple(
            Row(tuple(cells[order] for cells in aligned), line.id, line.struck)
            for order, line in enumerate(lines)
        ),
        csv=csv,
        note=note,
        cite=edition.cite(edition.say("cite.table"), title, home),
        home=home,
        long=len(lines) > LONG,
        style=style,
    )


def _aligned(cells: Sequence[Cell]) -> list[Cell]:
    """Return the cells of one column, each with the style that brings its decimal point below the others'.

    Numbers stand at the right and are filled up there; values with their intervals, which begin with a
    number, stand at the left and are moved in.
    """
    decimals = max((_decimals(cell.text) for cell in cells if cell.number), default=0)
    whole = max((_whole_digits(cell.text) for cell in cells if cell.held), default=0)
    return [
        replace(cell, pad=_pad(cell.text, decimals) if cell.number else _lead(cell, whole)) for cell in cells
    ]


def _pad(text: str, most: int) -> str:
    """Return the style that fills a number up to `most` decimals."""
    own = _decimals(text)
    if own == most:
        return ""
    return f"pad-{min(MOST_PADS, most - own)}{'-point' if own == 0 else ''}"


def _lead(cell: Cell, most: int) -> str:
    """Return the style that moves words beginning with a number in by the digits they lack."""
    own = _whole_digits(cell.text) if cell.held else 0
    return f"lead-{min(MOST_PADS, most - own)}" if own and own < most else ""


def _decimals(text: str) -> int:
    """Return how many decimals `text` has where it is a number."""
    found = NUMBER.fullmatch(text)
    return len(found[2] or "") if found else 0


def _whole_digits(text: str) -> int:
    """Return how many digits and signs stand before the decimal point of the number `text` begins with."""
    found = LEADING.match(text)
    return len(found[1].replace("\u2009", "")) if found else 0
