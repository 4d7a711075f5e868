"""The tables to take away, the files read with their hashes, the provenance, and search over everything.

In: `Edition`. Out: `Part`s.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from lyewitness.document.answers import first_words
from lyewitness.document.blocks import (
    Beside,
    Block,
    Fact,
    Facts,
    Link,
    Listing,
    Opening,
    Part,
    Prose,
    Row,
    SearchBox,
    Section,
    Struck,
    Table,
)
from lyewitness.document.edition import Edition, Run, revision_words
from lyewitness.document.evidence import figures_of_study
from lyewitness.document.method import glossary_anchor
from lyewitness.document.tables import columns_of, table, words
from lyewitness.words.phrases import unlinked

INDEX_FILE = "search-index.js"

Entry = tuple[str, str, str, str]
"""Kind in words, title, address, text."""


def search_part(edition: Edition, parts: Sequence[Part | Run]) -> Part:
    """Return the search page; without a script it is the table of contents."""
    say = edition.say
    return Part(
        key="search",
        path=edition.page("search"),
        title=say("search.title"),
        blocks=(
            Prose((say("search.no_script"),), "without-scripts"),
            SearchBox(),
            Section(say("search.contents"), tuple(_contents(edition, parts)), apart=False),
        ),
        scripts=(INDEX_FILE, "theme/search.js"),
    )


HEADED = ("columns", "markers", "injections")
"""Parts whose pages are all called what the part is called, and then by their own name."""


def _without_heads(links: Sequence[Link]) -> Iterator[Link]:
    """Yield `S1-01` for `Injection S1-01`, where all begin with that word: their heading has said it."""
    heads = {link.label.partition(" ")[0] for link in links}
    for link in links:
        yield replace(link, label=link.label.partition(" ")[2]) if len(heads) == 1 else link


def _contents(edition: Edition, parts: Sequence[Part | Run]) -> Iterator[Section]:
    """Yield the pages of each part."""
    together: dict[str, list[Link]] = {}
    for part in parts:
        pages = part.pages if isinstance(part, Run) else (Link(part.title, part.path),)
        together.setdefault(edition.nav_of(part.key), []).extend(pages)
    for place, (name, links) in enumerate(together.items(), start=1):
        told = (links[0], *_without_heads(links[1:])) if name in HEADED else links
        words = tuple(one for link in told for one in ((link,) if link is told[0] else (" · ", link)))
        heading = edition.say(f"nav.{name}")
        yield Section(heading, (Prose(words),), f"part-{place}", level=3, style="contents")


def search_entries(edition: Edition) -> Iterator[Entry]:
    """Yield everything that can be found beside pages, the column that failed first before all."""
    yield from _first_failed(edition)
    yield from _found_entries(edition)
    yield from _looked_at_entries(edition)


def _first_failed(edition: Edition) -> Iterator[Entry]:
    """Yield which column failed first, as the front page has it; nothing where none did."""
    words = first_words(edition, edition.report.findings.answers[0])
    _, _, told = "".join(map(_told, words)).partition(": ")
    if told:
        title = edition.say("search.first_failed", told=told)
        yield edition.say(f"nav.{edition.nav_of('answer')}"), title, edition.page("answer"), ""


def page_entry(edition: Edition, part: Part) -> Entry:
    """Return what is found of a page."""
    return edition.say(f"nav.{edition.nav_of(part.key)}"), part.title, part.path, " ".join(_words(part))


def _words(part: Part) -> Iterator[str]:
    """Yield the running text that stands on a part at once."""
    for block in part.blocks:
        if isinstance(block, Opening):
            yield from (block.asked, block.issued, block.question, block.short, block.how_sure)
        elif isinstance(block, Prose | Beside):
            words = block.words if isinstance(block, Prose) else block.sentence
            yield "".join(_told(one) for one in words)


def _told(one: object) -> str:
    """Return the words of a piece of prose; those of a link are part of its sentence."""
    if isinstance(one, Link):
        return one.label
    return one.text if isinstance(one, Struck) else one if isinstance(one, str) else ""


def _found_entries(edition: Edition) -> Iterator[Entry]:
    """Yield claims, checks, signs, facts of the chemistry, cautions."""
    found, told = edition.report.findings, set[str]()
    for answer in found.answers:
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments):
            # What is said to several questions is found once, where it is said first.
            if claim.text not in told:
                told.add(claim.text)
                href = edition.addresses.of("claim", claim.id)
                said = edition.say("search.said", question=answer.question.text, strength=claim.strength)
                yield edition.say("search.claim"), claim.text, href, said
    for check in found.checks:
        text = " ".join((check.subject, check.detail, check.bearing, check.cure))
        yield edition.say("nav.audit"), check.check, edition.addresses.of("check", check.id), text
    for sign in found.signs:
        address = edition.addresses.of("sign", f"{sign.column}/{sign.mechanism}")
        text = " ".join((sign.verdict, *sign.reasons))
        yield edition.say("nav.signs"), f"{sign.mechanism}, {sign.column}", address, text
    for fact in found.chemistry:
        yield edition.say("nav.chemistry"), fact.name, edition.addresses.of("chemistry", fact.id), fact.text
    for caution in found.cautions:
        yield (
            edition.say("nav.cautions"),
            caution.title,
            edition.addresses.of("caution", caution.id),
            caution.text,
        )


def _looked_at_entries(edition: Edition) -> Iterator[Entry]:
    """Yield notes with their words, images, figures, method notes and terms."""
    study = edition.report.study
    for note in study.notes:
        yield edition.say("nav.notes"), note.title, edition.addresses.of("note", note.id), unlinked(note.text)
    for image in study.images:
        yield edition.say("nav.images"), image.caption, edition.addresses.of("image", image.id), image.alt
    for view in edition.figures.values():
        yield edition.say("cite.figure"), view.title, view.home, view.caption
    for heading, text in edition.report.method_notes:
        yield edition.say("nav.method"), heading, edition.addresses.of("method", heading), text
    for term, text in edition.theme.words_of("glossary").items():
        yield edition.say("search.term"), term, f"{edition.page('method')}#{glossary_anchor(term)}", text


TABLES = (
    "measurements.csv", "decline.csv", "group_lives.csv", "comparisons.csv", "claims.json", "checks.csv",
    "signs.csv", "chemistry.csv", "cautions.csv", "study.json", "provenance.json",
)  # fmt: skip
WORKBOOK = "tables.xlsx"
PDF = "report.pdf"
"""Path of the report as one PDF, below the report."""
SUMMARY, SUMMARY_PICTURE = "summary.pdf", "summary.png"
"""Paths of the answer on one sheet, and of the same as a picture."""
PRINTS = {"pdf": PDF, "summary": SUMMARY, "picture": SUMMARY_PICTURE}
"""What a report that was printed has beside its pages, by the theme's word for it."""


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the data page."""
    say, licence, people = edition.say, edition.report.study.licence, tuple(_people(edition))
    keywords = ", ".join(edition.report.study.keywords)
    yield Part(
        key="data",
        path=edition.page("data"),
        title=say("data.title"),
        blocks=(
            Prose((say("data.lead"),), "lead"),
            *(_saved(path, path, say(f"data.{key}")) for key, path in PRINTS.items() if edition.has_pdf),
            *(_saved(name, f"data/{name}", text) for name, text in tables_of(edition)),
            _saved(WORKBOOK, f"data/{WORKBOOK}", say("data.workbook")),
            *_figures(edition),
            *((Section(say("data.people"), (Listing(people),), apart=False),) if people else ()),
            *_revisions(edition),
            *((Prose((say("shell.licence", licence=licence),)),) if licence else ()),
            *((Prose((f"{say('data.keywords')} {keywords}.",)),) if keywords else ()),
            *_provenance(edition),
            _files(edition),
        ),
    )


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield what is attached to the PDF, who made the study, and the provenance."""
    say, licence = edition.say, edition.report.study.licence
    attached = tuple(Fact(name, name, text) for name, text in tables_of(edition))
    # The study's id stands on every page, what was chosen in the method.
    provenance = tuple(fact for fact in _provenance_facts(edition) if fact.key not in ("choices", "study"))
    yield Part(
        key="data",
        path=edition.page("data"),
        title=say("data.title"),
        blocks=(
            Prose((say("print.attached"),), "lead"),
            Facts(attached),
            *(Prose(person) for person in _people(edition)),
            *_revisions(edition),
            *((Prose((say("shell.licence", licence=licence),)),) if licence else ()),
            Facts(provenance),
        ),
    )


def tables_of(edition: Edition) -> Iterator[tuple[str, str]]:
    """Yield the name of each table, and what it holds."""
    study = edition.report.study
    more = (("factors.csv", study.factors), ("events.csv", study.events))
    for name in (*TABLES, *(one for one, held in more if held)):
        yield name, edition.say(f"data.table.{name.partition('.')[0]}")


def _saved(name: str, path: str, text: str) -> Beside:
    return Beside((Link(name, path),), (Prose((text,), "rests"),))


def _figures(edition: Edition) -> Iterator[Block]:
    """Yield the way to the figures, which have their data beside them."""
    if any(view.csv for _, view in figures_of_study(edition)):
        way = Prose((Link(edition.say("data.figures_all"), edition.page("figures")),))
        yield Section(edition.say("data.figures"), (way,), apart=False)


def _people(edition: Edition) -> Iterator[tuple[str]]:
    """Yield who made the study, a line each."""
    for person in edition.report.study.people:
        orcid = person.orcid and f"ORCID {person.orcid}"
        yield (", ".join(text for text in (person.name, person.role, orcid) if text),)


def _revisions(edition: Edition) -> Iterator[Section]:
    """Yield every edition of the study, the last one first."""
    revisions = edition.report.study.revisions
    if revisions:
        lines = tuple((revision_words(edition, one),) for one in reversed(revisions))
        yield Section(edition.say("data.revisions"), (Listing(lines),), apart=False)


def _provenance_facts(edition: Edition) -> tuple[Fact, ...]:
    """Return program, versions and settings; the files have their own table."""
    told = dict(edition.report.provenance)
    libraries = told.get("computed_with")
    if isinstance(libraries, Mapping) and "python" in told:
        told["computed_with"] = {"python": told.pop("python"), **libraries}
    return tuple(
        Fact(key, key.replace("_", " "), _provenance_words(value))
        for key, value in sorted(told.items())
        if key != "files"
    )


def _provenance(edition: Edition) -> Iterator[Section]:
    facts = _provenance_facts(edition)
    if facts:
        yield Section(edition.say("data.provenance"), (Facts(facts, "facts kept"),), apart=False)


def _files(edition: Edition) -> Section:
    """Return every file that was read with its hash, folded: who checks one looks for it."""
    held = _file_table(edition)
    heading = edition.say("data.files_folded", files=len(held.rows))
    return Section(heading, (held,), folded=True)


def _file_table(edition: Edition) -> Table:
    hashes = dict(edition.report.study.file_hashes)
    hashes.update({trace.file: trace.sha256 for trace in edition.report.traces.values()})
    return table(
        edition,
        f"{edition.page('data')}#table-files",
        edition.say("data.files_title"),
        columns_of(edition, "file", "sha256"),
        [Row((words(file), words(digest))) for file, digest in sorted(hashes.items())],
        csv="data/provenance.json",
        style="stacked",
    )


def _provenance_words(value: object) -> str:
    """Return a value of the provenance in words; what is nested deeper as JSON."""
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        told = ((str(key).replace("_", " "), one) for key, one in sorted(value.items()))
        return "; ".join(f"{key} {_provenance_words(one) or '–'}" for key, one in told)
    return json.dumps(value, ensure_ascii=False, sort_keys=True, default=str)
