"""The reply says what the report claims, and the printed report what the site says."""

from itertools import pairwise

import html5lib

from lyewitness.document.edition import Theme
from lyewitness.document.parts import document_of
from lyewitness.findings.records import Report
from lyewitness.outputs.one_file import WIDTH, render_letter
from lyewitness.outputs.pdf import print_html
from lyewitness.pipeline import Rendered


def squeezed(text: str) -> str:
    """Return `text` with every run of blanks as one."""
    return " ".join(text.split())


def test_the_letter_is_made_of_claims(example: Report, daylight: Theme) -> None:
    """Question, answer, how sure, every recommendation and the verdict on what was expected are in both."""
    for answer in example.findings.answers:
        html, text = render_letter(document_of(example, (), daylight), answer)
        read = squeezed("".join(html5lib.parse(html, namespaceHTMLElements=False).itertext()))
        for said in (
            answer.question.text,
            answer.short,
            answer.how_sure,
            *(claim.text for claim in answer.recommendations),
            answer.expectation_verdict.text if answer.expectation_verdict else "",
        ):
            assert squeezed(said) in read
            assert squeezed(said) in squeezed(text)


def test_the_plain_letter_fits_a_mail(example: Report, daylight: Theme) -> None:
    """It is read in a minute or two; no line is longer than mail programs show; no markup is left in it."""
    _, text = render_letter(document_of(example, (), daylight), example.findings.answers[0])
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert len(text.split()) < 500
    assert "<" not in text.replace("p\u2009<", "p").replace("<\u2009", "")
    assert "\n\n\n\n" not in text


def test_the_print_holds_every_claim_and_check(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """Every claim, check, caution and note stands in the printed report, in the order of reading."""
    html = print_html(document_of(example, rendered.figures, daylight))
    read = squeezed("".join(html5lib.parse(html, namespaceHTMLElements=False).itertext()))
    found = example.findings
    for text in (
        *(claim.text for answer in found.answers for claim in answer.claims),
        *(check.detail for check in found.checks),
        *(caution.text for caution in found.cautions),
        *(note.title for note in example.study.notes),
    ):
        assert squeezed(text) in read
    order = [
        read.index(title) for title in ("Was the comparison fair?", "The columns", "How each number was")
    ]
    assert order == sorted(order)


def test_the_print_can_be_read_aloud(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """Language, title and words for every picture are there, links stay inside, no level is skipped."""
    html = print_html(document_of(example, rendered.figures, daylight))
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    assert tree.get("lang")
    assert "".join(next(tree.iter("title")).itertext())
    anchors = {element.get("id") for element in tree.iter() if element.get("id")}
    for image in tree.iter("img"):
        assert image.get("alt")
        assert image.get("src") in rendered.files
    for link in tree.iter("a"):
        href = link.get("href", "")
        assert not href.startswith("#") or href[1:] in anchors, href
    levels = [int(element.tag[1]) for element in tree.iter() if element.tag in ("h1", "h2", "h3", "h4")]
    assert all(below - above <= 1 for above, below in pairwise(levels))
