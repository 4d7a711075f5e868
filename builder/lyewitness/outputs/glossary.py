"""Terms of the trade, explained where they stand.

In: the theme's glossary and the text of one page. Out: the text with its terms marked, and the list of
those that were used.
"""

import re
from collections.abc import Callable, Mapping

from markupsafe import Markup, escape

from lyewitness.words.names import slug


class WordsUsed:
    """Marks the first use of each term on one page and keeps which were used, in order."""

    def __init__(self, glossary: Mapping[str, str], anchor: Callable[[str], str]) -> None:
        """Know the meanings of terms, and how an anchor of the page becomes one of the document."""
        self._glossary = glossary
        self._anchor = anchor
        self._used: dict[str, str] = {}
        longest_first = sorted(glossary, key=len, reverse=True)
        alternatives = "|".join(re.escape(term) for term in longest_first)
        self._pattern = re.compile(rf"\b({alternatives})s?\b", re.IGNORECASE) if alternatives else None

    @property
    def used(self) -> list[tuple[str, str, str]]:
        """Return (anchor, term, meaning) of every term that was marked so far."""
        return [(f"word-{slug(term)}", term, text) for term, text in self._used.items()]

    def mark(self, text: str) -> Markup:
        """Return `text` escaped, the first use on this page of each term linked to its meaning below."""
        if self._pattern is None or hasattr(text, "__html__"):
            return escape(text)
        parts: list[Markup] = []
        end = 0
        for found in self._pattern.finditer(text):
            term = found[1].lower()
            if term in self._used or term not in self._glossary:
                continue
            self._used[term] = self._glossary[term]
            parts.append(escape(text[end : found.start()]))
            link = Markup('<a class="term" href="#{}">{}</a>')
            parts.append(link.format(self._anchor(f"word-{slug(term)}"), found[0]))
            end = found.end()
        return Markup("").join((*parts, escape(text[end:])))
