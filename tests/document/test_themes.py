"""A theme overrides what it holds and inherits the rest."""

import io
import re
from base64 import b64decode
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme, load_theme
from lyewitness.findings.records import Report
from lyewitness.outputs.assets import assets
from lyewitness.outputs.pages import site_pages
from lyewitness.outputs.templates import templates_of
from lyewitness.outputs.typefaces import CUT_FACES, cut_font, typeface_styles
from lyewitness.words.problems import StudyFolderError
from tests.cut_faces import all_rules


@pytest.fixture
def own_theme(tmp_path: Path) -> Path:
    """Return a user's theme: one colour, one string, one part of one template, one rule."""
    folder = tmp_path / "house"
    (folder / "templates").mkdir(parents=True)
    (folder / "assets").mkdir()
    (folder / "theme.toml").write_text('inherits = "journal"\n', encoding="utf-8")
    (folder / "look.toml").write_text('[light]\naccent = "#123456"\n', encoding="utf-8")
    (folder / "strings.toml").write_text('[nav]\ncautions = "hazards"\n', encoding="utf-8")
    (folder / "assets" / "house.css").write_text("h1 { color: red; }\n", encoding="utf-8")
    (folder / "templates" / "cautions.html").write_text(
        '{% extends "daylight/cautions.html" %}\n'
        "{% block main %}<p>Call the house first.</p>{{ super() }}{% endblock %}\n",
        encoding="utf-8",
    )
    return folder


def test_a_theme_changes_what_it_holds_and_inherits_the_rest(example: Report, own_theme: Path) -> None:
    """A colour, a string and a block of a template change; the journal's styles and all else stay."""
    theme = load_theme(own_theme)
    pages = {page.path: page.text for page in site_pages(document_of(example, (), theme))}
    assert "Call the house first." in pages["cautions.html"]
    assert ">hazards</a>" in pages["index.html"]
    files = dict(assets(theme))
    assert b"--accent:#123456" in files["theme/colours.css"]
    assert files["theme/own.css"] == dict(assets(load_theme("journal")))["theme/own.css"]
    assert "theme/house.css" in files
    assert theme.say("front.claims") == "Argument"


def test_the_two_themes_differ_in_more_than_colour(example: Report, daylight: Theme) -> None:
    """The themes that ship differ in templates, styles and words."""
    journal = load_theme("journal")
    assert dict(assets(journal))["theme/own.css"] != dict(assets(daylight))["theme/own.css"]
    fronts = [site_pages(document_of(example, (), theme))[0].text for theme in (daylight, journal)]
    assert 'class="abstract"' not in fronts[0]
    assert 'class="abstract"' in fronts[1]


def test_a_theme_without_theme_toml_inherits_daylight(tmp_path: Path, daylight: Theme) -> None:
    """An empty folder is a theme: that of daylight."""
    theme = load_theme(tmp_path)
    assert theme.strings == daylight.strings
    assert theme.look == daylight.look
    assert assets(theme) == assets(daylight)


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("theme.toml", 'inherits = "no-such-theme"'),
        ("theme.toml", "inherits = "),
        ("strings.toml", "[nav"),
    ],
)
def test_a_broken_theme_is_a_message(tmp_path: Path, file: str, text: str) -> None:
    """What is wrong with a theme is told with its file, as for a study folder."""
    (tmp_path / file).write_text(text, encoding="utf-8")
    with pytest.raises(StudyFolderError) as caught:
        load_theme(tmp_path)
    assert caught.value.problems[0].severity == "error"


def test_themes_that_inherit_each_other_are_a_message(tmp_path: Path) -> None:
    """Two themes in a circle are told, not followed for ever."""
    for one, other in (("a", "b"), ("b", "a")):
        (tmp_path / one).mkdir()
        (tmp_path / one / "theme.toml").write_text(f'inherits = "../{other}"\n', encoding="utf-8")
    with pytest.raises(StudyFolderError, match="inherit each other"):
        load_theme(tmp_path / "a")


def test_assets_are_the_same_on_every_run(daylight: Theme) -> None:
    """Two runs give the same bytes, fonts that no shipped theme has included."""
    own = replace(daylight, typefaces={"sans": {"regular": "DejaVuSansMono.ttf"}})
    first = assets(own)
    cut_font.cache_clear()
    assert assets(own) == first


def test_the_faces_of_a_family_hold_the_same_signs(daylight: Theme) -> None:
    """No face borrows a sign from another face of its family; letters and numbers are in all of them."""
    styles = typeface_styles(daylight)
    held: dict[str, list[set[int]]] = {}
    for family, font in re.findall(r'font-family:"([^"]+)".*?base64,([^"]+)"', styles):
        face = TTFont(io.BytesIO(b64decode(font)))
        held.setdefault(family, []).append(set(face.getBestCmap()))
    assert len(held) == len(daylight.typefaces)
    signs = held.pop("Lyewitness Signs")
    assert set(map(ord, "●★⁻→")) <= signs[0]
    for faces in held.values():
        assert all(face == faces[0] for face in faces)
        # Spaces and hyphens within numbers too: what is borrowed parts a number from its unit.
        assert set(map(ord, "Aäßµ°±−–01\u2009\u202f\u2010\u2011")) <= faces[0]


def test_the_faces_of_shipped_themes_were_cut_beforehand() -> None:
    """They hold what cutting them now would; else `python -m tests.cut_faces` writes them anew."""
    wanted = dict(all_rules())
    assert {path.name for path in CUT_FACES.iterdir()} == wanted.keys()
    for name, rules in wanted.items():
        assert signs_of((CUT_FACES / name).read_text()) == signs_of(rules)


def signs_of(rules: str) -> list[tuple[str, str, list[int]]]:
    """Return of each face its family, how it is set, and the signs that it holds."""
    found = re.findall(r'font-family:"([^"]+)";([^:]*:[^:]*:[^;]*).*?base64,([^"]+)"', rules)
    return [
        (family, setting, sorted(TTFont(io.BytesIO(b64decode(font))).getBestCmap()))
        for family, setting, font in found
    ]


@pytest.mark.parametrize(
    "wish",
    [
        "{{ say.__globals__ }}",
        "{{ ''.__class__.__mro__ }}",
        "{{ words_of('nav').clear() }}",
        "{% include '../../../../etc/passwd' %}",
        "{{ no_such_name }}",
        "{% if %}",
    ],
)
def test_a_theme_reaches_nothing_beyond_its_templates(example: Report, tmp_path: Path, wish: str) -> None:
    """What reads the program's insides, changes what it is given, opens a file or is no template is told."""
    (tmp_path / "templates").mkdir()
    text = '{% extends "daylight/cautions.html" %}\n{% block main %}\n' + wish + "{% endblock %}"
    (tmp_path / "templates" / "cautions.html").write_text(text, encoding="utf-8")
    with pytest.raises(StudyFolderError) as caught:
        site_pages(document_of(example, (), load_theme(tmp_path)))
    problem = caught.value.problems[0]
    assert problem.file == str(tmp_path / "templates" / "cautions.html")
    assert problem.place == "line 3"


@pytest.mark.parametrize(
    ("templates", "found", "place"),
    [
        ({"cautions.html": '\n{% extends "cautions.html" %}'}, "'cautions.html' leads back to itself", 2),
        (
            {"cautions.html": '{% extends "a.html" %}', "a.html": '\n\n{% include "cautions.html" %}'},
            "'a.html' leads back to itself by way of 'cautions.html'",
            3,
        ),
        (
            {"cautions.html": "{% macro a() %}\n{{ a() }}\n{% endmacro %}\n{{ a() }}"},
            "'cautions.html' leads back to itself",
            2,
        ),
    ],
)
def test_a_template_that_leads_back_to_itself_is_told_with_its_line_and_what_to_write(
    own_theme: Path, templates: Mapping[str, str], found: str, place: int
) -> None:
    """Whoever extends a template by its plain name means the inherited one, and is told how that is named."""
    for name, text in templates.items():
        (own_theme / "templates" / name).write_text(text, encoding="utf-8")
    with pytest.raises(StudyFolderError) as caught:
        templates_of(load_theme(own_theme)).fill("cautions.html", {})
    (problem,) = caught.value.problems
    assert (problem.found, problem.place) == (found, f"line {place}")
    assert Path(problem.file).name == found.split("'")[1]
    assert ('{% extends "daylight/cautions.html" %}' in problem.cure) == (found.split("'")[1] != "a.html")


def test_a_theme_with_a_link_that_leads_out_is_refused(own_theme: Path) -> None:
    """Its asset would be published as a file of the report."""
    (own_theme / "assets" / "users.css").symlink_to("/etc/passwd")
    with pytest.raises(StudyFolderError, match=r"users\.css"):
        load_theme(own_theme)


@pytest.mark.parametrize(
    "harm", ["{{ 'x' * 9999999999 }}", "{{ 9 ** 99999999 }}", "{{ range(99999999) | list }}"]
)
def test_a_template_that_would_fill_the_memory_is_a_mistake_of_the_theme(
    example: Report, own_theme: Path, harm: str
) -> None:
    """It is told with its file and line, and is no fault of the program."""
    (own_theme / "templates" / "cautions.html").write_text(harm, encoding="utf-8")
    with pytest.raises(StudyFolderError, match=r"cautions\.html"):
        list(site_pages(document_of(example, (), load_theme(own_theme))))
