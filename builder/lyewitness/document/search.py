"""Search over everything, from the disk.

In: `Edition` and the other parts. Out: the search page, and what its index holds.
"""

from collections.abc import Iterator, Sequence

from lyewitness.document.blocks import Beside, Link, Opening, Part, Prose, SearchBox, Section, Struck
from lyewitness.document.edition import Edition
from lyewitness.document.method import glossary_anchor

INDEX_FILE = "search-index.js"

Entry = tuple[str, str, str, str]
"""Kind in words, title, address, text."""


def search_part(edition: Edition, parts: Sequence[Part]) -> Part:
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


def _contents(edition: Edition, parts: Sequence[Part]) -> Iterator[Section]:
    """Yield the pages of each part."""
    together: dict[str, list[Link]] = {}
    for part in parts:
        together.setdefault(edition.nav_of(part.key), []).append(Link(part.title, part.path))
    for place, (name, links) in enumerate(together.items(), start=1):
        words = tuple(one for link in links for one in ((link,) if link is links[0] else (" · ", link)))
        heading = edition.say(f"nav.{name}")
        yield Section(heading, (Prose(words),), f"part-{place}", level=3, style="contents")


def search_entries(edition: Edition, parts: Sequence[Part]) -> Iterator[Entry]:
    """Yield everything that can be found."""
    for part in parts:
        yield edition.say(f"nav.{edition.nav_of(part.key)}"), part.title, part.path, " ".join(_words(part))
    yield from _found_entries(edition)
    yield from _looked_at_entries(edition)


def _words(part: Part) -> Iterator[str]:
    """Yield the running text that stands on a part at once."""
    for block in part.blocks:
        if isinstance(block, Opening):
            yield from (block.asked, block.question, block.short, block.how_sure)
        elif isinstance(block, Prose | Beside):
            words = block.words if isinstance(block, Prose) else block.sentence
            yield "".join(
                one if isinstance(one, str) else one.text for one in words if isinstance(one, str | Struck)
            )


def _found_entries(edition: Edition) -> Iterator[Entry]:
    """Yield claims, checks, signs, facts of the chemistry, cautions."""
    found = edition.report.findings
    for answer in found.answers:
        for claim in (*answer.claims, *answer.recommendations, *answer.next_experiments):
            yield (
                edition.say("search.claim"),
                claim.text,
                edition.addresses.of("claim", claim.id),
                claim.strength,
            )
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
        yield edition.say("nav.notes"), note.title, edition.addresses.of("note", note.id), note.text
    for image in study.images:
        yield edition.say("nav.images"), image.caption, edition.addresses.of("image", image.id), image.alt
    for view in edition.figures.values():
        yield edition.say("cite.figure"), view.title, view.home, view.caption
    for heading, text in edition.report.method_notes:
        yield edition.say("nav.method"), heading, edition.addresses.of("method", heading), text
    for term, text in edition.theme.words_of("glossary").items():
        yield edition.say("search.term"), term, f"{edition.page('method')}#{glossary_anchor(term)}", text
