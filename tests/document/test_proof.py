"""From words to raw traces: every life leads to the injections on either side of it."""

import re
from dataclasses import replace
from html import unescape
from urllib.parse import unquote

import pytest

from lyewitness.decline.records import Decline, Life
from lyewitness.document.answers import first_words
from lyewitness.document.blocks import Link, Prose, Strong
from lyewitness.document.parts import Document, document_of
from lyewitness.document.proof import (
    as_early,
    first_to_fail,
    injection_past,
    injection_within,
    may_be_earlier,
    proof_of_decline,
    proof_of_group,
    sides_of,
    story_of,
    viewer_address,
)
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report
from lyewitness.pipeline import Rendered
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import exposure


@pytest.fixture(scope="module")
def document(example: Report, daylight: Theme) -> Document:
    """Return the example's parts, without figures."""
    return document_of(example, (), daylight)


def shown_at(href: str) -> list[str]:
    """Return the injections that an address of the viewer names."""
    return [unquote(unquote(one)) for one in href.partition("#show=")[2].split(",")]


def test_a_life_leads_to_the_two_injections_that_it_tells(example: Report, document: Document) -> None:
    """Told as within the limit at one hour and past it at another, a life leads to those two."""
    rows = {row.injection: row for row in example.measurements.rows}
    told = 0
    for one in example.judgement.declines:
        link = proof_of_decline(document.edition, one)
        if one.life.state != "reached" or one.life.hours.value is None or None in one.life.bracket_h:
            continue
        assert link is not None
        hours = [exposure(rows[name].exposure_h) for name in shown_at(link.href)]
        assert link.label == f"within the limit at {hours[0]}, past it at {hours[1]}"
        assert {rows[name].column for name in shown_at(link.href)} == {one.series.column}
        told += 1
    assert told > 10


def test_a_life_that_was_not_reached_leads_to_first_and_last(example: Report, document: Document) -> None:
    """Nothing was passed: the traces at both ends show how little changed."""
    one = next(one for one in example.judgement.declines if one.life.state == "not reached")
    link = proof_of_decline(document.edition, one)
    assert link is not None
    assert shown_at(link.href) == [one.series.injections[0], one.series.injections[-1]]
    assert link.label == "first and last trace"


def with_life(example: Report, life: Life) -> Decline:
    """Return a decline of the example with another life."""
    long = next(one for one in example.judgement.declines if len(one.series.injections) > 8)
    return replace(long, life=life)


def test_a_life_that_came_back_leads_to_the_return_too(example: Report) -> None:
    """Within, past, past for the last time, within again: four injections, in the order of their hours."""
    at = with_life(example, Life("unclear")).series.exposure_h
    hours = [float(at[place]) for place in (1, 2, 4, 5)]
    life = Life(
        "unclear", Estimate(None, hours[0]), bracket_h=(hours[0], hours[1]), recovered_h=(hours[2], hours[3])
    )
    one = with_life(example, life)
    assert sides_of(one) == tuple(one.series.injections[place] for place in (1, 2, 4, 5))
    assert story_of(one)[0] == one.series.injections[0]
    assert story_of(one)[-1] == one.series.injections[-1]


def test_what_has_no_trace_leads_nowhere(document: Document) -> None:
    """Rows of a pressure log are no injections: nothing is linked, and no address is made."""
    assert viewer_address(document.edition, ("conditions.csv, entry 1",)) == ""


def test_the_life_of_a_group_leads_to_each_of_its_columns(example: Report, document: Document) -> None:
    """Two injections of every column that passed the limit, laid over each other."""
    group = next(one for one in example.judgement.group_lives if set(one.states) == {"reached"})
    link = proof_of_group(document.edition, group)
    assert link is not None
    columns = [
        next(one.column for one in example.study.injections if one.id == name) for name in shown_at(link.href)
    ]
    assert {name: columns.count(name) for name in group.columns} == dict.fromkeys(group.columns, 2)


CLAIM = re.compile(
    r'<(?:div class="line strength|li id="claim).*?(?=<div class="line|<li id=|</section>|</ol>)', re.DOTALL
)
LINK = re.compile(r'<a href="([^"]+)"')


def test_two_clicks_lead_from_every_sentence_to_raw_traces(
    rendered: Rendered, example_pages: dict[str, str]
) -> None:
    """Each sentence of each answer has a link to traces, or one to a place that has such a link."""
    answers = [path for path in example_pages if path == "index.html" or path.startswith("answers/")]
    seen = 0
    for path in answers:
        page = example_pages[path]
        for claim in CLAIM.findall(page):
            hrefs = [unescape(href) for href in LINK.findall(claim)]
            if not hrefs:
                continue
            direct = any("traces.html#show=" in href for href in hrefs)
            assert direct or any(_leads_on(path, href, example_pages) for href in hrefs), claim[:600]
            seen += 1
    assert seen > 8
    assert rendered.report.findings.answers


def _leads_on(path: str, href: str, pages: dict[str, str]) -> bool:
    """Say whether what stands at an address of a page has a link to traces."""
    target, _, anchor = href.partition("#")
    while target.startswith("../"):
        target = target.removeprefix("../")
    page = pages.get(target or path, "")
    if not anchor:
        return "traces.html#show=" in page
    start = page.find(f'id="{anchor}"')
    piece = re.split(r'</tr>|<div class="line|</section>', page[start:], maxsplit=1)[0] if start >= 0 else ""
    return "traces.html#show=" in piece


def test_links_beside_a_sentence_say_where_they_lead(example_pages: dict[str, str]) -> None:
    """Behind links to other parts stands the name of the part, as the navigation has it."""
    page = example_pages["index.html"]
    navigation = set(re.findall(r"<a[^>]*>([^<]+)</a>", page.partition("<nav")[2].partition("</nav>")[0]))
    leads = re.findall(r'<span class="leads">→ ([^<]+)</span>', page)
    assert len(leads) > 3
    assert set(leads) <= navigation


def test_an_injection_page_says_where_the_exported_file_lies(example: Report, daylight: Theme) -> None:
    """Without the study beside it the page names path and hash; kept with it, it leads to the file."""
    injection = example.study.injections[0]
    for exports, expected in (("", None), ("../study/", f"../study/{injection.file}")):
        document = document_of(example, (), daylight, exports=exports)
        path = document.edition.addresses.page("injection", injection.id)
        part = next(part for part in document.on_screen if part.path == path)
        links = re.findall(r"Link\(label='([^']*)', href='([^']*)'", repr(part.blocks))
        assert ((injection.file, expected) in links) is (expected is not None)
        assert injection.file in repr(part.blocks)
        assert example.traces[injection.id].sha256 in repr(part.blocks)


def test_an_injection_says_where_it_stands_to_a_limit(example: Report, document: Document) -> None:
    """The page of the first injection past a limit, or the last within it, says so, with what."""
    first = min(
        (one for one in example.judgement.first_failures if one.life.hours.value is not None),
        key=lambda one: one.life.hours.value or 0.0,
    )
    decline = document.edition.declines[first.column, first.marker, first.metric]
    within, past = injection_within(decline), injection_past(decline)
    pages = {part.path: part for part in document.on_screen}
    for name, way, other in ((past, "First past", within), (within, "Last within", past)):
        part = pages[document.edition.addresses.page("injection", name)]
        (told, *_) = [one for one in part.blocks if isinstance(one, Prose) and one.style == "turned"]
        (lead, *_, by, _, link, after, _, both, _) = told.words
        assert isinstance(both, Link)
        assert both.label == "both, one over the other"
        assert within in both.href
        assert past in both.href
        assert isinstance(lead, Strong)
        assert lead.text.startswith(f"{way} the limit of 80\u2009%: plate number (half height) of ")
        # Tied with another, it is not said to be the first.
        assert ("or another was the first" if first.tied_with else "No other limit") in str(by)
        assert isinstance(link, Link)
        assert link.label == other
        assert str(after).endswith("\u2009h")
    third = pages[document.edition.addresses.page("injection", decline.series.injections[2])]
    assert not [one for one in third.blocks if isinstance(one, Prose) and one.style == "turned"]


def test_a_column_that_may_have_failed_earlier_is_named(example: Report, daylight: Theme) -> None:
    """Past its limit, but not surely, and known to have held for less: it may have failed before that one."""
    edition = document_of(example, (), daylight).edition
    first = first_to_fail(edition)
    assert first is not None
    assert may_be_earlier(edition, first) == ()
    low = first.life.hours.low or 0.0
    other = next(
        one
        for one in example.judgement.declines
        if one.series.column != first.series.column
        and (one.series.marker, one.series.metric) == (first.series.marker, first.series.metric)
        and injection_past(one)
    )
    unsure = replace(other, life=replace(other.life, state="unclear", hours=Estimate(None, low, None)))
    declines = tuple(unsure if one is other else one for one in example.judgement.declines)
    doubtful = replace(example, judgement=replace(example.judgement, declines=declines))
    document = document_of(doubtful, (), daylight)
    assert may_be_earlier(document.edition, first) == (other.series.column,)
    words = str(first_words(document.edition, doubtful.findings.answers[0]))
    assert "First surely to fail:" in words
    assert f"{other.series.column} may have failed earlier" in words


def test_columns_that_failed_at_about_the_same_time_are_told_so(example: Report, daylight: Theme) -> None:
    """Of columns whose lives overlap none is called the first; of one that failed long before, it is."""
    edition = document_of(example, (), daylight).edition
    first = first_to_fail(edition)
    assert first is not None
    others = [one.column for one in as_early(edition, first)]
    assert others
    words = str(first_words(edition, example.findings.answers[0]))
    assert f"if not {' or '.join(others)}" in words
    otherwise = replace(
        example,
        judgement=replace(
            example.judgement,
            first_failures=tuple(
                replace(one, marker="", metric="pressure_bar", tied_with=())
                if one.column == others[0]
                else one
                for one in example.judgement.first_failures
            ),
        ),
    )
    document = document_of(otherwise, (), daylight)
    # By a limit that it never passed nothing is said of a column: it is told with its own.
    told = str(first_words(document.edition, otherwise.findings.answers[0]))
    assert f"{others[0]} by pressure" in told
    failures = tuple(
        one for one in example.judgement.first_failures if one.column not in others or not one.metric
    )
    alone = replace(example, judgement=replace(example.judgement, first_failures=failures))
    document = document_of(alone, (), daylight)
    assert as_early(document.edition, first) == ()
    assert "if not" not in str(first_words(document.edition, alone.findings.answers[0]))
