"""From words to raw traces: every life leads to the injections on either side of it."""

import json
import re
from dataclasses import replace
from html import unescape
from urllib.parse import unquote

import pytest

from lyewitness.decline.records import Decline, Life
from lyewitness.document.answers import first_words
from lyewitness.document.blocks import Link, Part, Prose, Section, Strong, Table
from lyewitness.document.parts import Document, document_of
from lyewitness.document.proof import (
    as_early,
    first_to_fail,
    injection_past,
    injection_within,
    limits_seen,
    may_be_earlier,
    named_sides,
    proof_of_claim,
    proof_of_decline,
    proof_of_group,
    sides_of,
    story_of,
    viewer_address,
)
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Because, Report
from lyewitness.pipeline import Rendered
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import exposure


@pytest.fixture(scope="module")
def document(example: Report, daylight: Theme) -> Document:
    """Return the example's parts, without figures."""
    return document_of(example, (), daylight)


def shown_at(href: str) -> list[str]:
    """Return the injections that an address of the viewer names."""
    return [unquote(unquote(one)) for one in href.partition("#show=")[2].partition("&")[0].split(",")]


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
        assert link.label == f"within the limit at {hours[0]}, beyond it at {hours[1]}"
        assert {rows[name].column for name in shown_at(link.href)} == {one.series.column}
        told += 1
    assert told > 10


def test_a_life_by_a_limit_leads_to_what_was_read_there(example: Report, document: Document) -> None:
    """The address names the limit; of it the viewer knows the peak and the values on both sides."""
    seen = json.loads(limits_seen(document.edition))
    told = 0
    for one in example.judgement.declines:
        if one.limit is None or one.limit_percent is None or one.life.bracket_h[1] is None:
            continue
        link = proof_of_decline(document.edition, one)
        assert link is not None
        key = unquote(unquote(link.href.partition("&limit=")[2]))
        assert key == f"{one.series.marker}/{one.series.metric}"
        assert seen[key]["marker"] == one.series.marker
        rows = [row for row in example.measurements.rows if row.injection == injection_past(one)]
        (width,) = [row.width_half_min for row in rows if row.marker == one.series.marker]
        assert width is not None
        assert seen[key]["reach"] >= 2 * width
        for name, side in ((injection_within(one), "within"), (injection_past(one), "beyond")):
            if not name:
                continue
            assert seen[key]["sides"][name][0] == side
            value = float(seen[key]["sides"][name][1].split("\u2009")[0])
            place = one.series.injections.index(name)
            relative = one.limit.at_least is None and one.limit.at_most is None
            assert value == pytest.approx((one.percent if relative else one.series.value)[place], rel=0.01)
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


def test_a_comparison_shows_both_of_its_groups(example: Report, document: Document) -> None:
    """Just before and after of the group that failed, first and last of the one that held."""
    of_columns = {one.id: one.column for one in example.study.injections}
    groups = {one.id: one.group for one in example.study.columns}
    order = list(dict.fromkeys(groups.values()))
    told = 0
    for claim in example.findings.answers[0].claims:
        compared = [one.target.split("/")[:2] for one in claim.because if one.kind == "comparison"]
        link = proof_of_claim(document.edition, claim)
        if len(compared) != 1 or link is None or not link.href:
            continue
        seen = list(dict.fromkeys(groups[of_columns[one]] for one in shown_at(link.href)))
        assert seen == sorted(compared[0], key=order.index)
        told += 1
    assert told > 1


def test_an_injection_that_looks_wrong_is_shown_beside_its_neighbours(
    example: Report, document: Document
) -> None:
    """What is odd about a trace shows only beside the one before and the one after it on its column."""
    (doubtful,) = example.findings.doubtful
    of_columns = {one.id: one.column for one in example.study.injections}
    reason = Because("injection", doubtful.injection, doubtful.injection)
    claim = replace(example.findings.answers[0].claims[0], because=(reason,))
    link = proof_of_claim(document.edition, claim)
    assert link is not None
    before, itself, after = shown_at(link.href)
    assert itself == doubtful.injection
    assert of_columns[before] == of_columns[itself] == of_columns[after]


def test_who_asks_of_one_group_hears_which_of_its_columns_failed_first(
    example: Report, document: Document
) -> None:
    """Whether two days fit into the life of one group is not answered by the first column of another."""
    answer = next(one for one in example.findings.answers if one.spans)
    (span,) = answer.spans
    (group,) = span.groups
    assert {group} < set(answer.question.groups)
    (column,) = [one for one in first_words(document.edition, answer) if isinstance(one, Link)][:1]
    assert column.label in {one.id for one in example.study.columns if one.group == group}


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
    for name, way, other in ((past, "First beyond", within), (within, "Last within", past)):
        part = pages[document.edition.addresses.page("injection", name)]
        (told, *_) = [one for one in part.blocks if isinstance(one, Prose) and one.style == "turned"]
        (lead, *_, by, _, link, after, _, both, _) = told.words
        assert isinstance(both, Link)
        assert both.label == "both traces overlaid"
        assert within in both.href
        assert past in both.href
        assert isinstance(lead, Strong)
        assert lead.text.startswith(f"{way} the limit of 80\u2009%: plate number (half height) of ")
        # Tied with another, it is not said to be the first.
        assert ("failed this limit or another first" if first.tied_with else "No other limit") in str(by)
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


def test_a_column_of_which_only_a_bracket_is_known_may_be_the_first_to_fail(
    example: Report, daylight: Theme
) -> None:
    """Seen past its limit before the life of any other it comes first; not where its bracket ends later."""
    first = first_to_fail(document_of(example, (), daylight).edition)
    assert first is not None
    value = first.life.hours.value or 0.0
    other = next(
        one
        for one in example.judgement.declines
        if (one.series.marker, one.series.metric) == (first.series.marker, first.series.metric)
        and one.series.column != first.series.column
        and any(one.series.column == failed.column for failed in example.judgement.first_failures)
    )
    hours = [float(at) for at in other.series.exposure_h]
    for surely in (True, False):
        high = max(at for at in hours if at < value) if surely else min(at for at in hours if at > value)
        low = hours[hours.index(high) - 1]
        life = replace(other.life, state="reached", hours=Estimate(None, low, high), bracket_h=(low, high))
        sudden = replace(other, life=life)
        judgement = replace(
            example.judgement,
            declines=tuple(sudden if one is other else one for one in example.judgement.declines),
            first_failures=tuple(
                replace(one, marker=other.series.marker, metric=other.series.metric, life=life)
                if one.column == other.series.column
                else one
                for one in example.judgement.first_failures
            ),
        )
        edition = document_of(replace(example, judgement=judgement), (), daylight).edition
        found = first_to_fail(edition)
        assert found is not None
        words = str(first_words(edition, example.findings.answers[0]))
        if surely:
            assert found.series.column == other.series.column
            assert f", between {low:.3g} and {high:.3g}" in words
        else:
            assert found.series.column == first.series.column
            assert other.series.column in words[words.index("if not") :]


def test_where_a_metric_came_back_its_whole_story_is_named(example: Report, document: Document) -> None:
    """Last within, first past, within again, past for good: what is counted and past is not passed over."""
    at = with_life(example, Life("unclear")).series.exposure_h
    before, past, again, for_good = (float(at[place]) for place in (1, 2, 4, 5))
    life = Life(
        "reached",
        Estimate(None, before, for_good),
        bracket_h=(before, for_good),
        recovered_h=(past, again),
    )
    words = str(named_sides(document.edition, with_life(example, life)))
    told = ("last within the limit:", "first beyond it:", "within it again:", "beyond it for good:")
    assert sorted(words.index(one) for one in told) == [words.index(one) for one in told]


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


def test_an_injection_that_looks_wrong_says_so_where_it_is_shown(example: Report, document: Document) -> None:
    """Its page says why, and what would change without it; its rows say `doubtful`."""
    (doubtful,) = example.findings.doubtful
    pages = {part.path: part for part in document.on_screen}
    own = pages[document.edition.addresses.page("injection", doubtful.injection)]
    (told, *_) = [one for one in own.blocks if isinstance(one, Prose) and one.style == "turned"]
    (lead, why, without, _, look, _) = told.words
    assert isinstance(lead, Strong)
    assert lead.text == "Looks wrong, but is counted."
    assert why == f" Suspected leak: {doubtful.why}."
    assert "without one doubtful injection" in str(without)
    assert isinstance(look, Link)
    before, at, after = shown_at(look.href)
    hours = [document.edition.rows[name][0].exposure_h for name in (before, at, after)]
    assert at == doubtful.injection
    assert hours == sorted(hours)
    (injection,) = [one for one in example.study.injections if one.id == doubtful.injection]
    for path in ("injections/index.html", document.edition.addresses.page("column", injection.column)):
        rows = [
            row
            for table in tables_in(pages[path])
            for row in table.rows
            if row.cells[0].text == doubtful.injection
        ]
        (row,) = rows
        (flags,) = [cell for cell in row.cells if cell.text.startswith("doubtful")]
        assert flags.title == f"suspected leak: {doubtful.why}"
        others = [cell for table in tables_in(pages[path]) for row in table.rows for cell in row.cells]
        assert sum(cell.text.startswith("doubtful") for cell in others) == 1


def tables_in(part: Part) -> list[Table]:
    """Return the tables of a page, those of its sections too."""
    inside = [
        one for block in part.blocks for one in (block.blocks if isinstance(block, Section) else (block,))
    ]
    return [one for one in inside if isinstance(one, Table)]


def test_the_list_of_injections_marks_where_each_column_went_beyond(document: Document) -> None:
    """One row a column that went beyond the deciding limit is the turning, and says so."""
    edition = document.edition
    (page,) = [part for part in document.on_screen if part.path == "injections/index.html"]
    (table,) = tables_in(page)
    turned = [row.cells[0].text for row in table.rows if row.turning]
    deciding = edition.report.judgement.deciding
    past = [injection_past(one) for key, one in edition.declines.items() if key[1:] == deciding]
    assert sorted(turned) == sorted(name for name in past if name)
    assert len(turned) > 3


def test_a_value_is_not_parted_from_its_interval(example_pages: dict[str, str]) -> None:
    """A column with its life, and an interval, stand on one line where they are a link."""
    lives = re.findall(
        r'<a href="[^"]+"([^>]*)>[A-Z]\d [^<]{,12}[\u2009\u202f]h[^<]*</a>', example_pages["index.html"]
    )
    assert len(lives) > 6
    assert set(lives) == {' class="whole"'}
