"""Names from a study as parts of paths and fragments.

In: ids as a study has them. Out: names that are safe on every disk and in every address.
"""

import re
from collections.abc import Iterable, Mapping
from hashlib import sha256

UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")
TAKEN = frozenset(
    ("index", "con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)))
)
"""Names that a folder index or some file system keeps for itself."""


def slug(text: str) -> str:
    """Return `text` as a safe part of a path and fragment; a hash sets changed names apart."""
    safe = UNSAFE.sub("-", text).strip("-")[:60]
    if safe == text and safe.lower() not in TAKEN:
        return safe
    return f"{safe}-{sha256(text.encode()).hexdigest()[:6]}".lstrip("-")


def slugs(ids: Iterable[str]) -> Mapping[str, str]:
    """Return a slug for each of `ids`, different also on a disk that ignores upper and lower case."""
    chosen: dict[str, str] = {}
    folded: set[str] = set()
    for one in ids:
        name = slug(one)
        if name.lower() in folded:
            name = f"{name}-{sha256(one.encode()).hexdigest()[:6]}"
        folded.add(name.lower())
        chosen[one] = name
    return chosen
