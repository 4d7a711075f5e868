"""Whom a reply addresses: a person by name, a department by its colleagues.

In: who asked, as the study states it: `Method development, Ines`, `Process analytics`. Out: a name.
"""

import re

from lyewitness.words.phrases import mid_sentence

_PARTS = re.compile(r"\s*[,;:/()|]\s*|\s+[-\u2013\u2014]\s+")
_DEPARTMENT = re.compile(
    r"^(analytics?|analytical|affairs|assurance|chemistry|cleaning|company|control|department|development|division|"
    r"engineering|formulation|group|institute|labs?|laborator(y|ies)|logistics|maintenance|management|"
    r"manufacturing|marketing|method|methods|office|operations|plant|process|procurement|production|purchasing|"
    r"quality|regulatory|research|routine|safety|sales|science|sciences|service|services|site|stability|"
    r"supplies|supply|support|team|technology|testing|transfer|unit|university|validation|\w{4,}(ics|tion|ology))$",
    re.IGNORECASE,
)
"""Words of which the names of departments are made, and no names of people."""
_ROLE = re.compile(
    r"^(analyst|chemist|director|engineer|expert|head|lead|leader|manager|officer|scientist|specialist|"
    r"student|supervisor|technician|user|customer|client|auditor|inspector)s?$",
    re.IGNORECASE,
)
"""Words that say what somebody does, and not who it is."""
_PARTICLES = {
    "van",
    "von",
    "der",
    "den",
    "de",
    "del",
    "della",
    "di",
    "da",
    "du",
    "la",
    "le",
    "bin",
    "ter",
    "zu",
}
_JOINT = {"and", "&"}
_PLACES = re.compile(
    r"\b(lab|laboratory|department|team|group|office|plant|unit|division|institute|site)$", re.I
)
"""What a department ends in that is counted, and so has an article."""


_WHERE = re.compile(r"\b(?:floor|building|room|block|house)\b", re.I)
"""What tells where somebody sits, and no department."""


def person_of(asked_by: str) -> str:
    """Return the name of who asked: `Ines` of `Method development, Ines`; empty where only others are named.

    Two names beside each other, as in `Muster, Ines`, stay as they stand: which comes first nobody knows.
    """
    parts = _parts(asked_by)
    people = [part for part in parts if _is_person(part)]
    if len(people) == 1:
        return people[0]
    return asked_by.strip() if people and len(people) == len(parts) else " and ".join(people)


def department_of(asked_by: str) -> str:
    """Return where who asked works, as it stands behind `in`: `process analytics`, `the routine lab`."""
    parts = [part.removeprefix("the ").removeprefix("The ") for part in _parts(asked_by)]
    places = [part for part in parts if not (_is_person(part) or _has_role(part) or _WHERE.search(part))]
    if not places:
        return ""
    name = places[0] if any(word[:1].isupper() for word in places[0].split()[1:]) else mid_sentence(places[0])
    return f"the {name}" if _PLACES.search(name) else name


def _parts(asked_by: str) -> list[str]:
    return [part.strip() for part in _PARTS.split(asked_by) if part.strip()]


def _has_role(part: str) -> bool:
    return any(_ROLE.match(word) for word in part.split())


def _is_person(part: str) -> bool:
    """Return whether each word is a name, a title, an initial or what joins them."""
    words = part.split()
    if any(_DEPARTMENT.match(word) or _ROLE.match(word) for word in words):
        return False
    names = [word for word in words if word.lower() not in _PARTICLES | _JOINT]
    # `QC` and `R&D` are departments; `J.` and `JP` beside a surname are of a person.
    whole = [word for word in names if not word.replace("&", "").isupper() or len(word.rstrip(".")) == 1]
    return bool(whole) and all(word[0].isupper() for word in names)
