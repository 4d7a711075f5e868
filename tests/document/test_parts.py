"""One table of the parts: what is said of a part elsewhere follows from it; no address is given twice."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

import lyewitness
from lyewitness.document.addresses import Addresses
from lyewitness.document.parts import PARTS, document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.records import Report
from lyewitness.outputs.pages import site_pages
from lyewitness.pipeline import Rendered
from tests.outputs.test_pages import linked

PACKAGE = Path(lyewitness.__file__).parent


def with_groups(report: Report, names: tuple[str, ...]) -> Report:
    """Return `report` with other names for its groups."""
    new = dict(zip(report.study.groups, names, strict=True))
    columns = tuple(replace(one, group=new[one.group]) for one in report.study.columns)
    judgement = report.judgement
    return replace(
        report,
        study=replace(report.study, columns=columns),
        judgement=replace(
            judgement,
            declines=tuple(
                replace(one, series=replace(one.series, group=new[one.series.group]))
                for one in judgement.declines
            ),
            comparisons=tuple(
                replace(one, group_a=new[one.group_a], group_b=new[one.group_b])
                for one in judgement.comparisons
            ),
            group_lives=tuple(replace(one, group=new[one.group]) for one in judgement.group_lives),
        ),
    )


@pytest.mark.parametrize(
    "names",
    [
        ("Type α", "Type β", "Type γ"),
        ("A+", "A−", "A"),
        ("C18 (A)", "C18-A", "C18 A"),
        ("x", "x-name", "x-table"),
        ("comparisons", "COMPARISONS", "index"),
    ],
)
def test_names_that_differ_little_have_addresses_of_their_own(
    example: Report, daylight: Theme, names: tuple[str, ...]
) -> None:
    """Whatever the groups are called, no anchor stands twice on a page, and each group leads to itself."""
    report = with_groups(example, names)
    document = document_of(report, (), daylight)
    pages = {page.path: page.text for page in site_pages(document) if page.path.endswith(".html")}
    for text in pages.values():
        linked(text)
    places = [document.edition.addresses.of("group", name).lower() for name in report.study.groups]
    assert len(set(places)) == len(names)
    assert all(place.partition("#")[2] in pages["columns/index.html"].lower() for place in places)


def test_no_two_things_have_one_address(rendered: Rendered) -> None:
    """Whatever can be linked to has a place that nothing else has, also where case is ignored."""
    addresses: Addresses = rendered.document.edition.addresses
    places = [place.lower() for place in addresses.places.values()]
    assert len(places) > 500
    assert len(set(places)) == len(places)


def test_page_paths_stand_in_the_table_alone() -> None:
    """No other module names the page of a part: it asks for it by its key."""
    paths = "|".join(re.escape(row.path) for row in PARTS)
    named = re.compile(rf"""["'/]({paths})["'#]""")
    others = [
        file
        for file in (*PACKAGE.glob("document/*.py"), *PACKAGE.glob("outputs/*.py"))
        if file.name not in ("parts.py", "marks.py")
    ]
    # A theme's template for the front page bears its name; it is no path of the report.
    found = [(file.name, hit) for file in others for hit in named.findall(file.read_text(encoding="utf-8"))]
    assert [one for one in found if one != ("answers.py", "index.html")] == []


def test_the_navigation_and_the_printed_contents_are_those_of_the_table(rendered: Rendered) -> None:
    """Every part is on screen; what the table prints is in the document, in its order."""
    document = rendered.document
    shown = {part.key for part in document.on_screen}
    assert shown == {row.key for row in PARTS} - {"changes"}, "the example keeps no earlier report"
    assert [key for key, _ in document.navigation] == [row.key for row in PARTS if not row.within]
    printed = list(dict.fromkeys(part.key for part in document.on_paper))
    in_order = sorted(
        (row for row in PARTS if row.on_paper and row.key in shown), key=lambda row: row.place_on_paper
    )
    assert printed == [row.key for row in in_order]


def test_every_figure_has_a_home_that_shows_it(rendered: Rendered, example_pages: dict[str, str]) -> None:
    """The page that is a figure's home holds it."""
    for view in rendered.document.edition.figures.values():
        path, _, anchor = view.home.partition("#")
        assert f'id="{anchor}"' in example_pages[path], view.home


def test_a_row_for_a_table_is_code_on_the_screen_and_not_on_paper(example: Report, daylight: Theme) -> None:
    """From a screen it can be taken as it stands; paper has the check that tells of the injection."""
    (doubtful,) = example.findings.doubtful
    document = document_of(example, (), daylight)
    screen, paper = (
        str(next(part for part in parts if part.key == "audit"))
        for parts in (document.on_screen, document.on_paper)
    )
    assert f"Code(text={doubtful.line!r})" in screen
    assert repr(doubtful.line)[1:-1] not in paper
    assert doubtful.injection in paper
