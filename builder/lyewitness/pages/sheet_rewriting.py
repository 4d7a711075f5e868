"""A page of the site turned into part of one document.

In: the HTML of a page. Out: its inner HTML with anchors renamed and addresses replaced.
"""

from collections.abc import Mapping
from html import escape
from html.parser import HTMLParser
from posixpath import basename, dirname, join, normpath
from urllib.parse import unquote, urlsplit

EMPTY = frozenset(("area", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"))
NAMES_ANCHORS = frozenset(("aria-labelledby", "aria-describedby", "aria-controls", "for", "headers"))
DATA_PAGE = "data.html"
"""The one page from which the large tables are saved; others lead there, lest each holds them again."""
Attributes = list[tuple[str, str | None]]


def sheet_name(path: str) -> str:
    """Return the anchor of a page in the one document: `columns/H1.html` becomes `columns-H1`."""
    return path.removesuffix(".html").replace("/", "-")


def attribute(text: str, tag: str, name: str) -> str:
    """Return an attribute of the first `tag` in `text`; empty where it has none."""
    finder = _Finder(tag)
    finder.feed(text)
    return finder.attributes.get(name) or ""


def content_of(text: str, tag: str) -> str:
    """Return what stands in the first `tag` of `text`, as it is written there."""
    start = text.index(">", text.index(f"<{tag}")) + 1
    return text[start : text.index(f"</{tag}>", start)]


class Rewriter:
    """Turns parts of pages into parts of one document."""

    def __init__(self, pages: frozenset[str], inside: Mapping[str, str]) -> None:
        """Know which `pages` there are, and by what address each file `inside` the document goes."""
        self._pages = pages
        self._inside = inside
        self._saved: dict[str, str] = {}

    def part(self, path: str, text: str, tag: str, inner: bool = False) -> str:
        """Return the first element `tag` of the page at `path`, or what is in it, rewritten."""
        writer = _Writer(path, self)
        opened = text.index(f"<{tag}")
        closing = f"</{tag}>"
        start = text.index(">", opened) + 1 if inner else opened
        end = text.index(closing, start) + (0 if inner else len(closing))
        writer.feed(text[start:end])
        writer.close()
        return "".join(writer.written)

    def attributes(self, path: str, tag: str, attributes: Attributes) -> Attributes:
        """Return the attributes of one element of the page at `path`, rewritten."""
        written: Attributes = []
        for name, value in attributes:
            if value is None:
                written.append((name, None))
            elif name == "id":
                written.append((name, self.anchor(path, value)))
            elif name in NAMES_ANCHORS:
                written.append((name, " ".join(self.anchor(path, one) for one in value.split())))
            elif name in ("href", "src", "srcset"):
                written.extend(self._address(path, tag, name, value))
            elif name == "data-script":
                written.append((name, normpath(join(dirname(path), value))))
            elif name == "data-root":
                written.append((name, ""))
            else:
                written.append((name, value))
        return written

    def anchor(self, path: str, anchor: str) -> str:
        """Return an anchor of the page at `path` as an anchor of the document."""
        return f"{sheet_name(path)}--{anchor}"

    def _address(self, path: str, tag: str, name: str, value: str) -> Attributes:
        parts = urlsplit(value)
        if parts.scheme:
            return [(name, value)]
        target = normpath(join(dirname(path), unquote(parts.path))) if parts.path else path
        if target in self._pages:
            return [(name, "#" + self._fragment(target, parts.fragment))]
        if path != DATA_PAGE and dirname(target) == "data":
            return [(name, "#" + sheet_name(DATA_PAGE))]
        if tag == "a":
            return self._saving(path, target)
        return [(name, self._inside[target])] if target in self._inside else []

    def _saving(self, path: str, target: str) -> Attributes:
        """Return the attributes of a link that saves `target`: it is held once, later links lead there."""
        if target not in self._inside:
            return []
        if self._saved.setdefault(target, path) != path:
            return [("href", "#" + sheet_name(self._saved[target]))]
        return [("href", self._inside[target]), ("download", basename(target))]

    def _fragment(self, page: str, fragment: str) -> str:
        """Return where `page#fragment` stands; what a viewer's address holds goes with it after `?`."""
        if "=" in fragment:
            return f"{sheet_name(page)}?{fragment}"
        return self.anchor(page, fragment) if fragment else sheet_name(page)


class _Writer(HTMLParser):
    """Writes what it reads, with every element's attributes rewritten; `noscript` may not stand in itself."""

    def __init__(self, path: str, rewriter: Rewriter) -> None:
        super().__init__(convert_charrefs=False)
        self._path = path
        self._rewriter = rewriter
        self.written: list[str] = []

    def handle_starttag(self, tag: str, attributes: Attributes) -> None:
        if tag == "noscript":
            self.written.append('<div class="without-scripts">')
            return
        rewritten = self._rewriter.attributes(self._path, tag, attributes)
        if tag == "source" and not any(name == "srcset" for name, _ in rewritten):
            return
        told = "".join(
            f" {name}" if value is None else f' {name}="{escape(value, quote=True)}"'
            for name, value in rewritten
        )
        self.written.append(f"<{tag}{told}>")

    def handle_startendtag(self, tag: str, attributes: Attributes) -> None:
        self.handle_starttag(tag, attributes)
        if tag not in EMPTY:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        self.written.append("</div>" if tag == "noscript" else f"</{tag}>")

    def handle_data(self, data: str) -> None:
        self.written.append(data)

    def handle_entityref(self, name: str) -> None:
        self.written.append(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self.written.append(f"&#{name};")

    def handle_comment(self, data: str) -> None:
        """Leave comments out."""


class _Finder(HTMLParser):
    """Keeps the attributes of the first element of one kind."""

    def __init__(self, tag: str) -> None:
        super().__init__()
        self._tag = tag
        self.attributes: dict[str, str | None] = {}

    def handle_starttag(self, tag: str, attributes: Attributes) -> None:
        if tag == self._tag and not self.attributes:
            self.attributes = dict(attributes)
