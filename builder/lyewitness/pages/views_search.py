"""Search over everything, from the disk.

In: `Site` and the other sheets. Out: the search page and its index as a script.
"""

import json
from collections.abc import Iterator, Sequence

from lyewitness.pages.records import Page
from lyewitness.pages.site import Site
from lyewitness.pages.views import Link, Sheet
from lyewitness.words.names import slug

INDEX_FILE = "search-index.js"

Entry = tuple[str, str, str, str]
"""Kind in words, title, address, text."""


def search_sheet(site: Site, sheets: Sequence[Sheet]) -> Sheet:
    """Return the search page; without a script it is the table of contents."""
    parts: dict[str, list[Link]] = {}
    for sheet in sheets:
        parts.setdefault(sheet.part, []).append(Link(sheet.title, sheet.path))
    contents = [(site.say(f"nav.{part}"), links) for part, links in parts.items()]
    return Sheet(
        "search.html",
        "search.html",
        site.say("search.title"),
        {"contents": contents, "words": dict(site.theme.words_of("search_words"))},
        part="search",
        scripts=("search.js",),
    )


def search_index(site: Site, sheets: Sequence[Sheet]) -> Page:
    """Return the index of everything that can be found, as a script that assigns a constant."""
    entries = [*_sheet_entries(site, sheets), *_found_entries(site), *_looked_at_entries(site)]
    text = json.dumps(entries, ensure_ascii=True, separators=(",", ":")).replace("<", "\\u003c")
    return Page(INDEX_FILE, f"window.lyewitnessIndex={text};\n")


def _sheet_entries(site: Site, sheets: Sequence[Sheet]) -> Iterator[Entry]:
    for sheet in sheets:
        yield site.say(f"nav.{sheet.part}"), sheet.title, sheet.path, " ".join(_words(sheet))


def _words(sheet: Sheet) -> Iterator[str]:
    """Yield the plain words that a sheet holds at its first level."""
    for value in sheet.content.values():
        if isinstance(value, str) and not hasattr(value, "__html__"):
            yield value


def _found_entries(site: Site) -> Iterator[Entry]:
    """Yield claims, checks, signs, facts of the chemistry, cautions."""
    found = site.report.findings
    for answer in found.answers:
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments):
            yield site.say("search.claim"), claim.text, site.addresses.of("claim", claim.id), claim.strength
    for check in found.checks:
        text = " ".join((check.subject, check.detail, check.bearing, check.cure))
        yield site.say("nav.audit"), check.check, site.addresses.of("check", check.id), text
    for sign in found.signs:
        address = site.addresses.of("sign", f"{sign.column}/{sign.mechanism}")
        text = " ".join((sign.verdict, *sign.reasons))
        yield site.say("nav.signs"), f"{sign.mechanism}, {sign.column}", address, text
    for fact in found.chemistry:
        yield site.say("nav.chemistry"), fact.name, site.addresses.of("chemistry", fact.id), fact.text
    for caution in found.cautions:
        yield site.say("nav.cautions"), caution.title, site.addresses.of("caution", caution.id), caution.text


def _looked_at_entries(site: Site) -> Iterator[Entry]:
    """Yield notes with their words, images, figures, method notes and terms."""
    study = site.report.study
    for note in study.notes:
        yield site.say("nav.notes"), note.title, site.addresses.of("note", note.id), note.text
    for image in study.images:
        yield site.say("nav.images"), image.caption, site.addresses.of("image", image.id), image.alt
    for view in site.figures.values():
        yield site.say("cite.figure"), view.title, view.home, view.caption
    for heading, text in site.report.method_notes:
        yield site.say("nav.method"), heading, site.addresses.of("method", heading), text
    for term, text in site.theme.words_of("glossary").items():
        yield site.say("search.term"), term, f"method.html#term-{slug(term)}", text
