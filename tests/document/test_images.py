"""A picture by itself is headed in words; one that cannot be shown says why."""

from dataclasses import replace

import pytest
from PIL import Image

from lyewitness.document.blocks import Section
from lyewitness.document.images import on_screen
from lyewitness.document.parts import Document, document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.pictures import picture_figures, picture_problems
from lyewitness.figures.style import look_from
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.pdf import print_html
from lyewitness.study.records import StudyImage
from tests.figures.making import made_report


@pytest.fixture(scope="module")
def documented(tmp_path_factory: pytest.TempPathFactory, daylight: Theme) -> Document:
    """Return a report on a study with a picture of a column and another that is none."""
    folder = tmp_path_factory.mktemp("pictures")
    Image.new("L", (60, 40), 90).save(folder / "A1-fresh.png")
    (folder / "A1-used.png").write_bytes(b"%!PS no picture")
    images = (
        StudyImage(
            "A1-fresh", "A1-fresh.png", "Inlet.", column="A1", exposure_h=0.0, kind="photograph",
            nm_per_pixel=8000.0,
        ),
        StudyImage("A1-used", "A1-used.png", "Outlet", column="A1", exposure_h=96.0, kind="photograph"),
    )  # fmt: skip
    report = made_report(1, 2)
    report = replace(report, study=replace(report.study, folder=folder, images=images))
    report = replace(report, problems=picture_problems(report.study))
    look = look_from(daylight.look)
    return document_of(report, tuple(picture_figures(report.study, look)), daylight)


@pytest.fixture(scope="module")
def page(documented: Document) -> str:
    """Return the page of the images."""
    return next(one.text for one in site_pages(documented) if one.path == "images.html")


def test_a_picture_by_itself_is_headed_by_what_it_shows(documented: Document, page: str) -> None:
    """Its heading is the title that it would have in a pair, said once, and no name of a file."""
    (part,) = on_screen(documented.edition)
    sections = [one for one in part.blocks if isinstance(one, Section)]
    assert [one.heading.replace("\u2009", " ") for one in sections] == [
        "Photograph of A1 before use",
        "Photograph of A1 after 96 h",
    ]
    assert page.count(">Photograph of A1 before use") == 1
    assert ">A1-fresh<" not in page


def test_a_picture_that_cannot_be_shown_says_why(documented: Document, page: str) -> None:
    """Its caption, what is wrong with the file and what to do stand in its place, on screen and on paper."""
    for written in (page, print_html(documented)):
        told = written[written.index("after 96") :]
        assert "Outlet. The picture cannot be shown: a file of another kind. Export the picture again" in told
