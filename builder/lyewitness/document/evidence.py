"""The evidence that is looked at: the trace viewer, the notes, and figures without a page.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator
from pathlib import PurePosixPath

from lyewitness.document.blocks import (
    Abreast,
    Block,
    Day,
    FigureBlock,
    LabNote,
    Link,
    Listing,
    Part,
    Prose,
    Section,
    Strong,
    TracedColumn,
    TracedInjection,
    Viewer,
    Words,
)
from lyewitness.document.edition import Edition
from lyewitness.document.following import trace_script
from lyewitness.document.injections import along_column, exposure_of
from lyewitness.document.proof import first_story, limits_seen
from lyewitness.document.tables import linked
from lyewitness.study.records import Column, Note
from lyewitness.words.phrases import exposure


def traces_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the viewer, with every injection by column."""
    say = edition.say
    viewer = Viewer(
        tuple(_traced(edition, column) for column in edition.report.study.columns),
        tuple(marker.id for marker in edition.report.study.markers),
        limits_seen(edition),
        first_story(edition),
    )
    yield Part(
        key="traces",
        path=edition.page("traces"),
        title=say("traces.title"),
        blocks=(
            Prose((say("traces.lead"),), "lead"),
            Prose((say("traces.no_script"),), "without-scripts"),
            viewer,
        ),
        scripts=("theme/traces.js", "theme/viewer.js"),
    )


def _traced(edition: Edition, column: Column) -> TracedColumn:
    """Return one column's injections, with where their data lie."""
    return TracedColumn(
        id=column.id,
        label=column.label,
        mark=edition.marks.get(column.group),
        script=trace_script(edition, column.id),
        injections=tuple(
            TracedInjection(
                id=one.id,
                href=edition.addresses.of("injection", one.id),
                exposure=exposure(exposure_of(edition, one.id)[0]),
                used=one.used,
                traced=one.id in edition.report.traces,
            )
            for one in along_column(edition, column.id)
        ),
    )


def notes_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the list of the notes, oldest first, then each note with its neighbours."""
    path, say = edition.page("notes"), edition.say
    notes = sorted(
        edition.report.study.notes, key=lambda note: (note.dated.isoformat() if note.dated else "", note.id)
    )
    links = tuple(edition.link("note", note.id, note.title) for note in notes)
    listed = tuple(_listed(note, link) for note, link in zip(notes, links, strict=True))
    yield Part(
        key="notes",
        path=path,
        title=say("notes.title"),
        blocks=(
            Prose((say("notes.lead" if notes else "notes.none"),), "lead"),
            *((Listing(listed, "dated"),) if listed else ()),
        ),
    )
    for place, note in enumerate(notes):
        before, after = edition.neighbours(links, place)
        yield Part(
            key="notes",
            path=edition.addresses.page("note", note.id),
            title=note.title,
            blocks=tuple(_note(edition, note)),
            template="note.html",
            crumbs=(Link(say("nav.notes"), path),),
            before=before,
            after=after,
        )


def _listed(note: Note, link: Link) -> Words:
    dated = (Day(note.dated.isoformat()), " ") if note.dated else ()
    return (*dated, link, *((f", {note.author}",) if note.author else ()))


def _note(edition: Edition, note: Note) -> Iterator[Block]:
    """Yield one note as it was written, with what it points at beside it."""
    dated = (Day(note.dated.isoformat()),) if note.dated else ()
    yield Prose((*dated, f" {note.author}" if note.author else ""), "byline")
    yield _lab_note(edition, note)


def _lab_note(edition: Edition, note: Note) -> LabNote:
    dated = note.dated.isoformat() if note.dated else ""
    page = edition.addresses.page("note", note.id)
    return LabNote(note.text, note.title, dated, note.author, page, _points_at(edition, note))


def _points_at(edition: Edition, note: Note) -> Words:
    """Return what a note names, each with the way there."""
    links = [edition.link(kind, target) for kind, target in dict.fromkeys(note.references)]
    if not links:
        return ()
    return (Strong(edition.say("notes.points_at")), " ", *linked(links), ".")


def notes_on_paper(edition: Edition) -> Iterator[Part]:
    """Yield all notes as one part."""
    notes = tuple(_lab_note(edition, note) for note in edition.report.study.notes)
    if notes:
        yield Part(
            key="notes",
            path=edition.page("notes"),
            title=edition.say("notes.title"),
            blocks=(Abreast(notes, "two-columns"),),
        )


def figures_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the figures that have no other page, and where each of all figures stands."""
    path, say = edition.page("figures"), edition.say
    listed = tuple(
        (Link(title, view.home), *((" · ", Link(say("shell.csv"), view.csv)) if view.csv else ()))
        for title, view in figures_of_study(edition)
    )
    yield Part(
        key="figures",
        path=path,
        title=say("figures.title"),
        blocks=(
            *edition.figures_at(path),
            Section(say("figures.all"), (Listing(listed),), apart=False),
        ),
    )


def figures_of_study(edition: Edition) -> Iterator[tuple[str, FigureBlock]]:
    """Yield (title, figure) for all but those of single injections, which stand on the pages of these.

    A title that another one bears has behind it which question it answers, or else the name of its page.
    """
    study, told = edition.report.study, set[str]()
    injections = {edition.addresses.page("injection", one.id) for one in study.injections}
    asked = {edition.addresses.of("answer", one.id): place for place, one in enumerate(study.questions, 1)}
    for view in edition.figures.values():
        page = view.home.partition("#")[0]
        if page in injections:
            continue
        which = edition.say("figures.question", n=asked[page]) if page in asked else PurePosixPath(page).stem
        yield f"{view.title} ({which})" if view.title in told else view.title, view
        told.add(view.title)
