"""Figures whose pictures lie in the store, those of a run of injections together, until somebody asks.

In: figures that were drawn together. Out: of each all but its picture and its table; these are brought.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from hashlib import sha256
from typing import Any

from lyewitness.figures.records import Figure
from lyewitness.sheaves import Piece, Sheaf

BROUGHT = ("data", "table")
"""The fields that lie in the store; what else such a figure has is a few words."""


@dataclass(frozen=True, slots=True)
class FigureHead:
    """What is known of a figure without its picture and table."""

    bare: Figure
    sha256: str
    """Of the picture."""
    size: int
    has_table: bool


Run = Sheaf[tuple[FigureHead, ...], list[Figure]]
"""Figures that were drawn together."""


def heads_of(figures: Sequence[Figure]) -> tuple[FigureHead, ...]:
    """Return what is to be known of figures at once."""
    return tuple(
        FigureHead(
            replace(one, data=b"", table=()), sha256(one.data).hexdigest(), len(one.data), one.has_table
        )
        for one in figures
    )


class KeptFigure(Figure):
    """A figure whose picture and table are brought; whatever is made of it is a whole one."""

    __slots__ = ("_has_table", "_whole", "piece", "run")
    piece: Piece
    """Its picture."""
    run: Run
    _has_table: bool
    _whole: Callable[[], Figure]

    def __new__(cls, *values: Any, **named: Any) -> Any:
        """Return a whole figure where values are given: `replace` makes one of this one."""
        return Figure(*values, **named) if values or named else super().__new__(cls)

    def __init__(self) -> None:
        """Do nothing: `figures_of` sets what is known."""

    @property
    def data(self) -> bytes:
        """SVG or PNG."""
        return self._whole().data

    @property
    def table(self) -> tuple[tuple[str, ...], ...]:
        """The drawn data as rows, header first."""
        return self._whole().table

    @property
    def has_table(self) -> bool:
        """Whether the drawn data stand beside it."""
        return self._has_table

    def __reduce__(self) -> tuple[type[Figure], tuple[Any, ...]]:
        return Figure, tuple(getattr(self, field.name) for field in fields(Figure))


def figures_of(run: Run) -> Sequence[Figure]:
    """Return the figures of a run; whole ones where there is no store to bring them from."""
    if not run.key:
        return run.whole()
    return [_kept(run, head, place) for place, head in enumerate(run.head)]


def _kept(run: Run, head: FigureHead, place: int) -> KeptFigure:
    figure: KeptFigure = KeptFigure.__new__(KeptFigure)

    def whole() -> Figure:
        return run.whole()[place]

    told = {
        "run": run,
        "piece": Piece(head.sha256, head.size, lambda: whole().data),
        "_has_table": head.has_table,
        "_whole": whole,
    }
    told |= {one.name: getattr(head.bare, one.name) for one in fields(Figure) if one.name not in BROUGHT}
    for name, value in told.items():
        object.__setattr__(figure, name, value)
    return figure
