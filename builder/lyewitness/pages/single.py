"""The whole report as one HTML file to send: pictures, traces and tables inside, nothing fetched.

In: the site's pages, its assets, its figures, its data files. Out: one HTML document.

Each page becomes a sheet of the document, one shown at a time where scripts run, all below each other
where they do not. All but the first stand in `noscript`: a browser that runs scripts keeps them as text
until they are turned to, and so opens the file at once; one that runs none shows them all. Links between
pages become fragments: `columns/H1.html#x` becomes `#columns-H1--x`.
"""

from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from html import escape

from lyewitness.figures.records import Figure
from lyewitness.pages.assets import FOLDER
from lyewitness.pages.data_addresses import data_address
from lyewitness.pages.records import Page
from lyewitness.pages.sheet_rewriting import Rewriter, attribute, content_of, sheet_name
from lyewitness.pages.site import figure_files

STYLES = ("colours.css", "type.css", "page.css", "own.css", "single.css")
SCRIPTS = ("page.js", "viewer.js", "search.js", "single.js")
FRONT = "index.html"
TRACES = "data/traces/"


def render_single(
    pages: Iterable[Page],
    assets: Iterable[tuple[str, bytes]],
    figures: Iterable[Figure],
    data: Mapping[str, bytes] | None = None,
) -> str:
    """Return the report as one HTML document; `data` are the tables by path, to be saved from it."""
    texts = {page.path: page.text for page in pages}
    html = {path: text for path, text in texts.items() if path.endswith(".html")}
    rewriter = Rewriter(frozenset(html), _addresses(figures, data or {}))
    files = {name.removeprefix(f"{FOLDER}/"): content.decode() for name, content in assets if _is_text(name)}
    styles = "\n".join(files[name] for name in STYLES if name in files)
    scripts = [files[name] for name in SCRIPTS if name in files]
    scripts.insert(0, texts.get("search-index.js", ""))
    front = html[FRONT]
    lang = escape(attribute(front, "html", "lang"), quote=True)
    parts = (
        f'<!DOCTYPE html>\n<html lang="{lang}">\n<head>\n<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_policy(styles, scripts)}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{content_of(front, 'title')}</title>\n<style>{styles}</style>\n</head>\n<body>",
        rewriter.part(FRONT, front, "header"),
        '<main id="content">',
        *(_sheet(path, text, rewriter) for path, text in html.items()),
        "</main>",
        rewriter.part(FRONT, front, "footer"),
        *_trace_blocks(texts),
        *(f"<script>{script}</script>" for script in scripts),
        "</body>\n</html>\n",
    )
    return "\n".join(parts)


def _sheet(path: str, text: str, rewriter: Rewriter) -> str:
    """Return one page as a sheet."""
    title = escape(content_of(text, "title"), quote=True).replace("&amp;", "&")
    inner = rewriter.part(path, text, "main", inner=True)
    if path != FRONT:
        inner = f"<noscript>{inner}</noscript>"
    return f'<div class="sheet" id="{sheet_name(path)}" data-title="{title}" tabindex="-1">{inner}</div>\n'


def _trace_blocks(texts: Mapping[str, str]) -> Iterator[str]:
    """Yield the traces of every column as data that no browser reads before it is asked to."""
    for path, text in texts.items():
        if path.startswith(TRACES):
            data = text[text.index("||{},") + 5 : text.rindex(");")]
            name = escape(path, quote=True)
            yield f'<script type="application/json" data-traces="{name}">{data}</script>\n'


def _policy(styles: str, scripts: Iterable[str]) -> str:
    """Return a policy that allows these very styles and scripts, and nothing from anywhere."""
    allowed = " ".join(_digest(script) for script in scripts)
    return (
        f"default-src 'none'; script-src {allowed}; style-src {_digest(styles)}; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'"
    )


def _digest(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"


def _addresses(figures: Iterable[Figure], data: Mapping[str, bytes]) -> dict[str, str]:
    """Return each picture and table as an address that holds it."""
    files: dict[str, bytes] = {path: content for path, content in data.items() if not path.startswith(TRACES)}
    files.update(figure_files(figures))
    return {path: data_address(path, content) for path, content in files.items()}


def _is_text(name: str) -> bool:
    return name.endswith((".css", ".js"))
