"""What changed from one issued report to the next: what went in, and what is said of it.

In: two reports as their tables have them, `Issued`. Out: `Changes`, and `sheets` of it for whoever shows it.
"""

import csv
import io
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import isclose, isfinite
from textwrap import shorten
from types import MappingProxyType
from typing import Any, Literal, get_args

from lyewitness.findings.measures import (
    ALIKE,
    Limits,
    Measured,
    Pair,
    held_against,
    limit_changed,
    limits_of,
    measures_of,
)
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import limit_read, tell, tell_ratio
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import p_value
from lyewitness.words.phrases import counted, exposure, listed
from lyewitness.words.settings import setting_text, setting_words

ClaimKind = Literal[
    "gone", "turned", "weaker", "other limit", "other measure", "stronger", "new", "otherwise",
    "other numbers",
]  # fmt: skip
KINDS: tuple[ClaimKind, ...] = get_args(ClaimKind)
"""In the order of telling: what is believed less comes first; what was measured otherwise is neither."""
CONTRADICTED = "contradicted"
STRENGTHS = (CONTRADICTED, "not settled", "indicated", "shown")
"""From the weakest; what is contradicted is believed least."""
BELIEVED = ("indicated", "shown")
ASSERTED = ("claim", "recommendation")
"""Parts of an answer that assert something, and can be withdrawn."""
TABLES: Mapping[str, tuple[str, ...]] = {
    "measurements": ("injection", "marker"),
    "decline": ("column", "marker", "metric"),
    "comparisons": ("marker", "metric", "group_a", "group_b"),
    "group_lives": ("group", "marker", "metric"),
}
"""The tables of a report that bear its numbers, and what tells their rows apart."""
# Tables hold ten figures; libraries that sum in another order agree to about nine.
SAME = 1e-8
LIFE_STATES = ("reached", "not reached", "unclear", "not measured")
MOST_OF_A_NOTE = 300
"""Letters of what changed in a note: a line or two tell which it was, and the note holds the rest."""
MOST_LETTERS = 60
"""Of a question that a row names: more of it would hide what became of the claim."""
ROW = "row"
"""Stands for a whole row, where only one side has it."""
_NUMBERS = re.compile(r"(?<![\w.])[<≤]?\d+(?:[.,\u2009]\d+)*")
_NO_SETTINGS = (
    "id",
    "title",
    "answers",
    "revisions",
    "supersedes",
    "people",
    "keywords",
    "licence",
    "invented",
    "exports",
)
_ONE_OF = {
    "columns": "column", "stresses": "stress", "questions": "question", "markers": "marker",
    "events": "event", "factors": "factor",
}  # fmt: skip
"""What one of a list of settings is called."""
_TOP = {"test": "injections", "plan": ""}
"""What stands before the settings of a table, where that is not its name."""

Rows = Sequence[Mapping[str, str]]


@dataclass(frozen=True, slots=True)
class Issued:
    """A report as its tables have it."""

    study: str
    """Id of the study."""
    title: str
    revision: str
    """Such as `revision 2 of 2026-06-01`; empty where the study numbers none."""
    why: str
    """Why that revision was made; empty where it is not told."""
    supersedes: str
    """Id of the study that it takes the place of."""
    fingerprint: str
    questions: Mapping[str, str]
    """Words of each question by its id."""
    claims: tuple[Mapping[str, str], ...]
    """`question`, `part`, `id`, `text`, `strength` of each sentence."""
    measures: Mapping[Pair, frozenset[Pair]]
    """By question and id of a claim: the markers and metrics that it was measured by."""
    limits: Limits
    """Limit by marker and metric."""
    tables: Mapping[str, Rows]
    """Rows by the name of the table, of those in `TABLES`."""
    settings: Mapping[str, str]
    """Every choice, limit and condition by its name."""
    keys: Mapping[str, str]
    """By the name of a setting the key that it is of, stated or not: an older report knows fewer."""
    versions: Mapping[str, str]
    """Version of program and libraries by name."""
    files: Mapping[str, str]
    """SHA-256 of every file read, by path."""
    notes: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """(id of the question whose letter quotes it or '', words) of each note by path; of a folder alone."""

    @property
    def name(self) -> str:
        """Return what the report is called beside another of the same study."""
        known = f"fingerprint {self.fingerprint}" if self.fingerprint else f"study {self.study}"
        return self.revision or known


@dataclass(frozen=True, slots=True)
class ClaimChange:
    """One sentence that is not what it was."""

    kind: ClaimKind
    question: str
    """Id of the question that it answers."""
    part: str
    """`claim`, `recommendation`, `next experiment` or `expectation`."""
    was: str
    """Empty for a new one."""
    was_strength: str
    now: str
    """Empty for one that is gone."""
    now_strength: str
    measured: Measured = ALIKE
    """Whether both were measured alike; of one that is gone or new, whether they would be."""

    @property
    def withdrawn(self) -> bool:
        """Return whether what was shown or indicated is no longer held."""
        held_now = self.now_strength in BELIEVED and self.kind != "turned"
        return self.part in ASSERTED and self.was_strength in BELIEVED and not held_now

    @property
    def firmer(self) -> bool:
        """Return whether more is held than was: of fewer data that is said with what was lost."""
        new = self.kind == "new" and self.part in ASSERTED and self.now_strength in BELIEVED
        return self.kind == "stronger" or new


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not what it was; an empty side was not there."""

    what: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Edition:
    """Which of two reports this is."""

    study: str
    """Id of the study."""
    title: str
    name: str
    """Its revision, else its fingerprint."""
    why: str
    """Why it was revised; empty where that is not told."""
    supersedes: str = ""


@dataclass(frozen=True, slots=True)
class Changes:
    """All that differs between two issued reports."""

    old: str
    """What the earlier report is called."""
    new: str
    earlier: Edition
    later: Edition
    questions: Mapping[str, str]
    """Words of the questions of both by id."""
    claims: tuple[ClaimChange, ...]
    lives: tuple[Change, ...]
    """Lives and what remained, by group and by column, in words with their intervals."""
    comparisons: tuple[Change, ...]
    injections: tuple[Change, ...]
    settings: tuple[Change, ...]
    versions: tuple[Change, ...]
    files: tuple[Change, ...]
    """SHA-256 by path of what was read."""
    lost: str = ""
    """What counted in the earlier one and does no longer: columns, injections; empty for nothing."""
    numbers: int = 0
    """Cells of tables that both have."""
    numbers_changed: int = 0
    """How many of them differ in more than the ninth figure."""

    @property
    def of_one(self) -> bool:
        """Return whether these are editions of one study: of another one nobody withdraws a claim."""
        ids = (self.earlier.study, self.later.supersedes)
        return self.later.study == ids[0] or (bool(ids[1]) and ids[0] == ids[1])

    @property
    def withdrawn(self) -> tuple[ClaimChange, ...]:
        """Return the claims that are no longer held."""
        return tuple(one for one in self.claims if one.withdrawn and self.of_one)


def issued(files: Mapping[str, bytes]) -> Issued:
    """Return a report from its files by path, of which those in `data/` are read; what is absent is empty."""
    claims, about, words = (
        json_of(files.get(f"data/{name}.json", b"")) for name in ("claims", "provenance", "study")
    )
    tables = {name: rows_of(files.get(f"data/{name}.csv", b"")) for name in TABLES}
    limits = limits_of(tables["decline"])
    keys = ("question", "part", "id", "text", "strength")
    settings = tuple(_settings(about, words, tables["decline"]))
    return Issued(
        study=str(claims.get("study", "")),
        title=str(words.get("title", "")),
        revision=revision_name(about.get("revision")),
        why=next((str(one.get("why") or "") for one in reversed(_dicts(words.get("revisions")))), ""),
        supersedes=str(words.get("supersedes", "")),
        questions={str(one.get("id")): str(one.get("question")) for one in _dicts(words.get("answers"))},
        fingerprint=str(about.get("fingerprint", "")),
        claims=tuple({key: str(one.get(key, "")) for key in keys} for one in _dicts(claims.get("claims"))),
        measures=measures_of(_dicts(claims.get("claims")), _dicts(words.get("answers")), limits),
        limits=limits,
        tables=tables,
        settings={name: value for name, _, value in settings if value},
        keys={name: key for name, key, _ in settings},
        versions=versions_of(about),
        files={str(name): str(digest) for name, digest in _dict(about.get("files")).items()},
    )


def revision_name(told: object) -> str:
    """Return `revision 2 of 2026-06-01` of number and date; empty where they are not told."""
    number, day = (_dict(told).get(key, "") for key in ("number", "date"))
    return f"revision {number} of {day}" if number else ""


def between(old: Issued, new: Issued) -> Changes:
    """Return all that differs from `old` to `new`."""
    cells = [_counted(name, old.tables[name], new.tables[name]) for name in TABLES]
    return Changes(
        old=old.name if old.name != new.name else "the earlier report",
        new=new.name if old.name != new.name else "the later report",
        earlier=_edition(old),
        later=_edition(new),
        questions={**old.questions, **new.questions},
        claims=tuple(_claims(old, new)),
        lives=tuple(_told(old, new, ("group_lives", "decline"), _life)),
        comparisons=tuple(_told(old, new, ("comparisons",), _ratio)),
        injections=tuple(_differing(_injections(old), _injections(new))),
        settings=tuple(_other_settings(old, new)),
        versions=tuple(_differing(old.versions, new.versions)),
        files=tuple(_noted(one, old.notes, new.notes) for one in _differing(old.files, new.files)),
        lost=_lost(old, new),
        numbers=sum(all_ for all_, _ in cells),
        numbers_changed=sum(changed for _, changed in cells),
    )


# Beyond five a list of ids is longer than the sentence that it stands in.
_MOST_NAMED = 5


def _lost(old: Issued, new: Issued) -> str:
    """Return the columns and injections that counted and do no longer: `column G3 and 12 injections`."""
    before, after = (_counting(one) for one in (old, new))
    columns = sorted(set(before.values()) - set(after.values()))
    injections = [one for one in before if one not in after]
    if not before or not after:
        return ""
    parts = [("column", columns), ("injection", injections)]
    return listed(
        f"{counted(len(names), noun)}{f' ({listed(names)})' if len(names) <= _MOST_NAMED else ''}"
        for noun, names in parts
        if names
    )


def _counting(report: Issued) -> dict[str, str]:
    """Return the column of each injection that counts."""
    return {
        row.get("injection", ""): row.get("column", "")
        for row in report.tables["measurements"]
        if row.get("used") == "yes"
    }


def _edition(report: Issued) -> Edition:
    return Edition(report.study, report.title, report.name, report.why, report.supersedes)


Sheet = tuple[str, tuple[tuple[str, str, str], ...]]


def sheets(changes: Changes, kinds: Mapping[str, str] = MappingProxyType({})) -> tuple[Sheet, ...]:
    """Return (name, rows of what, was and now) of each kind of change that there is, what is said first.

    `kinds` are the words for what became of a claim. Where there are several questions, those that it answers
    are named; a claim that changed alike in several is told once.
    """
    told: tuple[Sheet, ...] = (("claims", tuple(_claim_rows(changes, kinds))),)
    for name in ("lives", "comparisons", "injections", "settings", "versions", "files"):
        held: tuple[Change, ...] = getattr(changes, name)
        told += ((name, tuple((one.what, one.was, one.now) for one in held)),)
    return tuple(sheet for sheet in told if sheet[1])


def _claim_rows(changes: Changes, kinds: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in sorted(changes.claims, key=lambda one: (one not in changes.withdrawn, KINDS.index(one.kind))):
        kind: str = "withdrawn" if one in changes.withdrawn else one.kind
        was, now = _strong(one.was_strength, one.was), _strong(one.now_strength, one.now)
        became = kinds.get(kind, kind)
        if one.measured.told:
            otherwise = kinds.get(one.measured.kind, one.measured.kind)
            same = kind == one.measured.kind
            became = f"{became if same else f'{became}, {otherwise}'} ({one.measured.told})"
        if changes.lost and one.firmer:
            became = f"{became}, without {changes.lost} that counted before"
        alike.setdefault((became, was, now), []).append(one.question)
    several = len(changes.questions) > 1
    for (became, was, now), questions in alike.items():
        asked = [
            f"‘{shorten(changes.questions.get(one) or one, MOST_LETTERS, placeholder=' …')}’"
            for one in dict.fromkeys(questions)
        ]
        yield f"{became}, of {listed(asked)}" if several else became, was, now


def _strong(strength: str, text: str) -> str:
    return f"{strength}: {text}" if text else ""


def _claims(old: Issued, new: Issued) -> Iterator[ClaimChange]:
    """Yield the sentences that are not what they were: matched by id, then by their words without numbers."""
    left = {(one["question"], one["id"]): one for one in new.claims}
    nothing = dict.fromkeys(("question", "part", "id", "text", "strength"), "")
    alone = []
    for was in old.claims:
        now = left.pop((was["question"], was["id"]), None)
        if now is None:
            alone.append(was)
        else:
            yield from _claim(was, now, _measured(was, now, old, new))
    for was in alone:
        now = next((one for one in left.values() if _worded(one) == _worded(was)), None)
        if now is None:
            measured = _measured(was, nothing, old, new)
            yield ClaimChange(
                "gone", was["question"], was["part"], was["text"], was["strength"], "", "", measured
            )
        else:
            del left[now["question"], now["id"]]
            yield from _claim(was, now, _measured(was, now, old, new))
    for now in left.values():
        measured = _measured(nothing, now, old, new)
        yield ClaimChange("new", now["question"], now["part"], "", "", now["text"], now["strength"], measured)


def _measured(was: Mapping[str, str], now: Mapping[str, str], old: Issued, new: Issued) -> Measured:
    """Return whether two editions of a claim were measured alike."""
    sides = ((was, old.measures), (now, new.measures))
    first, other = (known.get((one["question"], one["id"]), frozenset()) for one, known in sides)
    return held_against(first, other, old.limits, new.limits)


def _worded(claim: Mapping[str, str]) -> tuple[str, str, str]:
    return claim["question"], claim["part"], _NUMBERS.sub("0", claim["text"])


def _claim(was: Mapping[str, str], now: Mapping[str, str], measured: Measured) -> Iterator[ClaimChange]:
    """Yield how one sentence changed; nothing where it did not.

    Against another limit, or by another measure, a claim becomes neither stronger nor weaker.
    """
    kind: ClaimKind
    if _is_turned(was["text"], now["text"]):
        kind = "turned"
    elif (was["text"], was["strength"]) == (now["text"], now["strength"]):
        return
    elif measured.kind:
        kind = measured.kind
    elif was["strength"] != now["strength"] and was["strength"] == CONTRADICTED:
        # What was held to be wrong and is open now is not believed more: less is known of it.
        kind = "otherwise"
    elif was["strength"] != now["strength"]:
        before, after = (_rank(one["strength"]) for one in (was, now))
        kind = "stronger" if after > before else "weaker"
    else:
        kind = "other numbers" if _worded(was) == _worded(now) else "otherwise"
    yield ClaimChange(
        kind, now["question"], now["part"], was["text"], was["strength"], now["text"], now["strength"],
        measured,
    )  # fmt: skip


_FACTOR = re.compile(
    r"multiplies \w+ by (?:at (?:least|most) )?(\d+(?:\.\d+)?)"
    r"|costs (?:at (?:least|most) )?(\d+(?:\.\d+)?)(?: \([^)]*\))? times"
)
_ORDER = re.compile(r"(?:the )?(.+?) lasts? (longer|shorter) than (?:the )?([^:,.]+)", re.IGNORECASE)


def _is_turned(was: str, now: str) -> bool:
    """Say whether a sentence says the opposite: a factor on the other side of 1, or the other order."""
    factors = [float(found[1] or found[2]) for text in (was, now) if (found := _FACTOR.search(text))]
    if len(factors) == 2 and (factors[0] - 1) * (factors[1] - 1) < 0:
        return True
    first, second = (_order(text) for text in (was, now))
    return first is not None and second is not None and first == second[::-1]


def _order(text: str) -> tuple[str, str] | None:
    """Return the longer-lived and the shorter-lived that a sentence names."""
    found = _ORDER.match(text)
    if found is None:
        return None
    one, word, other = found.groups()
    return (one, other) if word.lower() == "longer" else (other, one)


def _rank(strength: str) -> int:
    return STRENGTHS.index(strength) if strength in STRENGTHS else -1


def _told(
    old: Issued, new: Issued, names: Sequence[str], tell: Callable[[Mapping[str, str]], str]
) -> Iterator[Change]:
    """Yield the rows of tables whose words are not what they were, in the order of the later report."""
    for name in names:
        before, after = (_by_key(TABLES[name], one.tables[name]) for one in (old, new))
        words = [
            {_row_name(TABLES[name], key, old.limits, new.limits): tell(row) for key, row in held.items()}
            for held in (before, after)
        ]
        yield from _differing(words[0], words[1])


def _life(row: Mapping[str, str]) -> str:
    """Return a row of lives in words: empty where no limit was set."""
    if row.get("limit", "-") == "":
        return ""
    state, reason = row.get("life_state", ""), row.get("reason", "")
    if state not in LIFE_STATES:
        return state
    value, low, high = (_number(row.get(name)) for name in ("life_h", "life_low_h", "life_high_h"))
    bracket = (_number(row.get("last_within_h")), _number(row.get("first_past_h")))
    estimate = Estimate(value, low, high, reason)
    return tell(_LifeRow(state, estimate, bracket, row.get("extrapolated") == "yes"))


@dataclass(frozen=True, slots=True)
class _LifeRow:
    """A life as a row of a table has it."""

    state: str
    hours: Estimate
    bracket_h: tuple[float | None, float | None]
    extrapolated: bool
    recovered_h: tuple[float | None, float | None] = (None, None)
    """Tables do not tell it …"""
    watched: None = None
    """… nor this …"""
    tested: None = None
    """… nor this."""


def _row_name(columns: Sequence[str], key: Sequence[str], then: Limits, today: Limits) -> str:
    """Return what a row is of, a metric in its words: `H1 / plate number (half height) of toluene`.

    Where its limit is another now, both limits stand behind it.
    """
    cells = dict(zip(columns, key, strict=True))
    pair = (cells.pop("marker", ""), cells.pop("metric", ""))
    changed = limit_changed(pair, then, today)
    measured = f"{metric_of_marker(*pair)}{f', other limit ({changed})' if changed else ''}"
    groups = [cells.pop(name, "") for name in ("group_a", "group_b")]
    against = f"{groups[0]} against {groups[1]}" if any(groups) else ""
    return " / ".join(filter(None, (*cells.values(), against, measured)))


def _ratio(row: Mapping[str, str]) -> str:
    """Return a comparison in words."""
    value, low, high = (_number(row.get(name)) for name in ("life_ratio", "ratio_low", "ratio_high"))
    sides = {f"{side} lasts longer": row.get(f"group_{side}", side) for side in "ab"}
    finding = row.get("finding", "")
    told = [f"{sides[finding]} lasts longer" if finding in sides else finding]
    if any(end is not None for end in (value, low, high)):
        told.append(f"ratio {tell_ratio(Estimate(value, low, high))}".removesuffix("ratio "))
    if (p := _number(row.get("p_adjusted"))) is not None:
        told.append(p_value(p))
    return ", ".join(filter(None, told))


def _injections(report: Issued) -> dict[str, str]:
    """Return column, exposure and use of each injection in words."""
    told = {}
    for row in report.tables["measurements"]:
        hours = _number(row.get("exposure_h"))
        at = exposure(hours) if hours is not None else "no exposure known"
        left_out = "" if row.get("used") == "yes" else ", left out"
        told[row.get("injection", "")] = f"column {row.get('column', '')}, {at}{left_out}"
    return told


def _differing(old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[Change]:
    """Yield what differs by name, in the order of the later report; what is gone comes last."""
    for name in dict.fromkeys((*new, *old)):
        was, now = old.get(name, ""), new.get(name, "")
        if was != now:
            yield Change(name, was, now)


def _noted(file: Change, old: Mapping[str, tuple[str, str]], new: Mapping[str, tuple[str, str]]) -> Change:
    """Return a file that changed, of a note with the lines that differ and the letters that quote it."""
    was, now = (notes.get(file.what, ("", "")) for notes in (old, new))
    letters = [f"the letter on ‘{one}’" for one in dict.fromkeys((now[0], was[0])) if one]
    what = f"{file.what}, quoted in {listed(letters)}" if letters else file.what
    lines = was[1].splitlines(), now[1].splitlines()
    gone, come = (
        " / ".join(line.strip() for line in own if line.strip() and line not in others)
        for own, others in (lines, lines[::-1])
    )
    if not gone and not come:
        return Change(what, file.was, file.now)
    return Change(what, *(shorten(text, MOST_OF_A_NOTE, placeholder=" …") for text in (gone, come)))


def _other_settings(old: Issued, new: Issued) -> Iterator[Change]:
    """Yield the settings that are others; what one side does not have at all, such as a column, is one row.

    An older report tells less of itself: a key that it does not know is not what changed.
    """
    known = set(old.keys.values()) & set(new.keys.values())
    told: set[str] = set()
    for one in _differing(old.settings, new.settings):
        key = old.keys.get(one.what) or new.keys.get(one.what, "")
        item, of_item, _ = one.what.partition(_OF_ITEM)
        if key not in known:
            continue
        if of_item and any(not _has(report, item) for report in (old, new)):
            if item not in told:
                told.add(item)
                yield Change(item, *("there" if _has(report, item) else "" for report in (old, new)))
        else:
            yield one


_OF_ITEM = ": "
"""Between one of a list and what is told of it: `column H1: price`."""


def _has(report: Issued, item: str) -> bool:
    return any(name.startswith(f"{item}{_OF_ITEM}") for name in report.keys)


def _settings(
    about: Mapping[str, Any], words: Mapping[str, Any], decline: Rows
) -> Iterator[tuple[str, str, str]]:
    """Yield name, key and value of every choice, limit, and condition that a report tells of itself."""
    yield from _flat("choices", "choices", about.get("choices", {}))
    for row in decline:
        if row.get("limit"):
            metric = row.get("metric") or ""
            named = metric_of_marker(row.get("marker") or "", metric)
            yield f"limit of {named}", "limit", limit_read(row["limit"], metric)
    for key, value in words.items():
        if key not in _NO_SETTINGS:
            yield from _flat(_TOP.get(key, setting_words(key)), key, value)


def _flat(name: str, key: str, value: Any) -> Iterator[tuple[str, str, str]]:
    """Yield what is nested as lines of name, key and value; a list of things with an id by their ids."""
    if isinstance(value, dict):
        joint = "" if not name or name.endswith(_OF_ITEM) else " "
        for inner, held in value.items():
            if inner != "id":
                yield from _flat(f"{name}{joint}{setting_words(inner)}", f"{key} {inner}", held)
    elif isinstance(value, list) and any(isinstance(one, dict) for one in value):
        for place, one in enumerate(value, start=1):
            item = one.get("id", place) if isinstance(one, dict) else place
            yield from _flat(f"{_ONE_OF.get(key, name)} {item}{_OF_ITEM}", key, one)
    elif isinstance(value, list):
        yield name, key, ", ".join(map(str, value))
    else:
        yield name, key, setting_text(key.rpartition(" ")[2], value)


def cells_of(table: str, old: Rows, new: Rows) -> Iterator[tuple[tuple[str, ...], str, str, str]]:
    """Yield (key of the row, column, was, now) of each cell that both have; rows go by the keys of `TABLES`.

    A row that only one side has comes as the column `row`.
    """
    before, after = (_by_key(TABLES[table], rows) for rows in (old, new))
    for key in before.keys() - after.keys():
        yield key, ROW, "there", "not there"
    for key in after.keys() - before.keys():
        yield key, ROW, "not there", "there"
    for key, row in before.items():
        other = after.get(key, {})
        yield from ((key, name, row[name], other[name]) for name in row.keys() & other.keys())


def _counted(table: str, old: Rows, new: Rows) -> tuple[int, int]:
    """Return how many cells both have, and how many of them differ."""
    cells = [(was, now) for _, name, was, now in cells_of(table, old, new) if name != ROW]
    return len(cells), sum(not same(was, now) for was, now in cells)


def _by_key(keys: Sequence[str], rows: Rows) -> dict[tuple[str, ...], Mapping[str, str]]:
    return {tuple(row.get(name, "") for name in keys): row for row in rows}


def same(was: str, now: str) -> bool:
    """Return whether two cells say the same, numbers to the ninth figure."""
    if was == now:
        return True
    try:
        return isclose(float(was), float(now), rel_tol=SAME, abs_tol=1e-12)
    except ValueError:
        return False


def _number(cell: str | None) -> float | None:
    try:
        value = float(cell or "")
    except ValueError:
        return None
    return value if isfinite(value) else None


def rows_of(table: bytes) -> list[dict[str, str]]:
    """Return the rows of a table as a report has it; a sign that is none becomes a mark.

    Somebody may have edited it: a row that is too short has empty cells, what is too much is left out, and a
    table that cannot be read has no rows.
    """
    try:
        rows = list(csv.DictReader(io.StringIO(table.decode("utf-8", "replace"))))
    except csv.Error:
        return []
    return [{name: cell or "" for name, cell in row.items() if name is not None} for row in rows]


def json_of(data: bytes) -> dict[str, Any]:
    """Return the object in a JSON file; an empty one where there is none."""
    try:
        return _dict(json.loads(data))
    except (ValueError, RecursionError):
        return {}


def _dict(value: object) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _dicts(value: object) -> list[dict[str, Any]]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def versions_of(provenance: Mapping[str, object]) -> dict[str, str]:
    """Return the versions of program, Python and libraries that a report was computed with."""
    found = {name: str(version) for name, version in _dict(provenance.get("computed_with")).items()}
    if builder := _dict(provenance.get("builder")):
        found["lyewitness"] = str(builder.get("version"))
        # A version in the making has many states; the digest of its files tells them apart.
        if "sha256" in builder:
            found["lyewitness, its files"] = str(builder["sha256"])[:12]
    if "python" in provenance:
        found["python"] = str(provenance["python"])
    return found
