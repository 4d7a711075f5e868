"""Tables whose numbers stand with their decimal points below each other.

In: heads and values. Out: `Cell`s and `TableView`s.
"""

from collections.abc import Iterable, Sequence

from lyewitness.pages.metrics import places_in
from lyewitness.pages.views import Cell, Row, TableView
from lyewitness.quantities import fixed

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


def sized(text: str, value: float | None) -> Cell:
    """Return a cell of words that sorts by a number, such as a life with its interval."""
    return Cell(text, key="" if value is None else repr(float(value)))


def table(
    id: str,
    title: str,
    heads: Sequence[str],
    rows: Iterable[Row],
    csv: str = "",
    note: str = "",
    cite: str = "",
    home: str = "",
) -> TableView:
    """Return a table with its decimal points aligned column by column."""
    lines = tuple(rows)
    pads = [_decimals(line.cells[place].text for line in lines) for place in range(len(heads))]
    aligned = tuple(
        Row(
            tuple(_padded(cell, most) for cell, most in zip(line.cells, pads, strict=True)),
            line.id,
            line.struck,
        )
        for line in lines
    )
    numeric = tuple(any(line.cells[place].number for line in lines) for place in range(len(heads)))
    return TableView(id, title, tuple(heads), aligned, numeric, csv, note, cite, home, len(lines) > LONG)


def _decimals(texts: Iterable[str]) -> int:
    """Return the most decimals that any number of a column has."""
    return max((len(text.partition(".")[2]) for text in texts if _is_number(text)), default=0)


def _padded(cell: Cell, most: int) -> Cell:
    """Return `cell` with the style that fills it up to `most` decimals."""
    if not cell.number or not most:
        return cell
    own = len(cell.text.partition(".")[2]) if _is_number(cell.text) else 0
    pad = f"pad-{min(6, most - own)}{'-point' if own == 0 else ''}" if most != own else ""
    return Cell(cell.text, cell.href, cell.key, pad, True, cell.mark, cell.title)


def _is_number(text: str) -> bool:
    return bool(text) and all(character in "0123456789.−\u2009" for character in text)
