"""A lab note's Markdown as HTML.

In: Markdown as the study holds it. Out: HTML in which raw HTML stays text and `[[kind:id]]` is a link.
"""

import re
from collections.abc import Callable
from html import escape

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererProtocol
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token
from markupsafe import Markup

from lyewitness.document.addresses import Addresses
from lyewitness.outputs.ways import outside

REFERENCE = re.compile(r"\[\[([a-z]+):([^\[\]\n|]+)(?:\|([^\[\]\n]+))?\]\]")
TOP_HEADING = 2
"""A note's first heading level on its page, below the page's own."""


def note_html(text: str, addresses: Addresses, to: Callable[[str], Markup]) -> str:
    """Return `text` as HTML; `to` gives the attributes of a link to an address below the report.

    Pictures in notes are not fetched from anywhere: an image becomes its words.
    """
    reader = MarkdownIt("commonmark", {"html": False, "linkify": False}).enable("table").disable("image")
    reader.validateLink = _harmless  # type: ignore[method-assign]
    reader.inline.ruler.before("link", "reference_to_study", _reference)
    reader.add_render_rule("reference_to_study", _linking(addresses, to))
    reader.add_render_rule("link_open", _leading_out)
    tokens = reader.parse(text)
    _lower_headings(tokens)
    return str(reader.renderer.render(tokens, reader.options, {}))


def _harmless(url: str) -> bool:
    """Allow links to the web and to mail, and nothing that runs or opens a file."""
    return bool(re.match(r"(https?://|mailto:|#)", url.strip(), re.IGNORECASE))


def _reference(state: StateInline, silent: bool) -> bool:
    """Take `[[kind:id]]` or `[[kind:id|words]]` as one token."""
    found = REFERENCE.match(state.src, state.pos, state.posMax)
    if not found:
        return False
    if not silent:
        token = state.push("reference_to_study", "", 0)
        token.meta = {"kind": found[1], "target": found[2].strip(), "label": (found[3] or found[2]).strip()}
    state.pos = found.end()
    return True


def _linking(addresses: Addresses, to: Callable[[str], Markup]) -> Callable[..., str]:
    """Return the rule that renders a reference as a link, or as its words where it leads nowhere."""

    def rule(renderer: RendererProtocol, tokens: list[Token], place: int, *_: object) -> str:
        meta = tokens[place].meta
        address = addresses.of(str(meta["kind"]), str(meta["target"]))
        label = escape(str(meta["label"]))
        return f"<a{to(address)}>{label}</a>" if address else label

    return rule


def _leading_out(renderer: RendererProtocol, tokens: list[Token], place: int, *_: object) -> str:
    """Open a link that the note itself holds: the world outside is not told from where it is visited."""
    return f"<a{outside(str(tokens[place].attrGet('href')))}>"


def _lower_headings(tokens: list[Token]) -> None:
    """Make the note's headings follow the page's own without a gap."""
    levels = sorted({int(token.tag[1]) for token in tokens if token.type == "heading_open"})
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{min(6, TOP_HEADING + levels.index(int(token.tag[1])))}"
