"""How long the columns of each group would have lasted to other limits, read off the curves there are.

In: the declines of one marker and metric whose limits are in % of the reference. Out: a life for each group
at each level, for a reader who asks 'what if'. No claim rests on them: nobody set such a limit before the
data were seen.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from lyewitness.decline.bands import Edges
from lyewitness.decline.column_lives import column_life
from lyewitness.decline.fresh import beginning_of, holding, line_of_beginning
from lyewitness.decline.group_lives import typical_life
from lyewitness.decline.lives import LifeEdges, LimitLine, bracket, life_from_bracket, life_from_curve
from lyewitness.decline.records import Decline, Life

FALLING = tuple(range(50, 97, 2))
"""Levels, % of the reference, for a metric that fails by falling: 98 % would lie in the noise of most."""
RISING = tuple(range(110, 201, 5))
"""The same for one that fails by rising."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """The lives of all groups at one level that was not the study's."""

    level: float
    """% of the reference."""
    lives: Mapping[str, Life]
    """By group."""


def levels_for(declines: Sequence[Decline]) -> tuple[float, ...]:
    """Return the levels to ask about, the study's own among them; none where limits are in another unit.

    None either where columns bear different limits: they have no one level that could be moved.
    """
    limits = {one.limit for one in declines}
    limit = next(iter(limits), None)
    if len(limits) != 1 or limit is None:
        return ()
    own = limit.at_least_percent if limit.at_least_percent is not None else limit.at_most_percent
    if own is None:
        return ()
    asked = FALLING if limit.at_least_percent is not None else RISING
    return tuple(sorted({*(float(level) for level in asked), own}))


def lives_at(
    level: float, declines: Sequence[Decline], confidence: float, blocks: Mapping[str, str]
) -> Supposed:
    """Return the life of each group at `level` % of the reference; `blocks` by column id."""
    by_group: dict[str, list[Decline]] = {}
    for one in declines:
        by_group.setdefault(one.series.group, []).append(_supposing(one, level))
    return Supposed(
        level, {group: _life_of(members, confidence, blocks) for group, members in by_group.items()}
    )


def _supposing(decline: Decline, level: float) -> Decline:
    """Return a decline with its life to another limit, as curve and band have it."""
    if not decline.percent.size or decline.end_h is None or decline.limit is None:
        return decline
    line = LimitLine(level, decline.limit.at_least_percent is not None, True)
    counted = [name not in decline.outlying for name in decline.series.injections]
    seen = bracket(decline.series.exposure_h[counted], decline.percent[counted], line)
    if decline.curve_h.size:
        low, high = decline.curve_low, decline.curve_high
        edges = LifeEdges(decline.curve_h, Edges(decline.curve_percent, low, high, low, high))
        life = life_from_curve(edges, line, decline.end_h, seen)
        if (other := line_of_beginning(line, beginning_of(decline))) is not None:
            life = holding(life, life_from_curve(edges, other, decline.end_h, seen), decline.end_h)
    else:
        life = life_from_bracket(seen, decline.end_h, decline.reason)
    return replace(decline, life=life, limit_percent=level)


def _life_of(declines: Sequence[Decline], confidence: float, blocks: Mapping[str, str]) -> Life:
    """Return the typical life of a group."""
    found = [column_life(one, blocks.get(one.series.column, ""), confidence) for one in declines]
    measured = [one.life for one in declines if one.life.state != "not measured"]
    own = measured[0] if measured else declines[0].life
    return typical_life(tuple(life for life in found if life is not None), confidence, own)[0]
