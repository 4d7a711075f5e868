"""What the lives would have been to other limits: computed beforehand, moved by a reader, claimed by nobody.

In: `Edition`, what decides an answer. Out: the block `WhatIf`, of which a script makes a slider; without one
the lives to the study's own limits stand alone.
"""

import json
from collections.abc import Sequence

from lyewitness.decline.records import Decline, GroupLife, Life
from lyewitness.decline.what_if import levels_for, lives_at
from lyewitness.document.blocks import WhatIf
from lyewitness.document.edition import Edition
from lyewitness.words.lives import tell
from lyewitness.words.metrics import the_metric

SCRIPT = "theme/what-if.js"


def what_if(
    edition: Edition, deciding: tuple[str, str], groups: Sequence[str], alone: bool = False
) -> WhatIf | None:
    """Return the lives of `groups` by (marker, metric) to a grid of limits; None where none can be moved.

    `alone`: the answer rests on lives by any limit, of which these are by one alone.
    """
    report = edition.report
    lives = {
        one.group: one
        for one in report.judgement.group_lives
        if (one.marker, one.metric) == deciding and (not groups or one.group in groups)
    }
    declines = [
        one
        for (_, *key), one in edition.declines.items()
        if tuple(key) == deciding and one.series.group in lives and _counts(one, lives)
    ]
    levels = levels_for(declines)
    if not levels:
        return None
    own = _own_level(declines)
    study = report.study
    source = (levels, own, declines, lives, study.columns, study.choices, dict(edition.marks))
    told = edition.store.made(
        "lives to other limits", source, lambda: _told(edition, levels, own, declines, lives)
    )
    return WhatIf(
        levels=_json(told | ({"by": f" by {the_metric(*deciding)} alone"} if alone else {})),
        start=levels.index(own),
        last=len(levels) - 1,
    )


def _json(told: dict[str, object]) -> str:
    """Return JSON that may stand in HTML."""
    return json.dumps(told, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")


def _counts(decline: Decline, lives: dict[str, GroupLife]) -> bool:
    """Say whether a column is among those of its group's life, which ran under one stress."""
    return decline.series.column in lives[decline.series.group].columns


def _own_level(declines: Sequence[Decline]) -> float:
    """Return the study's own limit, % of the reference."""
    limit = declines[0].limit
    own = None if limit is None else (limit.at_least_percent or limit.at_most_percent)
    if own is None:
        raise ValueError("levels were found for a limit that is not in % of the reference")
    return own


def _told(
    edition: Edition,
    levels: Sequence[float],
    own: float,
    declines: Sequence[Decline],
    lives: dict[str, GroupLife],
) -> dict[str, object]:
    """Return groups and levels, and of each level every group's life in words and in hours."""
    study = edition.report.study
    blocks = {column.id: column.block for column in study.columns} if study.choices.paired_blocks else {}
    groups = [group for group in study.groups if group in lives]
    rows = []
    for level in levels:
        found = lives_at(level, declines, study.choices.confidence, blocks).lives
        # To the study's own limit every life stands as it is told everywhere else.
        at = {
            group: lives[group].life if level == own else found[group] for group in groups if group in found
        }
        rows.append([_cell(at[group]) if group in at else ["", None] for group in groups])
    return {
        "groups": [[group, edition.marks[group].place, edition.marks[group].shape] for group in groups],
        "levels": [round(level, 2) for level in levels],
        "lives": rows,
    }


def _cell(life: Life) -> list[object]:
    """Return a life in words, and where it lies on the axis of exposure; None where it has no value."""
    hours = life.hours.value if life.state == "reached" else None
    return [tell(life), None if hours is None else round(hours, 2)]
