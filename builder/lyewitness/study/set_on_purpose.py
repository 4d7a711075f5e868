"""What of the stress was varied on purpose: where a comparison asks what pH or temperature does.

In: columns, factors and stress of a study. Out: names of settings; columns of one group that were set to
several values of one, as groups of their own.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from lyewitness.study.factor_words import level_words
from lyewitness.study.metadata import Metadata
from lyewitness.study.records import Column, Conditions, Factor, Marker, Question
from lyewitness.words.phrases import listed
from lyewitness.words.problems import Gathering

NAMES: Mapping[str, str] = {"ph": r"\bpH\b", "temperature_C": r"\b(?:temperatures?|hot|warm|heat)\b|°\s*C\b"}
"""How the name of a factor, or of its levels, sounds that varies a setting."""


class Planned(Protocol):
    """What was laid down of the columns, their stress and what was varied."""

    @property
    def columns(self) -> tuple[Column, ...]:
        """Return the columns, with what each was set to."""

    @property
    def factors(self) -> tuple[Factor, ...]:
        """Return what was varied on purpose."""

    @property
    def stress(self) -> Conditions | None:
        """Return what columns were set to that say nothing of their own."""


def setting_of(study: Planned, column: Column, name: str) -> float | None:
    """Return pH or temperature (°C) of the stress that a column was set to, the study's where it has none."""
    own: float | None = getattr(column, name)
    common: float | None = getattr(study.stress, name, None)
    return common if own is None else own


def set_on_purpose(study: Planned) -> frozenset[str]:
    """Return `ph`, `temperature_C`, of those which differ between columns because that is what is compared.

    A factor does that whose levels bear it in their names and have one value each; so do groups whose names
    tell it. What else differs with a factor, as the oven of one type, is no purpose.
    """
    return frozenset(name for name in NAMES if _is_purpose(study, name))


def _is_purpose(study: Planned, name: str) -> bool:
    if len({setting_of(study, column, name) for column in study.columns}) < 2:
        return False
    divided: list[tuple[str, Callable[[Column], str]]] = [(one.name, one.level_of) for one in study.factors]
    divided.append(("", lambda column: column.group))
    return any(_tells(study, study.columns, name, of, level_of) for of, level_of in divided)


def _tells(
    study: Planned, columns: Sequence[Column], name: str, of: str, level_of: Callable[[Column], str]
) -> bool:
    """Return whether levels have one value of the setting each, and are named by it."""
    at: dict[str, set[float | None]] = {}
    for column in columns:
        at.setdefault(level_of(column), set()).add(setting_of(study, column, name))
    if len(at) < 2 or "" in at or any(len(own) != 1 or None in own for own in at.values()):
        return False
    if re.search(NAMES[name], of, re.IGNORECASE):
        return True
    return all(
        re.search(NAMES[name], level, re.IGNORECASE) is not None and _has_number(level, own)
        for level, own in at.items()
    )


def _has_number(level: str, values: set[float | None]) -> bool:
    numbers = {float(found.replace(",", ".")) for found in re.findall(r"\d+(?:[.,]\d+)?", level)}
    return bool(numbers & values)


def parted_by_setting(metadata: Metadata, problems: Gathering) -> Metadata:
    """Return the metadata with each group whose columns a factor sets to several values as groups of one.

    Columns at pH 10.0 and at pH 10.8 are no replicates. Factors, questions and markers that name such a group
    mean all that it has become.
    """
    parts: dict[str, dict[str, str]] = {}
    groups = tuple(dict.fromkeys(column.group for column in metadata.columns))
    for group in groups:
        own = [column for column in metadata.columns if column.group == group]
        for factor in metadata.factors:
            if any(_tells(metadata, own, name, factor.name, factor.level_of) for name in NAMES):
                levels = tuple(factor.levels)
                at = {one.id: level_words(factor.name, factor.level_of(one), levels) for one in own}
                # Of the only type its name tells nothing.
                lead = "" if len(groups) == 1 else f"{group}, "
                parts[group] = {column: f"{lead}{level}" for column, level in at.items()}
                break
    if not parts:
        return metadata
    became = {group: tuple(dict.fromkeys(of.values())) for group, of in parts.items()}
    for group, names in became.items():
        problems.caution(
            "column",
            f"columns of '{group}' at several settings, as a factor has them",
            "one setting a group: lives at different pH or temperature are no replicates",
            f"They are compared as {listed(repr(name) for name in names)}. Name these groups as you like.",
        )
    columns = tuple(
        replace(one, group=parts[one.group][one.id]) if one.group in parts else one
        for one in metadata.columns
    )

    def all_of(named: Sequence[str]) -> tuple[str, ...]:
        return tuple(name for group in named for name in became.get(group, (group,)))

    return replace(
        metadata,
        columns=columns,
        factors=tuple(_of_columns(one, metadata.columns) for one in metadata.factors),
        questions=tuple(_asking(one, all_of) for one in metadata.questions),
        markers=tuple(_placed(one, became) for one in metadata.markers),
    )


def _of_columns(factor: Factor, columns: Sequence[Column]) -> Factor:
    """Return a factor whose levels name columns, not groups."""
    at = {level: tuple(c.id for c in columns if factor.level_of(c) == level) for level in factor.levels}
    return replace(factor, levels=at)


def _asking(question: Question, all_of: Callable[[Sequence[str]], tuple[str, ...]]) -> Question:
    return replace(question, groups=all_of(question.groups))


def _placed(marker: Marker, became: Mapping[str, tuple[str, ...]]) -> Marker:
    """Return a marker with the times that it was expected at on the groups as they are now."""
    if not isinstance(marker.retention_min, Mapping):
        return marker
    times = dict(marker.retention_min)
    for group, names in became.items():
        times |= {name: times[group] for name in names if group in times}
    return replace(marker, retention_min=times)
