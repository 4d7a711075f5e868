"""What binds a bag to what was kept elsewhere: its seal, and the fingerprint of what its report read.

In: a `Bag`, a hash as somebody noted it. Out: both as the bag has them today, and which of them the hash is.
Whoever changes a bag and all its hashes alike makes a bag that is whole and at one with itself: only what was
noted outside of it tells that it is another. The seal stands nowhere in the bag; the fingerprint stands in
the feet of the PDF and in the letter.
"""

import hashlib
import posixpath
import re
from dataclasses import dataclass
from typing import Literal

from lyewitness.findings.records import fingerprint_of
from lyewitness.findings.revised import json_of
from lyewitness.keeping.packing import Bag
from lyewitness.outputs.archive import file_hashes

TAG_MANIFESTS = ("tagmanifest-sha512.txt", "tagmanifest-sha256.txt")
# Of a hash typed off paper: 64 bits, which nobody meets by trying and nobody mistypes into another.
FEWEST_SIGNS = 16
Which = Literal["seal", "fingerprint", ""]


@dataclass(frozen=True, slots=True)
class Seals:
    """What a bag is bound by, and what it was held against."""

    seal: str = ""
    """SHA-256 of the list of its tag files, which by their lists cover every byte; empty without one."""
    of: str = TAG_MANIFESTS[0]
    """The name of that list."""
    fingerprint: str = ""
    """Of the study's files as they lie in the bag; empty where its report does not say which it read."""
    given: str = ""
    """The hash that was kept elsewhere, as it was typed; empty where none was."""
    is_: Which = ""
    """Which of both it is."""

    @property
    def differ(self) -> bool:
        """Return whether a hash was given that is neither."""
        return bool(self.given) and not self.is_

    def told(self, whole: bool) -> list[str]:
        """Return both in lines, and what the hash that was given says of a bag that is `whole` or not."""
        lines = []
        if self.seal:
            lines.append(f"Seal (SHA-256 of {self.of}, which by its lists covers every byte): {self.seal}")
        if self.fingerprint:
            where = "as it lies there; it stands in the feet of its PDF"
            lines.append(f"Fingerprint of what its report read ({where}): {self.fingerprint}")
        return [*lines, self._of_given(whole)] if self.given else lines

    def _of_given(self, whole: bool) -> str:
        if self.is_ == "seal" and whole:
            return "The hash given is its seal: every byte is what it was when that was noted."
        if self.is_ == "seal":
            return "The hash given is its seal: its lists are those of then, its files not what they list."
        if self.is_ == "fingerprint":
            return (
                "The hash given is its fingerprint: study and exports are those that the letter or PDF rests "
                "on. It says nothing of tables and pages."
            )
        return (
            f"The hash given, {self.given}, is neither: this is another bag or another state of the study, "
            "or somebody changed it."
        )

    def unseen(self) -> str:
        """Return what a look at the bytes alone cannot tell; empty where its seal was given."""
        if self.is_ == "seal":
            return ""
        return (
            "Whether the numbers follow from the exports was not looked at. Whoever changed claims, tables, "
            "pages and all their hashes alike is found out only where it is measured again (without "
            "--bytes-only), or where its seal was kept elsewhere (--hash SEAL)."
        )


NO_SEALS = Seals()


def signs_of(given: str) -> str:
    """Return the signs of a hash as somebody typed it, without its name, blanks and words beside it."""
    return "".join(re.findall(r"[0-9a-f]{4,}", re.sub(r"sha-?\d+", " ", given.lower())))


def sealed(bag: Bag, given: str = "") -> Seals:
    """Return what a bag is bound by, held against a hash that was kept elsewhere."""
    of = next((name for name in TAG_MANIFESTS if name in bag.files), "")
    seal = hashlib.sha256(bag.files[of]).hexdigest() if of else ""
    seals = {"seal": seal, "fingerprint": _fingerprint(bag)}
    signs = signs_of(given)
    enough = len(signs) >= FEWEST_SIGNS
    kinds: tuple[Which, ...] = ("seal", "fingerprint", "")
    is_ = next((kind for kind in kinds[:-1] if enough and seals[kind].startswith(signs)), kinds[-1])
    return Seals(seal, of, seals["fingerprint"], given, is_)


def _fingerprint(bag: Bag) -> str:
    """Return the fingerprint of the files that the report of a bag read, as they are there today.

    Reports of the first version bear none.
    """
    provenance = json_of(bag.files.get("data/report/data/provenance.json", b""))
    stated = file_hashes(provenance) if provenance.get("fingerprint") else {}
    held = {name: bag.files.get(posixpath.normpath(f"data/study/{name}")) for name in stated}
    return fingerprint_of({
        name: hashlib.sha256(data).hexdigest() if data is not None else "not there"
        for name, data in held.items()
    })  # fmt: skip
