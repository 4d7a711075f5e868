"""The example's records, computed once for the tests of the pages."""

import pytest

from lyewitness import pipeline
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Report
from lyewitness.pages.records import Page
from lyewitness.pages.rendering import render_pages
from lyewitness.pages.themes import Theme, load_theme
from lyewitness.shipped import shipped_folder


@pytest.fixture(scope="session")
def example() -> Report:
    """Return the example study's report as records."""
    return pipeline.compute(shipped_folder("example_study"))


@pytest.fixture(scope="session")
def daylight() -> Theme:
    """Return the theme that others inherit."""
    return load_theme("daylight")


@pytest.fixture(scope="session")
def example_figures(example: Report, daylight: Theme) -> tuple[Figure, ...]:
    """Return the example's figures."""
    return draw_figures(example, look_from(daylight.look))


@pytest.fixture(scope="session")
def example_pages(example: Report, example_figures: tuple[Figure, ...], daylight: Theme) -> dict[str, Page]:
    """Return the example's pages by path."""
    return {page.path: page for page in render_pages(example, example_figures, daylight)}
