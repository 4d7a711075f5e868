"""What a sentence mentions leads to its page."""

from lyewitness.document.blocks import Link, Opening, Section, Table
from lyewitness.document.mentions import with_ways
from lyewitness.pipeline import Rendered


def test_names_and_the_audit_lead_to_their_pages(rendered: Rendered) -> None:
    """A whole name is a way to its page, no part of a longer one is; the words stay as they were."""
    edition = rendered.document.edition
    text = "Checks of the audit concern G3-11 on G3; neither G3-111 nor XG3 is one of the study’s."
    told = with_ways(edition, text)
    ways = {one.label: one.href for one in told if isinstance(one, Link)}
    assert ways == {
        "the audit": edition.page("audit"),
        "G3-11": edition.addresses.of("injection", "G3-11"),
        "G3": edition.addresses.of("column", "G3"),
    }
    assert "".join(one.label if isinstance(one, Link) else str(one) for one in told) == text


def test_how_sure_an_answer_is_leads_to_reasons_and_what_it_names(rendered: Rendered) -> None:
    """The counted injection that looks wrong, the audit and the reasons of the advice are links there."""
    (front, *_) = (part for part in rendered.document.on_screen if part.key == "answer")
    opening = front.blocks[0]
    assert isinstance(opening, Opening)
    ways = {one.label for one in opening.sure if isinstance(one, Link)}
    assert {"G3-11", "the audit", "1", "2", "3"} <= ways


def test_paper_tells_what_to_do_with_each_group(rendered: Rendered) -> None:
    """The table of the first screen, with the time of replacement, stands among the first blocks on paper."""
    (front, *_) = (part for part in rendered.document.on_paper if part.key == "answer")
    section = front.blocks[1]
    assert isinstance(section, Section)
    told = section.blocks[0]
    assert isinstance(told, Table)
    (silica,) = (row for row in told.rows if row.cells[0].text == "silica C18")
    assert silica.cells[2].text.startswith("30")
