"""How links and lab notes lead to places of the report, in each form that the report takes.

In: an address below the report, or a lab note's Markdown. Out: attributes of HTML, anchors, and notes as
HTML.
"""

import re
from collections.abc import Callable, Mapping
from html import escape
from posixpath import basename, dirname
from typing import Protocol
from urllib.parse import urlsplit

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererProtocol
from markdown_it.rules_inline import StateInline
from markdown_it.token import Token
from markupsafe import Markup
from markupsafe import escape as escaped

from lyewitness.document.addresses import Addresses
from lyewitness.outputs.templates import kept_together

NOWHERE = Markup("")


class Ways(Protocol):
    """What templates need to lead anywhere."""

    root: str
    """What stands before a path below the report."""

    def to(self, href: str) -> Markup:
        """Return the attributes of a link to `href`; nothing where it leads nowhere."""

    def source(self, path: str, name: str = "src") -> Markup:
        """Return the attribute by which a picture is shown."""

    def anchor(self, anchor: str) -> str:
        """Return an anchor of the page at hand as one that is unique in the document."""


class SiteWays:
    """From one page of the site to the files beside it."""

    def __init__(self, page: str) -> None:
        self.root = "../" * page.count("/")

    def to(self, href: str) -> Markup:
        """Return a link to a file of the site, or to the world outside, which is not told from where."""
        return outside(href) or _attribute("href", href if href.startswith("#") else self.root + href)

    def source(self, path: str, name: str = "src") -> Markup:
        """Return the picture's file."""
        return _attribute(name, self.root + path)

    def anchor(self, anchor: str) -> str:
        """Return the anchor itself: each page is a document."""
        return anchor


class Kept:
    """What the one file holds, and on which of its sheets each file can be saved."""

    def __init__(self, pages: frozenset[str], files: Mapping[str, str], tables: str) -> None:
        """Know the `pages`, the address that holds each of the `files`, and the page of the `tables`."""
        self.pages = pages
        self.files = files
        self.tables = tables
        self.saved: dict[str, str] = {}


class SheetWays:
    """From one sheet of the one file to the others; what it does not hold has no link."""

    root = ""

    def __init__(self, page: str, kept: Kept) -> None:
        self._page = page
        self._kept = kept

    def to(self, href: str) -> Markup:
        """Return a link to a sheet, or one that saves a file; each file is held once, for it is long."""
        if link := outside(href):
            return link
        page, _, fragment = href.partition("#")
        target = page or self._page
        if target in self._kept.pages:
            return _attribute("href", "#" + self._place(target, fragment))
        if self._page != self._kept.tables and dirname(target) == "data":
            return _attribute("href", "#" + sheet_name(self._kept.tables))
        return self._saving(target)

    def _place(self, page: str, fragment: str) -> str:
        """Return where `page#fragment` stands; what a viewer's address holds goes with it after `?`."""
        if "=" in fragment:
            return f"{sheet_name(page)}?{fragment}"
        return f"{sheet_name(page)}--{fragment}" if fragment else sheet_name(page)

    def _saving(self, target: str) -> Markup:
        if target not in self._kept.files:
            return NOWHERE
        holder = self._kept.saved.setdefault(target, self._page)
        if holder != self._page:
            return _attribute("href", "#" + sheet_name(holder))
        held = _attribute("href", self._kept.files[target])
        return held + _attribute("download", basename(target))

    def source(self, path: str, name: str = "src") -> Markup:
        """Return the picture itself."""
        return _attribute(name, self._kept.files[path]) if path in self._kept.files else NOWHERE

    def anchor(self, anchor: str) -> str:
        """Return the anchor behind the name of its sheet."""
        return f"{sheet_name(self._page)}--{anchor}"


def sheet_name(path: str) -> str:
    """Return the anchor of a page in one document: `columns/H1.html` becomes `columns-H1`."""
    return path.removesuffix(".html").replace("/", "-")


def outside(href: str) -> Markup:
    """Return a link to the world outside, which is not told from where; nothing for a place within."""
    if not urlsplit(href).scheme:
        return NOWHERE
    return _attribute("href", href) + _attribute("rel", "noreferrer")


def _attribute(name: str, value: str) -> Markup:
    """Return an attribute between double quotes, in which single ones need no escape.

    A picture held in an address has a thousand of them, at five characters each.
    """
    held = str(escaped(value)).replace("&#39;", "'")
    return Markup(f' {name}="{held}"')


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
    return kept_together(str(reader.renderer.render(tokens, reader.options, {})))


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
