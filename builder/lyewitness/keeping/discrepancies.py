"""What can be read in a bag that today's program does not say of the same study.

In: the files of a bag, the same files made again. Out: `Held`: which files are the same byte for byte, which
are not, and each text that is another, as it was and as it is.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from html.parser import HTMLParser
from itertools import zip_longest
from types import MappingProxyType

from lyewitness.findings.revised import same


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """The files of a bag as today's program makes them."""

    files: Mapping[str, bytes]
    """By path in the bag."""
    left_out: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """What was not made again, and why."""


@dataclass(frozen=True, slots=True)
class Altered:
    """Something that can be read in a bag, and what today's program says in its place."""

    files: tuple[str, ...]
    """Where it stands."""
    was: str
    """In the bag; empty where today's program says something that is not there."""
    now: str

    @property
    def parts(self) -> tuple[str, str]:
        """Return both from a little before the place where they part."""
        pairs = enumerate(zip(self.was, self.now, strict=False))
        alike = next((at for at, (was, now) in pairs if was != now), 0)
        start = max(0, alike - _AROUND // 2)
        return _part(self.was, start), _part(self.now, start)


_AROUND = 120
"""Signs that are told of a long text: enough to find the place by."""


def _part(text: str, start: int) -> str:
    end = start + 2 * _AROUND
    return f"{'… ' if start and text else ''}{text[start:end]}{' …' if text[end:] else ''}"


@dataclass(frozen=True, slots=True)
class Held:
    """A bag's files held against what today's program makes of the same study."""

    same: int = 0
    """How many files are the same byte for byte."""
    altered: tuple[str, ...] = ()
    """Files of other bytes."""
    restated: tuple[str, ...] = ()
    """Those of them that differ in nothing but the versions that they tell."""
    gone: tuple[str, ...] = ()
    """Files that today's program makes and the bag has not."""
    foreign: tuple[str, ...] = ()
    """Files that the bag has and today's program does not make."""
    texts: tuple[Altered, ...] = ()
    """What is read in the altered files, each once."""
    left_out: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """Files that were not held against anything, and why."""

    @property
    def differs(self) -> bool:
        """Return whether any file is another, gone or foreign."""
        return bool(self.altered or self.gone or self.foreign)


def held_against(
    then: Mapping[str, bytes], rebuilt: Rebuilt, statements: Sequence[tuple[str, str]] = ()
) -> Held:
    """Return the files of a bag held against those that were made again; its manifests are not among them.

    `statements` are what then and now stands wherever a file tells a version.
    """
    out = {name: why for name, why in rebuilt.left_out.items() if name in then}
    own = {name: data for name, data in then.items() if name.startswith("data/") or name == "bag-info.txt"}
    both = sorted(own.keys() & rebuilt.files.keys() - out.keys())
    altered = tuple(name for name in both if own[name] != rebuilt.files[name])
    where: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name in altered:
        for pair in _read_differently(name, own[name], rebuilt.files[name]):
            where[pair].append(name)
    return Held(
        len(both) - len(altered),
        altered,
        tuple(name for name in altered if _restated(own[name], statements) == rebuilt.files[name]),
        tuple(sorted(rebuilt.files.keys() - own.keys() - rebuilt.left_out.keys())),
        tuple(sorted(own.keys() - rebuilt.files.keys() - out.keys())),
        tuple(Altered(tuple(dict.fromkeys(names)), *pair) for pair, names in where.items()),
        MappingProxyType(out),
    )


def _restated(data: bytes, statements: Sequence[tuple[str, str]]) -> bytes:
    """Return the bytes of then with the versions of now."""
    for was, now in statements:
        data = data.replace(was.encode(), now.encode()) if was else data
    return data


def _read_differently(name: str, was: bytes, now: bytes) -> Iterator[tuple[str, str]]:
    """Yield (was, now) of each text of a file that is another; nothing of what nobody reads."""
    before, after = (texts_of(name, data) for data in (was, now))
    for kind, a, b, c, d in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind != "equal":
            pairs = zip_longest(before[a:b], after[c:d], fillvalue="")
            yield from (pair for pair in pairs if not _says_the_same(*pair))


def _says_the_same(was: str, now: str) -> bool:
    """Return whether two texts differ in nothing but numbers beyond the ninth figure."""
    tokens, others = (_BETWEEN.split(text) for text in (was, now))
    return len(tokens) == len(others) and all(map(same, tokens, others))


_BETWEEN = re.compile(r"[,;:\s]+")


AS_LINES = (".csv", ".txt", ".md", ".json", ".toml")
_BLOCKS = frozenset((
    "p", "li", "td", "th", "h1", "h2", "h3", "h4", "dt", "dd", "figcaption", "caption", "div", "section",
    "text", "title", "tr", "summary", "option",
))  # fmt: skip
"""Elements that begin another text, of pages and of drawings."""


def texts_of(name: str, data: bytes) -> Sequence[str]:
    """Return what a reader reads in a file, in its order; nothing of pictures and scripts."""
    text = data.decode("utf-8", "replace")
    if name.endswith((".html", ".svg")):
        reader = _Reader()
        reader.feed(text)
        reader.close()
        return [told for told in (re.sub(r"\s+", " ", one).strip() for one in reader.texts) if told]
    return text.splitlines() if name.endswith(AS_LINES) else ()


class _Reader(HTMLParser):
    """Gathers what can be read in a page, a text for each block."""

    def __init__(self) -> None:
        super().__init__()
        self.texts = [""]
        self._silent = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "style"):
            self._silent = tag
        if tag in _BLOCKS:
            self.texts.append("")
        for name, told in attrs:
            if told and name in ("alt", "aria-label", "content"):
                self.texts += [told, ""]

    def handle_endtag(self, tag: str) -> None:
        if tag == self._silent:
            self._silent = ""
        if tag in _BLOCKS:
            self.texts.append("")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.texts[-1] += data
