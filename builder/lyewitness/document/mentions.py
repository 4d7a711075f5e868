"""Injections, columns and the audit where a sentence mentions them, as ways to their pages.

In: `Edition`, a text. Out: the same words, with links among them.
"""

import re
from collections.abc import Iterator

from lyewitness.document.blocks import Link, Words
from lyewitness.document.edition import Edition

AUDIT = "the audit"
"""The words by which sentences of the answer name it."""
# Alone, `12` would be found in '12 h', and `A` in any sentence.
_TELLING = re.compile(r"(?=.*\d)(?=.*[^\W\d_])")


def with_ways(edition: Edition, text: str) -> Words:
    """Return a text with a link at every injection and column that it names, and at the audit."""
    study = edition.report.study
    hrefs = {one.id: edition.addresses.of("column", one.id) for one in study.columns}
    hrefs |= {one.id: edition.addresses.of("injection", one.id) for one in study.injections if one.id in text}
    ways = {name: href for name, href in hrefs.items() if href and name in text and _TELLING.match(name)}
    if AUDIT in text:
        ways[AUDIT] = edition.page("audit")
    return tuple(_split(text, ways))


def _split(text: str, ways: dict[str, str]) -> Iterator[str | Link]:
    """Yield the pieces of a text; a name counts where it is no part of a longer one."""
    if not ways:
        yield text
        return
    # Of two names that begin alike the longer is looked for first.
    names = "|".join(re.escape(name) for name in sorted(ways, key=len, reverse=True))
    told = 0
    for found in re.finditer(rf"(?<![\w-])(?:{names})(?![\w-])", text):
        if found.start() > told:
            yield text[told : found.start()]
        yield Link(found.group(), ways[found.group()])
        told = found.end()
    if told < len(text):
        yield text[told:]
