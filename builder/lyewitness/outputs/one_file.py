"""The report as one HTML file to send, nothing fetched.

In: the parts of the report, its assets, its figures, its data files. Out: one HTML document.

Each page becomes a sheet of the document, one shown at a time where scripts run, all below each other
where they do not. All but the first stand in `noscript`: a browser that runs scripts keeps them as text
until they are turned to, and so opens the file at once; one that runs none shows them all. Links between
pages become fragments: `columns/H1.html#x` becomes `#columns-H1--x`.
"""

import re
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from hashlib import sha256
from urllib.parse import quote

from lyewitness.document.data import page_entry
from lyewitness.document.edition import Edition, figure_files
from lyewitness.document.parts import Document
from lyewitness.figures.records import Figure
from lyewitness.outputs.assets import FOLDER
from lyewitness.outputs.links import Kept, SheetWays, sheet_name
from lyewitness.outputs.pages import rendered, search_index, shell
from lyewitness.outputs.templates import Templates, templates_of
from lyewitness.outputs.trace_data import traces_of

STYLES = ("colours.css", "type.css", "page.css", "own.css", "single.css")
SCRIPTS = (
    "page.js",
    "traces.js",
    "follow.js",
    "what-if.js",
    "pictures.js",
    "viewer.js",
    "search.js",
    "single.js",
)
KINDS = {
    "csv": "text/csv",
    "json": "application/json",
    "svg": "image/svg+xml",
    "png": "image/png",
    "jpg": "image/jpeg",
}
SAFE = "!$'()*+,-./:;=?@_~"
"""Characters that need no escape in an address between double quotes (RFC 3986, 3.3 and 3.4)."""
PATH = re.compile(r'(?<= d=")[^"]*(?=")')
COMMAND = re.compile(r"\s*([MmLlHhVvCcSsQqTtAaZz])\s*")
BEFORE_SIGN = re.compile(r"[\s,]+(?=-)")
BETWEEN = re.compile(r"[\s,]+")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page within the file."""

    name: str
    title: str
    text: str


def one_file(
    document: Document,
    assets: Iterable[tuple[str, bytes]],
    figures: Iterable[Figure],
    data: Mapping[str, bytes] | None = None,
) -> str:
    """Return the report as one HTML document; `data` are the tables by path, to be saved from it."""
    edition = document.edition
    pages = frozenset(part.path for part in document.on_screen)
    held = _addresses(_light(edition, figures), data or {})
    if logo := edition.theme.logo:
        held[f"{FOLDER}/{logo.file}"] = logo.held
    kept = Kept(pages, held, edition.page("data"))
    files = {name.removeprefix(f"{FOLDER}/"): content.decode() for name, content in assets if _is_text(name)}
    styles = "\n".join(files[name] for name in STYLES if name in files)
    found = search_index(document, [page_entry(edition, part) for part in document.on_screen[:-1]])
    scripts = [found.text, *(files[name] for name in SCRIPTS if name in files)]
    templates, first = templates_of(edition.theme), document.on_screen[0]
    values = {
        **shell(first, document, SheetWays(first.path, kept)),
        "sheets": tuple(_sheets(document, templates, kept)),
        "traces": tuple((path, text()) for path, _, text in traces_of(edition)),
        "styles": styles,
        "scripts": scripts,
    }
    return templates.page("one_file.html", values, _policy(styles, scripts))


def _sheets(document: Document, templates: Templates, kept: Kept) -> Iterator[Sheet]:
    """Yield every page as a sheet."""
    for part in document.on_screen:
        ways = SheetWays(part.path, kept)
        text = rendered(part, document, templates, ways, "sheet.html")
        title = str(shell(part, document, ways)["title"])
        yield Sheet(sheet_name(part.path), title, text)


def _policy(styles: str, scripts: Iterable[str]) -> str:
    """Return a policy that allows these very styles and scripts, and nothing from anywhere."""
    allowed = " ".join(_digest(script) for script in scripts)
    return (
        f"default-src 'none'; script-src {allowed}; style-src {_digest(styles)}; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _light(edition: Edition, figures: Iterable[Figure]) -> Iterator[Figure]:
    """Yield the figures without their forms for a phone, but for the answer's: all would be too much."""
    for figure in figures:
        page = edition.figures[figure.id].home.partition("#")[0]
        front = page == edition.page("answer") or page.startswith("answers/")
        yield figure if front else replace(figure, narrow=b"", narrow_dark=b"")


def _addresses(figures: Iterable[Figure], data: Mapping[str, bytes]) -> dict[str, str]:
    """Return each picture and table as an address that holds it."""
    files: dict[str, bytes] = {
        path: content for path, content in data.items() if not path.startswith("data/traces/")
    }
    files.update(figure_files(figures))
    return {path: data_address(path, content) for path, content in files.items()}


def _is_text(name: str) -> bool:
    return name.endswith((".css", ".js"))


def data_address(path: str, content: bytes) -> str:
    """Return `content` as an address: escaped text where that is shorter, else base 64."""
    ending = path.rpartition(".")[2].lower()
    kind = KINDS.get(ending, "application/octet-stream")
    text = _short(content.decode()).encode() if ending == "svg" else content
    told = (f"data:{kind},{quote(text, safe=SAFE)}", f"data:{kind};base64,{b64encode(text).decode()}")
    return min(told, key=len)


def _short(svg: str) -> str:
    """Return the same picture in fewer characters, and fewer that an address must escape."""
    text = " ".join(PATH.sub(lambda path: short_path(path.group()), svg).split())
    return text if "'" in text else text.replace('"', "'")


def short_path(path: str) -> str:
    """Return SVG path data without blanks: none around commands and signs, commas between numbers.

    Source: SVG 1.1, 8.3.9, the grammar of path data.
    """
    joined = COMMAND.sub(r"\1", path.strip())
    return BETWEEN.sub(",", BEFORE_SIGN.sub("", joined))
