"""The pages of a report as text: a part in the templates of a theme.

In: `Document`. Out: `Page`s: every HTML page of the site, the search index, the traces' scripts.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from jinja2 import Environment
from markupsafe import Markup

from lyewitness.document.blocks import Part
from lyewitness.document.data import PDF
from lyewitness.document.edition import figure_files
from lyewitness.document.parts import Document
from lyewitness.document.search import INDEX_FILE, search_entries
from lyewitness.figures.records import Figure
from lyewitness.outputs.environment import environment_of
from lyewitness.outputs.glossary import WordsUsed
from lyewitness.outputs.note_markup import note_html
from lyewitness.outputs.trace_data import traces_of
from lyewitness.outputs.ways import SiteWays, Ways


@dataclass(frozen=True, slots=True)
class Page:
    """One text file of the site."""

    path: str
    """Path below the report, with `/`, such as `columns/H1.html`."""
    text: str


def site_pages(document: Document) -> tuple[Page, ...]:
    """Return every text file of the site, in the order in which a reader would meet them."""
    environment = environment_of(document.edition.theme)
    pages = (
        Page(part.path, rendered(part, document, environment, SiteWays(part.path), "page.html"))
        for part in document.on_screen
    )
    return (*pages, search_index(document), *_trace_pages(document))


def _trace_pages(document: Document) -> Iterator[Page]:
    """Yield the script of every column's traces."""
    for path, text in traces_of(document.edition):
        yield Page(path, f"window.lyewitnessTraces=Object.assign(window.lyewitnessTraces||{{}},{text});\n")


def rendered(part: Part, document: Document, environment: Environment, ways: Ways, frame: str) -> str:
    """Return one part as text within `frame`, which makes it a page of its own or a sheet of one file."""
    shown = {**shell(part, document, ways), "frame": frame, "in_one_file": frame != "page.html"}
    return environment.get_template(part.template or f"{part.key}.html").render(shown)


def shell(part: Part, document: Document, ways: Ways) -> Mapping[str, Any]:
    """Return what every template may use beside the blocks of its part."""
    edition, study = document.edition, document.edition.report.study
    words_used = WordsUsed(edition.theme.words_of("glossary"), ways.anchor)
    return {
        "part": part,
        "title": part.title if part.title == study.title else f"{part.title} · {study.title}",
        "root": ways.root,
        "to": ways.to,
        "source": ways.source,
        "anchor": ways.anchor,
        "say": edition.say,
        "words_of": lambda table: dict(edition.theme.words_of(table)),
        "study": study,
        "nav": document.navigation,
        "here": edition.nav_of(part.key),
        "front": edition.page("answer"),
        "provenance": edition.page("data"),
        "pdf": PDF if edition.has_pdf else "",
        "words_used": words_used,
        "terms": words_used.mark,
        "program": program_words(document),
        "markdown": lambda text: Markup(note_html(text, edition.addresses, ways.to)),
        "kind_of": lambda block: type(block).__name__,
    }


def program_words(document: Document) -> str:
    """Return the program and its version, as the provenance has them."""
    builder = document.edition.report.provenance.get("builder")
    if isinstance(builder, Mapping):
        return f"{builder.get('name', 'lyewitness')} {builder.get('version', '')}".strip()
    return "lyewitness"


def search_index(document: Document) -> Page:
    """Return the index of everything that can be found, as a script that assigns a constant."""
    entries = list(search_entries(document.edition, document.on_screen[:-1]))
    text = json.dumps(entries, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")
    return Page(INDEX_FILE, f"window.lyewitnessIndex={text};\n")


def site_files(
    pages: Iterable[Page],
    figures: Iterable[Figure],
    assets: Mapping[str, bytes],
    data: Mapping[str, bytes],
) -> dict[str, bytes]:
    """Return every file of the site by path, sorted; the variants of a figure bear `-dark`, `-narrow`.

    Raises ValueError where two of them want the same path: that would be a mistake of the program.
    """
    files: dict[str, bytes] = {}
    for name, content in _all(pages, figures, assets, data):
        if name in files:
            raise ValueError(f"two files of the report want the path '{name}'")
        files[name] = content
    return dict(sorted(files.items()))


def _all(
    pages: Iterable[Page], figures: Iterable[Figure], assets: Mapping[str, bytes], data: Mapping[str, bytes]
) -> Iterable[tuple[str, bytes]]:
    """Yield every path with its bytes."""
    for page in pages:
        yield page.path, page.text.encode("utf-8")
    yield from figure_files(figures)
    yield from assets.items()
    yield from data.items()
