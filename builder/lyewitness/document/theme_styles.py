"""What the styles of a theme lead to: pictures and other styles, by their addresses.

In: the text of a style sheet. Out: each address with its line, and the text with pictures held in it.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import tinycss2

ADDRESSED = ("url", "src", "image", "image-set", "-webkit-image-set")
"""Functions whose words in quotes are addresses (CSS Images 4)."""
BELOW = ("prelude", "content", "arguments")
"""Where the nodes of a style sheet hold others."""


@dataclass(frozen=True, slots=True)
class Leading:
    """One address in a style sheet."""

    address: str
    line: int
    imported: bool
    """Whether it is another style sheet, by `@import`."""


def leading_in(css: str) -> tuple[Leading, ...]:
    """Return every address of a style sheet in the order in which it stands there."""
    return tuple(_leading(tinycss2.parse_stylesheet(css, skip_comments=True), imported=False))


def _leading(nodes: Iterable[Any], imported: bool) -> Iterator[Leading]:
    for node in nodes:
        within = imported or (node.type == "at-rule" and node.lower_at_keyword == "import")
        if node.type == "url" or (imported and node.type == "string"):
            yield Leading(node.value, node.source_line, imported)
        elif _is_address(node):
            for one in node.arguments:
                if one.type == "string":
                    yield Leading(one.value, one.source_line, imported)
                else:
                    yield from _leading([one], within)
        else:
            for place in BELOW:
                yield from _leading(getattr(node, place, None) or (), within)


def _is_address(node: Any) -> bool:
    """Return whether a node is `url("…")` with quotes, or names pictures for several resolutions."""
    return bool(node.type == "function" and node.lower_name in ADDRESSED)


def with_pictures_held(css: str, held: Callable[[str], str]) -> str:
    """Return a style sheet whose pictures stand in it: `held` gives the address that holds one.

    A sheet that shows none stays as it is, to the byte.
    """
    if not leading_in(css):
        return css
    nodes = tinycss2.parse_stylesheet(css)
    _hold(nodes, held)
    return str(tinycss2.serialize(nodes))


def _hold(nodes: Iterable[Any], held: Callable[[str], str]) -> None:
    for node in nodes:
        of_address = (node,) if node.type == "url" else ()
        if _is_address(node):
            of_address = tuple(one for one in node.arguments if one.type == "string")
        for one in of_address:
            one.value = held(one.value)
            one.representation = f'url("{one.value}")' if one.type == "url" else f'"{one.value}"'
        for place in BELOW:
            _hold(getattr(node, place, None) or (), held)
