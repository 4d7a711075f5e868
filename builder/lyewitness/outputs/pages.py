"""The pages of a report as text: a part in the templates of a theme.

In: `Document`. Out: `Page`s: every HTML page of the site, the search index, the traces' scripts.
"""

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from hashlib import sha256
from typing import Any

from markupsafe import Markup, escape

from lyewitness.document.blocks import Part, Row, Section
from lyewitness.document.data import (
    INDEX_FILE,
    PDF,
    SUMMARY,
    Entry,
    page_entry,
    search_entries,
    tables_of,
)
from lyewitness.document.edition import Edition, Run, figure_files, parts_in
from lyewitness.document.parts import Document
from lyewitness.document.tables import columns_of, table, words
from lyewitness.figures.kept import KeptFigure
from lyewitness.figures.records import Figure
from lyewitness.outputs.datapackage import TABLES, meaning_of_column
from lyewitness.outputs.links import SiteWays, Ways, note_html
from lyewitness.outputs.templates import Templates, kept_together, numbered_whole, templates_of, told_once
from lyewitness.outputs.trace_data import traces_of
from lyewitness.sheaves import Binding, Files, Piece, bound, held_in
from lyewitness.shipped import shipped_folder
from lyewitness.store import NO_STORE, Store, digest_of, folder_digest
from lyewitness.study.records import Person
from lyewitness.words.decoding import printable
from lyewitness.words.names import slug


@dataclass(frozen=True, slots=True)
class Page:
    """One text file of the site."""

    path: str
    """Path below the report, with `/`, such as `columns/H1.html`."""
    held: bytes | Piece
    """In UTF-8; one of thousands is brought when it is asked for."""

    @property
    def text(self) -> str:
        """Return what it holds as text."""
        data = self.held.bring() if isinstance(self.held, Piece) else self.held
        return data.decode("utf-8")


POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self' data:; "
    "base-uri 'none'; form-action 'none'"
)
"""Of each page of the site: it loads what lies beside it, and runs no script that stands in it."""
SCHEMA = "https://schema.org"
COVER = ("id", "title", "people", "licence", "keywords", "invented", "questions", "supersedes")
"""What the shipped templates use of a study; all else is in the parts, as words and addresses."""


def site_pages(document: Document, store: Store = NO_STORE, jobs: int = 1) -> tuple[Page, ...]:
    """Return every text file of the site, in the order in which a reader would meet them.

    A page whose part and frame are as they were comes from `store`; up to `jobs` are written at once.
    """
    templates = templates_of(document.edition.theme)
    frame = _frame_digest(document) if store is not NO_STORE else ""

    def written(told: Part | Run) -> tuple[Written, ...]:
        return tuple(_written(part, document, templates) for part in parts_in(told))

    bindings = [
        Binding((frame, told.source if isinstance(told, Run) else told), partial(written, told))
        for told in document.in_runs
    ]
    entries: list[Entry] = []
    pages: list[Page] = []
    for sheaf in bound("pages", bindings, _heads_of, store, jobs):
        for place, head in enumerate(sheaf.head):
            piece = Piece(head.sha256, head.size, partial(_page_in, sheaf.whole, place))
            pages.append(Page(head.path, piece))
            entries.append(head.entry)
    return (*pages, search_index(document, entries[:-1]), *_trace_pages(document, store))


@dataclass(frozen=True, slots=True)
class PageHead:
    """What is known of a page without its bytes, and what is found of it."""

    path: str
    sha256: str
    size: int
    entry: Entry


@dataclass(frozen=True, slots=True)
class Written:
    """A page with its bytes."""

    path: str
    data: bytes
    entry: Entry


def _written(part: Part, document: Document, templates: Templates) -> Written:
    text = rendered(part, document, templates, SiteWays(part.path), "page.html")
    text = templates.guarded(text, "page.html", POLICY)
    return Written(part.path, text.encode("utf-8"), page_entry(document.edition, part))


def _heads_of(pages: Sequence[Written]) -> tuple[PageHead, ...]:
    return tuple(PageHead(one.path, *_told_of(one.data), one.entry) for one in pages)


def _told_of(data: bytes) -> tuple[str, int]:
    """Return hash and length."""
    return sha256(data).hexdigest(), len(data)


def _page_in(whole: Callable[[], Sequence[Written]], place: int) -> bytes:
    return whole()[place].data


def _frame_digest(document: Document) -> str:
    """Return a digest of all that a page shows beside its part: theme, navigation, the study's cover.

    What a note points at stands in its part, with the address.
    """
    edition = document.edition
    theme, study = edition.theme, edition.report.study
    own = all(folder.parent == shipped_folder("themes").resolve() for folder in theme.folders)
    seen: object = [getattr(study, name) for name in COVER] if own else study
    return digest_of(
        [folder_digest(folder) for folder in theme.folders],
        document.navigation,
        dict(edition.addresses.parts),
        edition.has_pdf,
        edition.issue,
        program_words(document),
        seen,
    )


def _trace_pages(document: Document, store: Store) -> Iterator[Page]:
    """Yield the script of every column's traces."""
    for path, source, text in traces_of(document.edition, store):
        script = partial(_trace_script, text)
        told = store.made("trace script", (path, source), lambda script=script: _told_of(script()))  # type: ignore[misc]
        yield Page(path, Piece(*told, script))


def _trace_script(text: Callable[[], str]) -> bytes:
    assigned = f"window.lyewitnessTraces=Object.assign(window.lyewitnessTraces||{{}},{text()});\n"
    return assigned.encode("utf-8")


def rendered(part: Part, document: Document, templates: Templates, ways: Ways, frame: str) -> str:
    """Return one part as text within `frame`, which makes it a page of its own or a sheet of one file."""
    if part.key == "data":
        part = replace(part, blocks=(*part.blocks, dictionary(document.edition)))
    shown = {**shell(part, document, ways), "frame": frame, "in_one_file": frame != "page.html"}
    return numbered_whole(told_once(templates.fill(part.template or f"{part.key}.html", shown)))


def dictionary(edition: Edition) -> Section:
    """Return what each column of each table of the report means, a table for each, folded."""
    home, say = f"{edition.page('data')}#columns", edition.say
    folded = []
    for name, columns in TABLES.items():
        if name not in dict(tables_of(edition)):
            continue
        rows = [Row((words(column), words(meaning_of_column(column)))) for column in columns]
        heads = columns_of(edition, "column", "meaning")
        title = say("data.columns_title", table=name)
        explained = table(edition, f"{home}-{slug(name)}", title, heads, rows, style="stacked")
        heading = say("data.columns_folded", table=name, columns=len(rows))
        folded.append(Section(heading, (explained,), folded=True))
    return Section(say("data.columns"), tuple(folded), "columns")


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
        "logo": edition.theme.logo,
        "say": edition.say,
        "words_of": lambda table: dict(edition.theme.words_of(table)),
        "study": study,
        "nav": document.navigation,
        "here": edition.nav_of(part.key),
        "front": edition.page("answer"),
        "provenance": edition.page("data"),
        "issue": edition.issue,
        "linked_data": linked_data(part, document),
        "pdf": PDF if edition.has_pdf else "",
        "summary": SUMMARY if edition.has_pdf else "",
        "words_used": words_used,
        "terms": words_used.mark,
        "symbols": symbols,
        "equation": equation,
        "program": program_words(document),
        "markdown": lambda text: Markup(note_html(text, edition.addresses, ways.to)),
        "kind_of": lambda block: type(block).__name__,
    }


def linked_data(part: Part, document: Document) -> Markup:
    """Return what a page is in the words of schema.org, as JSON-LD that no script ends early.

    The front page is the data set with its people, licence and tables; every other page is a part of it.
    """
    edition, study = document.edition, document.edition.report.study
    front = edition.page("answer")
    about: dict[str, object] = {"@type": "Dataset", "name": study.title, "identifier": study.id}
    if part.path != front:
        said: dict[str, object] = {"@type": "WebPage", "name": part.title, "isPartOf": about}
    else:
        said = about | _data_set(document)
    text = json.dumps({"@context": SCHEMA, "inLanguage": "en", **said}, ensure_ascii=False, sort_keys=True)
    return Markup(printable(text).replace("<", "\\u003c").replace("&", "\\u0026"))


def _data_set(document: Document) -> dict[str, object]:
    """Return what the front page says of the study as a set of data."""
    edition, study = document.edition, document.edition.report.study
    told: dict[str, object] = {
        "description": " ".join(filter(None, (*(one.text for one in study.questions), study.invented))),
        "creator": [_person(one) for one in study.people],
        "license": f"https://spdx.org/licenses/{study.licence}" if study.licence else "",
        "keywords": list(study.keywords),
        "distribution": {
            "@type": "DataDownload",
            "contentUrl": "data/datapackage.json",
            "encodingFormat": "application/json",
        },
    }
    if study.supersedes:
        told["isBasedOn"] = {"@type": "Dataset", "identifier": study.supersedes}
    if revision := edition.report.revision:
        told |= {"version": str(revision.number), "datePublished": revision.date.isoformat()}
    return {key: value for key, value in told.items() if value}


def _person(person: Person) -> dict[str, str]:
    at = {"@id": f"https://orcid.org/{person.orcid}"} if person.orcid else {}
    return {"@type": "Person", "name": person.name, **at}


def program_words(document: Document) -> str:
    """Return the program and its version, as the provenance has them."""
    builder = document.edition.report.provenance.get("builder")
    if isinstance(builder, Mapping):
        return f"{builder.get('name', 'lyewitness')} {builder.get('version', '')}".strip()
    return "lyewitness"


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
        if hasattr(text, "__html__"):
            return escape(text)
        text = kept_together(text).replace(" + ", "\u00a0+\u00a0")
        if self._pattern is None:
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


SYMBOL = re.compile(r"\b([tWd])((?:R|0(?:\.\d+)?|p)(?:,\d)?)\b")
"""A quantity of chromatography with its index, as plain text writes it: `tR`, `t0`, `W0.5`, `tR,2`, `dp`."""


def symbols(text: str) -> Markup:
    """Return `text` escaped, quantities in italics with their indices set low (ISO 80000-1, 7.1)."""
    set_ = SYMBOL.sub(r"<i>\1</i><sub>\2</sub>", str(escape(kept_together(printable(text)))))
    return Markup(set_.replace("\u2009", "\u202f"))


LETTER = re.compile(r"(?<![A-Za-z<>])([WABHhd])(?![A-Za-z\d'>])")
"""A quantity without an index in the equation of a metric: `W`, `B ÷ A`, `2H ÷ h`."""


def equation(text: str) -> Markup:
    """Return the explanation of a metric escaped, every quantity set as such."""
    return Markup(LETTER.sub(r"<i>\1</i>", str(symbols(text))))


def search_index(document: Document, of_pages: Iterable[Entry]) -> Page:
    """Return the index of everything that can be found, as a script that assigns a constant."""
    found = (*of_pages, *search_entries(document.edition))
    entries = [[printable(words) for words in entry] for entry in found]
    text = json.dumps(entries, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")
    return Page(INDEX_FILE, f"window.lyewitnessIndex={text};\n".encode())


def site_files(
    pages: Iterable[Page],
    figures: Iterable[Figure],
    assets: Mapping[str, bytes],
    data: Mapping[str, bytes],
) -> Files:
    """Return every file of the site by path, sorted; the variants of a figure bear `-dark`, `-narrow`.

    Raises ValueError where two of them want the same path: that would be a mistake of the program.
    """
    files: dict[str, bytes | Piece] = {}
    for name, content in _all(pages, figures, assets, data):
        if name in files:
            raise ValueError(f"two files of the report want the path '{name}'")
        files[name] = content
    return Files(dict(sorted(files.items())))


def _all(
    pages: Iterable[Page], figures: Iterable[Figure], assets: Mapping[str, bytes], data: Mapping[str, bytes]
) -> Iterable[tuple[str, bytes | Piece]]:
    """Yield every path with its bytes, or what brings them."""
    for page in pages:
        yield page.path, page.held
    for figure in figures:
        if isinstance(figure, KeptFigure) and figure.piece is not None:
            yield figure.file, figure.piece
        else:
            yield from figure_files((figure,))
    yield from assets.items()
    yield from held_in(data).items()
