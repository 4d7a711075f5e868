"""The table of numbers that a text file holds.

In: rows found by `plain_table` or `row_tables`. Out: `Table`.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from lyewitness.traces.dialects import Dialect
from lyewitness.words.arrays import FloatArray

SMALL_TABLE = 20
"""Rows; a table of peaks in a preamble is shorter, a trace longer."""


@dataclass(frozen=True, eq=False, slots=True)
class Table:
    """Rows of numbers of one width."""

    values: FloatArray
    """(rows, columns); NaN where a field has no value."""
    lines: Sequence[int]
    """(rows,) line numbers in the file, from 1."""
    above: tuple[str, ...]
    """The lines between the table before, or the start of the file, and this one."""
    separator: str
    cautions: tuple[str, ...] = ()
    clock_times: bool = False
    """Whether times stand as `h:mm:ss`; they are in `values` as seconds."""


def last_number_cut(tail: Sequence[str], dialect: Dialect) -> bool:
    """Whether the last of these lines breaks off in its last number: decimals that all others have lack.

    `tail` are the last twelve lines of a file without a line end at its end.
    """
    if len(tail) < 12 or not tail[-1]:
        return False
    fields = [dialect.split(line)[-1:] for line in tail]
    if not all(fields) or not all(dialect.decimal in field[0] for field in fields[:-1]):
        return False
    decimals = [len(field[0].strip().partition(dialect.decimal)[2]) for field in fields]
    return len(set(decimals[:-1])) == 1 and decimals[-1] < decimals[0]
