"""The signs of failure at a glance: what stands is told, what they speak against is folded away."""

from lyewitness.document.parts import document_of
from lyewitness.document.signs import signs_of, verdict_table
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from tests.outputs.test_pages import parsed


def test_every_verdict_stands_in_the_table_once(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """One row a way of failing, one cell a column; what is spoken for is linked to what was seen."""
    site = document_of(example, rendered.figures, daylight).edition
    view = verdict_table(site)
    columns = [column.head for column in view.columns[1:]]
    cells = {
        (row.cells[0].text, column): cell
        for row in view.rows
        for column, cell in zip(columns, row.cells[1:], strict=True)
    }
    assert len(cells) == len(example.findings.signs)
    for sign in example.findings.signs:
        cell = cells[sign.mechanism, sign.column]
        words = {"speaks for": "for", "cannot tell": "open", "speaks against": "against"}
        assert cell.text == words[sign.verdict]
        assert bool(cell.href) == (sign.verdict != "speaks against")


def test_what_is_spoken_for_on_most_columns_stands_first(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """Rows fall by the number of columns on which the signs speak for them."""
    site = document_of(example, rendered.figures, daylight).edition
    rows = verdict_table(site).rows
    counts = [sum(cell.text == "for" for cell in row.cells) for row in rows]
    assert counts == sorted(counts, reverse=True)
    assert counts[0] > 0


def test_nothing_is_lost_by_folding(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """Each sign of a column is either told or folded, and all stand on the page."""
    site = document_of(example, rendered.figures, daylight).edition
    page = parsed(rendered.files["signs.html"].decode())
    anchors = {element.get("id") for element in page.iter()}
    for column in example.study.columns:
        view = next(signs_of(site, column.id))
        signs = [sign for sign in example.findings.signs if sign.column == column.id]
        assert len(view.standing) + len(view.against) == len(signs)
        assert {one.id for one in (*view.standing, *view.against)} <= anchors
        folded = {sign.mechanism for sign in signs if sign.verdict == "speaks against"}
        assert {one.mechanism for one in view.against} == folded


def test_what_speaks_against_stands_under_a_head_of_its_own(
    example: Report, rendered: Rendered, daylight: Theme
) -> None:
    """No list mixes what speaks for and against; only that which bears the verdict has no head."""
    site = document_of(example, rendered.figures, daylight).edition
    seen = {f"{sign.column}/{sign.mechanism}": sign for sign in example.findings.signs}
    for column in example.study.columns:
        view = next(signs_of(site, column.id))
        for one in (*view.standing, *view.against):
            sign = seen[f"{column.id}/{one.mechanism}"]
            said = [words for _, some in one.reasons for words in some]
            assert len(said) == len(sign.reasons)
            assert not any("For it:" in words or "Against it:" in words for words in said)
            against = {words.partition(". ")[0] for words in sign.reasons_against}
            for head, some in one.reasons:
                ways = {words.partition(". ")[0] in against for words in some}
                assert len(ways) == 1, (column.id, one.mechanism)
                bare = {"speaks for": "For it", "speaks against": "Against it", "cannot tell": "Open"}
                assert head != bare[sign.verdict]
