"""Tables as they stand on paper: what rows share is said once above them, what nobody compares is left out.

In: `Table`s. Out: `BandedTable`s.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from itertools import groupby
from string import ascii_lowercase

from lyewitness.document.blocks import Band, BandedTable, Cell, Row, Table


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
            Band(words, tuple(replace(row, cells=tuple(row.cells[place] for place in kept)) for row in rows))
            for words, rows in groupby(view.rows, label)
        ),
        note=view.note,
        style=style,
        page=view.home.partition("#")[0],
    )


def dashed(table: BandedTable, words: Collection[str]) -> BandedTable:
    """Return `table` with a dash in each cell that holds one of `words` and nothing else."""
    return _changed(
        table, lambda cells: (replace(one, text="–") if one.text in words else one for one in cells)
    )


def untitled(table: BandedTable) -> BandedTable:
    """Return `table` without the small print after its cells."""
    return _changed(table, lambda cells: (replace(one, title="") for one in cells))


def lettered(table: BandedTable, key: str, longest: int = 1) -> BandedTable:
    """Return `table` with words beyond `longest` signs in column `key` as letters that its note explains."""
    place = next((place for place, column in enumerate(table.columns) if column.key == key), None)
    if place is None:
        return table
    said = dict.fromkeys(row.cells[place].text for band in table.bands for row in band.rows)
    letters = dict(zip((text for text in said if len(text) > longest), ascii_lowercase, strict=False))

    def with_letter(cells: tuple[Cell, ...]) -> Iterable[Cell]:
        short = letters.get(cells[place].text, cells[place].text)
        return (*cells[:place], replace(cells[place], text=short), *cells[place + 1 :])

    told = "; ".join(f"{letter}: {text}" for text, letter in letters.items())
    return replace(
        _changed(table, with_letter), note=f"{table.note} {told}.".lstrip() if told else table.note
    )


def _changed(table: BandedTable, change: Callable[[tuple[Cell, ...]], Iterable[Cell]]) -> BandedTable:
    """Return `table` with the cells of every row changed."""
    bands = (
        replace(band, rows=tuple(replace(row, cells=tuple(change(row.cells))) for row in band.rows))
        for band in table.bands
    )
    return replace(table, bands=tuple(bands))
