"""The evidence that is looked at: the trace viewer, the images, the notes, and figures without a page.

In: `Site`. Out: `Sheet`s.
"""

from collections.abc import Iterator

from markupsafe import Markup

from lyewitness.pages.figure_places import REST
from lyewitness.pages.notes import note_html
from lyewitness.pages.site import Site
from lyewitness.pages.trace_data import script_path
from lyewitness.pages.views import Fact, ImageView, Link, Sheet
from lyewitness.pages.views_injections import along_column, exposure_of
from lyewitness.study.records import Note, StudyImage
from lyewitness.words.names import slug
from lyewitness.words.numbers import with_unit
from lyewitness.words.phrases import exposure

NOTES = "notes/index.html"


def evidence_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the viewer, the images, the notes with their index, and the list of figures."""
    yield Sheet(
        "traces.html",
        "traces.html",
        site.say("traces.title"),
        traces_content(site),
        part="traces",
        scripts=("viewer.js",),
    )
    yield Sheet("images.html", "images.html", site.say("images.title"), images_content(site), part="images")
    yield from _note_sheets(site)
    yield Sheet(REST, "figures.html", site.say("figures.title"), figures_content(site), part="data")


def traces_content(site: Site) -> dict[str, object]:
    """Return every injection by column, with where its data lie, for the viewer's list."""
    return {
        "columns": [
            {
                "id": column.id,
                "label": column.label,
                "group": column.group,
                "mark": site.marks.get(column.group),
                "script": script_path(site.addresses, column.id),
                "injections": [
                    {
                        "id": one.id,
                        "href": site.addresses.of("injection", one.id),
                        "exposure": exposure(exposure_of(site, one.id)[0]),
                        "used": one.used,
                        "traced": one.id in site.report.traces,
                    }
                    for one in along_column(site, column.id)
                ],
            }
            for column in site.report.study.columns
        ],
        "words": dict(site.theme.words_of("viewer")),
        "markers": [marker.id for marker in site.report.study.markers],
    }


def images_content(site: Site) -> dict[str, object]:
    """Return the study's images with their captions, and the figures made of them."""
    images = [_image(site, image) for image in site.report.study.images]
    alone = {id(view) for image in images for view in image.figures}
    return {
        "figures": [view for view in site.figures_at("images.html") if id(view) not in alone],
        "images": images,
    }


def _image(site: Site, image: StudyImage) -> ImageView:
    facts = {
        "kind": image.kind,
        "exposure": exposure(image.exposure_h) if image.exposure_h is not None else "",
        "scale": with_unit(f"{image.nm_per_pixel:g}", "nm") if image.nm_per_pixel else "",
        "pair": image.pair,
        "file": image.file,
    }
    name = slug(image.id)
    column = image.column and site.link("column", image.column, site.report.study.column(image.column).label)
    return ImageView(
        id=site.addresses.of("image", image.id).partition("#")[2],
        name=image.id,
        caption=image.caption,
        column=column or None,
        facts=tuple(Fact(key, site.say(f"facts.{key}"), text) for key, text in facts.items() if text),
        figures=tuple(
            view
            for one, view in site.figures.items()
            if one in (f"image-{name}", f"particles-{name}") or one.startswith(f"image-{name}-page-")
        ),
    )


def _note_sheets(site: Site) -> Iterator[Sheet]:
    notes = sorted(
        site.report.study.notes, key=lambda note: (note.dated.isoformat() if note.dated else "", note.id)
    )
    links = [site.link("note", note.id, note.title) for note in notes]
    listed = [
        {"link": link, "dated": note.dated.isoformat() if note.dated else "", "author": note.author}
        for link, note in zip(links, notes, strict=True)
    ]
    yield Sheet(NOTES, "notes.html", site.say("notes.title"), {"notes": listed}, part="notes")
    for place, note in enumerate(notes):
        yield Sheet(
            path=site.addresses.page("note", note.id),
            template="note.html",
            title=note.title,
            content=note_content(site, note),
            crumbs=(Link(site.say("nav.notes"), NOTES),),
            part="notes",
            before=links[place - 1] if place else None,
            after=links[place + 1] if place + 1 < len(links) else None,
        )


def note_content(site: Site, note: Note) -> dict[str, object]:
    """Return what the page of one note shows; its links lead up one folder to the report's root."""
    return {
        "dated": note.dated.isoformat() if note.dated else "",
        "author": note.author,
        "body": Markup(note_html(note.text, site.addresses, root="../")),
        "points_at": [site.link(kind, target) for kind, target in dict.fromkeys(note.references)],
    }


def figures_content(site: Site) -> dict[str, object]:
    """Return the figures that have no other page, and where each of all figures stands."""
    return {
        "figures": site.figures_at(REST),
        "all": [
            {"link": Link(view.title, view.home), "csv": view.csv, "caption": view.caption}
            for view in site.figures.values()
            if not view.home.startswith("injections/")
        ],
    }
