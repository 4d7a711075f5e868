"""The tables to take away, who made the study, the files read with their hashes, and the provenance.

In: `Edition`. Out: `Part`s.
"""

import json
from collections.abc import Iterator, Mapping

from lyewitness.document.blocks import (
    Beside,
    Block,
    Fact,
    Facts,
    Link,
    Listing,
    Part,
    Prose,
    Row,
    Section,
    Table,
)
from lyewitness.document.edition import Edition
from lyewitness.document.evidence import figures_of_study
from lyewitness.document.tables import columns_of, table, words

TABLES = (
    "measurements.csv", "decline.csv", "comparisons.csv", "claims.json", "checks.csv", "provenance.json",
)  # fmt: skip
PDF = "report.pdf"
"""Path of the report as one PDF, below the report."""


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
            *(_saved(PDF, PDF, say("data.pdf")) for _ in range(edition.has_pdf)),
            *(_saved(name, f"data/{name}", text) for name, text in _tables(edition)),
            *_figures(edition),
            *((Section(say("data.people"), (Listing(people),), apart=False),) if people else ()),
            *((Prose((say("shell.licence", licence=licence),)),) if licence else ()),
            *((Prose((f"{say('data.keywords')} {keywords}.",)),) if keywords else ()),
            *_provenance(edition),
            _file_table(edition),
        ),
    )


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield what is attached to the PDF, who made the study, and the provenance."""
    say, licence = edition.say, edition.report.study.licence
    attached = tuple(Fact(name, name, text) for name, text in _tables(edition))
    provenance = tuple(fact for fact in _provenance_facts(edition) if fact.key != "choices")
    yield Part(
        key="data",
        path=edition.page("data"),
        title=say("data.title"),
        blocks=(
            Prose((say("print.attached"),), "lead"),
            Facts(attached),
            *(Prose(person) for person in _people(edition)),
            *((Prose((say("shell.licence", licence=licence),)),) if licence else ()),
            Facts(provenance),
        ),
    )


def _tables(edition: Edition) -> Iterator[tuple[str, str]]:
    """Yield the name of each table, and what it holds."""
    for name in (*TABLES, *(("factors.csv",) if edition.report.study.factors else ())):
        yield name, edition.say(f"data.table.{name.partition('.')[0]}")


def _saved(name: str, path: str, text: str) -> Beside:
    return Beside((Link(name, path),), (Prose((text,), "rests"),))


def _figures(edition: Edition) -> Iterator[Block]:
    """Yield the data of the figures, and the way to the figures themselves."""
    drawn = tuple((Link(view.title, view.csv),) for view in figures_of_study(edition) if view.csv)
    if drawn:
        rest = Prose((Link(edition.say("data.figures_all"), edition.page("figures")),))
        listed = Listing(drawn, "plain abreast")
        yield Section(edition.say("data.figures"), (listed, rest), apart=False)


def _people(edition: Edition) -> Iterator[tuple[str]]:
    """Yield who made the study, a line each."""
    for person in edition.report.study.people:
        orcid = person.orcid and f"ORCID {person.orcid}"
        yield (", ".join(text for text in (person.name, person.role, orcid) if text),)


def _provenance_facts(edition: Edition) -> tuple[Fact, ...]:
    """Return program, versions and settings; the files have their own table."""
    return tuple(
        Fact(key, key.replace("_", " "), _provenance_words(value))
        for key, value in sorted(edition.report.provenance.items())
        if key != "files"
    )


def _provenance(edition: Edition) -> Iterator[Section]:
    facts = _provenance_facts(edition)
    if facts:
        yield Section(edition.say("data.provenance"), (Facts(facts, "facts kept"),), apart=False)


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
    )


def _provenance_words(value: object) -> str:
    """Return a value of the provenance in words; what is nested deeper as JSON."""
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        told = ((str(key).replace("_", " "), one) for key, one in sorted(value.items()))
        return "; ".join(f"{key} {_provenance_words(one) or '–'}" for key, one in told)
    return json.dumps(value, ensure_ascii=False, sort_keys=True, default=str)
