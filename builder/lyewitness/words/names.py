"""Names from a study as parts of ids, fragments and paths.

In: names as a study has them, in any script. Out: names that are safe on every disk and in every address,
different wherever the study's are.
"""

import re
from collections.abc import Iterable, Mapping
from hashlib import sha256

UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")
# Beyond this a path of several parts meets the 255 bytes that common file systems allow for one name.
LONGEST = 60
# Six hexadecimal digits: among a thousand names the chance of two alike is 3 in 100 000, and `slugs` and
# `repeated` see to those.
HASH_DIGITS = 6
HASHED = re.compile(rf"-[0-9a-f]{{{HASH_DIGITS}}}$")
NAMELESS = "column"
"""Stands for the name of what belongs to the column itself and has none."""
TAKEN = frozenset(
    (
        NAMELESS,
        "index",
        "con",
        "prn",
        "aux",
        "nul",
        *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)),
    )
)
"""Names that are nobody's own: kept by us, by folder indexes or by some file systems."""


def slug(text: str) -> str:
    """Return `text` as a safe part of an id or path; `NAMELESS` where it is empty.

    What is safe stays as it is; whatever had to change bears a hash of the whole, and so does what looks as
    if it did: `Type α` and `Type β`, `A+` and `A−`, `C18 (A)` and `C18-A` stay apart.
    """
    if not text:
        return NAMELESS
    safe = _safe(text)
    return safe if safe == text and _is_free(safe) else _hashed(safe, text)


def joined(*parts: str) -> str:
    """Return the parts as one id, such as `q1-life-polymer`; different parts never make the same id.

    Where a part holds a hyphen or had to change, the id could be read in two ways: it bears a hash of all.
    """
    whole = "-".join(_safe(part or NAMELESS) for part in parts)
    clear = all(part == _safe(part) and "-" not in part and part != NAMELESS for part in parts)
    return whole if clear and _is_free(whole) else _hashed(whole, "\0".join(parts))


def slugs(ids: Iterable[str]) -> Mapping[str, str]:
    """Return a slug for each of `ids`, different also on a disk that ignores upper and lower case."""
    chosen: dict[str, str] = {}
    folded: set[str] = set()
    for one in ids:
        name = slug(one)
        if name.lower() in folded:
            name = _hashed(name, one)
        folded.add(name.lower())
        chosen[one] = name
    return chosen


def repeated(ids: Iterable[str]) -> tuple[str, ...]:
    """Return those of `ids` that stand more than once, in order; in a report there must be none."""
    counts: dict[str, int] = {}
    for one in ids:
        counts[one] = counts.get(one, 0) + 1
    return tuple(one for one, count in counts.items() if count > 1)


def _safe(text: str) -> str:
    return UNSAFE.sub("-", text).strip("-")[:LONGEST]


def _is_free(name: str) -> bool:
    """Say whether a name is nobody's own and does not look like a hashed one."""
    return bool(name) and name.lower() not in TAKEN and not HASHED.search(name)


def _hashed(safe: str, text: str) -> str:
    return f"{safe}-{sha256(text.encode()).hexdigest()[:HASH_DIGITS]}".lstrip("-")
