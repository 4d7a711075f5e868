"""Verdicts: what a judge says of one series, and of the groups of one study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

State = Literal["reached", "not reached", "unclear"]
Finding = Literal["a lasts longer", "b lasts longer", "no meaningful difference", "not settled"]

STATES: tuple[str, ...] = ("reached", "not reached", "unclear")
FINDINGS: tuple[str, ...] = (
    "a lasts longer",
    "b lasts longer",
    "no meaningful difference",
    "not settled",
)


@dataclass(frozen=True)
class Verdict:
    """A life with its 95 % interval in hours; None is an open end or no value.

    ``reached``: low to high should hold the life.  ``not reached``: the life is said to be beyond ``low``
    (beyond the end of the test when ``low`` is None) and, when ``high`` is given, before it.  ``unclear``:
    no claim, unless an interval is given all the same.
    """

    state: State
    value: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Comparison:
    """Ratio of the lives of group a over group b with its 95 % interval, p, and what is made of it.

    ``margin`` is the factor (above 1) within which the judge itself calls a difference meaningless; None
    leaves it to the one who scores.
    """

    a: str
    b: str
    ratio: float | None = None
    low: float | None = None
    high: float | None = None
    p: float | None = None
    finding: Finding = "not settled"
    margin: float | None = None


@dataclass(frozen=True)
class GroupVerdict:
    """The life of the typical (median) column of each group, and the comparisons of groups."""

    lives: Mapping[str, Verdict] = field(default_factory=dict)
    comparisons: tuple[Comparison, ...] = ()
