"""Tables as they stand on paper: what rows share is said once above them, what nobody compares is left out.

In: the `TableView`s of the site. Out: `PrintTable`s.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from string import ascii_lowercase

from lyewitness.pages.views import Cell, Row, TableView


@dataclass(frozen=True, slots=True)
class Band:
    """Rows that share something."""

    label: str
    """What they share; empty where nothing is said."""
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class PrintTable:
    """A table in bands."""

    title: str
    heads: tuple[str, ...]
    numeric: tuple[bool, ...]
    bands: tuple[Band, ...]
    note: str = ""
    kind: str = ""
    """Style that sets the widths of its columns; empty where the layout finds them."""


def banded(
    view: TableView, by: Sequence[str] = (), without: Sequence[str] = (), kind: str = ""
) -> PrintTable:
    """Return `view` with its rows under what they share in the columns headed `by`, `without` other columns.

    A head that the table lacks is passed over. Rows keep their order: a band ends where its label does.
    """
    shared = [view.heads.index(head) for head in by if head in view.heads]
    kept = [place for place, head in enumerate(view.heads) if place not in shared and head not in without]

    def label(row: Row) -> str:
        return ", ".join(row.cells[place].text for place in shared)

    return PrintTable(
        title=view.title,
        heads=tuple(view.heads[place] for place in kept),
        numeric=tuple(view.numeric[place] for place in kept),
        bands=tuple(
            Band(words, tuple(replace(row, cells=tuple(row.cells[place] for place in kept)) for row in rows))
            for words, rows in groupby(view.rows, label)
        ),
        note=view.note,
        kind=kind,
    )


def dashed(table: PrintTable, words: Collection[str]) -> PrintTable:
    """Return `table` with a dash in each cell that holds one of `words` and nothing else."""
    return _changed(
        table, lambda cells: (replace(one, text="–") if one.text in words else one for one in cells)
    )


def untitled(table: PrintTable) -> PrintTable:
    """Return `table` without the small print after its cells."""
    return _changed(table, lambda cells: (replace(one, title="") for one in cells))


def lettered(table: PrintTable, head: str, longest: int = 1) -> PrintTable:
    """Return `table` with words beyond `longest` signs below `head` as letters that its note explains."""
    if head not in table.heads:
        return table
    place = table.heads.index(head)
    said = dict.fromkeys(row.cells[place].text for band in table.bands for row in band.rows)
    letters = dict(zip((text for text in said if len(text) > longest), ascii_lowercase, strict=False))

    def with_letter(cells: tuple[Cell, ...]) -> Iterable[Cell]:
        short = letters.get(cells[place].text, cells[place].text)
        return (*cells[:place], replace(cells[place], text=short), *cells[place + 1 :])

    told = "; ".join(f"{letter}: {text}" for text, letter in letters.items())
    return replace(
        _changed(table, with_letter), note=f"{table.note} {told}.".lstrip() if told else table.note
    )


def _changed(table: PrintTable, change: Callable[[tuple[Cell, ...]], Iterable[Cell]]) -> PrintTable:
    """Return `table` with the cells of every row changed."""
    bands = (
        replace(band, rows=tuple(replace(row, cells=tuple(change(row.cells))) for row in band.rows))
        for band in table.bands
    )
    return replace(table, bands=tuple(bands))
