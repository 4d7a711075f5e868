"""Figures whose tables, and pictures of which there are thousands, lie in the store until somebody asks.

In: figures that were drawn together. Out: of each what pages tell of it; table and picture are brought.
The tables of the declines of 10,000 injections take 150 MB as cells, and no page shows them.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from hashlib import sha256
from typing import Any

from lyewitness.figures.records import Figure
from lyewitness.sheaves import Piece, Sheaf


@dataclass(frozen=True, slots=True)
class FigureHead:
    """What is known of a figure without its table."""

    bare: Figure
    has_table: bool
    picture: tuple[str, int] | None = None
    """Hash and length of its picture, where that is left out, too."""


Run = Sheaf[tuple[FigureHead, ...], list[Figure]]
"""Figures that were drawn together."""


def heads_of(figures: Sequence[Figure]) -> tuple[FigureHead, ...]:
    """Return what is to be known of figures at once."""
    return tuple(FigureHead(replace(one, table=()), one.has_table) for one in figures)


def bare_heads_of(figures: Sequence[Figure]) -> tuple[FigureHead, ...]:
    """Return what is to be known at once of figures of which there are thousands, with one picture each."""
    return tuple(
        FigureHead(
            replace(one, table=(), data=b""),
            one.has_table,
            (sha256(one.data).hexdigest(), len(one.data)),
        )
        for one in figures
    )


class KeptFigure(Figure):
    """A figure whose table, and perhaps its picture, is brought; `replace` makes a whole one of it."""

    __slots__ = ("_data", "_has_table", "_whole", "piece", "run")
    piece: Piece | None
    """Its picture, where that is brought."""
    run: Run
    _data: bytes
    _has_table: bool
    _whole: Callable[[], Figure]

    def __new__(cls, *values: Any, **named: Any) -> Any:
        """Return a whole figure where values are given."""
        return Figure(*values, **named) if values or named else super().__new__(cls)

    def __init__(self) -> None:
        """Do nothing: `figures_of` sets what is known."""

    @property
    def data(self) -> bytes:
        """SVG or PNG."""
        return self._data if self.piece is None else self.piece.bring()

    @property
    def table(self) -> tuple[tuple[str, ...], ...]:
        """The drawn data as rows, header first."""
        return self._whole().table

    @property
    def has_table(self) -> bool:
        """Whether the drawn data stand beside it."""
        return self._has_table

    def repainted(self, data: bytes, dark: bytes, narrow: bytes, narrow_dark: bytes) -> "KeptFigure":
        """Return the figure with other pictures."""
        held = {name: getattr(self, name) for name in (*_HELD, *KeptFigure.__slots__)}
        pictures = {"_data": data, "dark": dark, "narrow": narrow, "narrow_dark": narrow_dark}
        return _made_of(held | pictures | {"piece": None})

    def __reduce__(self) -> tuple[type[Figure], tuple[Any, ...]]:
        return Figure, tuple(getattr(self, field.name) for field in fields(Figure))


_HELD = tuple(field.name for field in fields(Figure) if field.name not in ("data", "table"))


def figures_of(run: Run) -> Sequence[Figure]:
    """Return the figures of a run; whole ones where there is no store to bring them from."""
    if not run.key:
        return run.whole()
    return [_kept(run, head, place) for place, head in enumerate(run.head)]


def _kept(run: Run, head: FigureHead, place: int) -> KeptFigure:
    def whole() -> Figure:
        return run.whole()[place]

    told = {
        "run": run,
        "piece": Piece(*head.picture, lambda: whole().data) if head.picture else None,
        "_data": head.bare.data,
        "_has_table": head.has_table,
        "_whole": whole,
    }
    return _made_of(told | {name: getattr(head.bare, name) for name in _HELD})


def _made_of(held: Mapping[str, object]) -> KeptFigure:
    figure: KeptFigure = KeptFigure.__new__(KeptFigure)
    for name, value in held.items():
        object.__setattr__(figure, name, value)
    return figure
