"""What a theme shows and names is looked at before anything is computed; its policy cannot be taken away."""

import io
from pathlib import Path

import pytest
from PIL import Image

from lyewitness.document.parts import document_of
from lyewitness.document.theme_styles import leading_in, with_pictures_held
from lyewitness.document.themes import Theme, load_theme
from lyewitness.findings.records import Report
from lyewitness.outputs.letter import letter_on_paper, render_letter
from lyewitness.outputs.one_file import one_file
from lyewitness.outputs.pages import POLICY, site_pages
from lyewitness.outputs.paper import print_styles
from lyewitness.outputs.pdf import print_html
from lyewitness.outputs.summary import summary_on_paper
from lyewitness.outputs.templates import templates_of
from lyewitness.words.problems import StudyFolderError

XLINK = 'xmlns:x="http://www.w3.org/1999/xlink"'
DRAWN = f'<svg xmlns="http://www.w3.org/2000/svg" {XLINK} width="9" height="9">{{}}</svg>'


def theme_of(folder: Path, files: dict[str, str | bytes]) -> Theme:
    """Return the theme of these files."""
    for name, held in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(held.encode() if isinstance(held, str) else held)
    return load_theme(folder)


def png() -> bytes:
    """Return a small picture."""
    held = io.BytesIO()
    Image.new("RGB", (40, 20), "navy").save(held, "PNG")
    return held.getvalue()


def test_addresses_of_styles_are_found_wherever_they_stand() -> None:
    """Imports, quoted and bare, within media and after comments, each with its line (CSS Syntax 3)."""
    css = (
        '@import "a.css";\n/* url(no.png) */\nb{background:url(x.png)}\n@media print{p{cursor:url("y.png")}}'
    )
    found = [(one.address, one.line, one.imported) for one in leading_in(css)]
    assert found == [("a.css", 1, True), ("x.png", 3, False), ("y.png", 4, False)]


def test_styles_hold_their_pictures_and_else_stay_as_they_are() -> None:
    """Each address is replaced; a sheet without any is the same to the byte."""
    held = with_pictures_held("b{background:url(x.png)}p{cursor:url('y.png')}", lambda name: f"data:,{name}")
    assert [one.address for one in leading_in(held)] == ["data:,x.png", "data:,y.png"]
    assert with_pictures_held("p{color:red}/* a */ ", str) == "p{color:red}/* a */ "


@pytest.mark.parametrize(
    ("files", "place", "found", "cure"),
    [
        (
            {"assets/print.css": "p{}\nb{background:url(gone.png)}"},
            "line 2",
            "gone.png",
            "Put the file there",
        ),
        ({"assets/letter.css": "b{background:url(gone.png)}"}, "line 1", "gone.png", "Put the file there"),
        ({"assets/summary.css": "b{background:url(../x.png)}"}, "line 1", "../x.png", "Put the file there"),
        ({"assets/own.css": "@import 'gone.css';"}, "line 1", "gone.css", "Put the file there"),
        ({"assets/own.css": "b{background:url(https://example.org/x.png)}"}, "line 1", "outside", "a copy"),
        ({"assets/own.css": "b{background:url(//example.org/x.png)}"}, "line 1", "outside", "a copy"),
        (
            {"assets/print.css": "@import 'own.css';", "assets/own.css": ""},
            "line 1",
            "@import",
            "Write the rules",
        ),
        ({"assets/own.css": 'b{background:image-set("http://b/x.png" 1x)}'}, "line 1", "outside", "a copy"),
        ({"theme.toml": 'papper = "letter"'}, "papper", "unknown key", "'paper'"),
        ({"look.toml": '[light]\naccnt = "#123456"'}, "light.accnt", "unknown key", "'accent'"),
        ({"look.toml": '[lihgt]\naccent = "#123456"'}, "lihgt", "unknown key", "'light'"),
        ({"theme.toml": 'logo = "gone.svg"'}, "", "no such file", "Mend the theme"),
        ({"theme.toml": 'logo = "../theme.toml"'}, "", "no such file", "Mend the theme"),
        ({"theme.toml": 'logo = "a.svg"', "assets/a.svg": "<svg"}, "", "cannot be read", "Mend"),
        (
            {
                "theme.toml": 'logo = "a.svg"',
                "assets/a.svg": DRAWN.format('<image x:href="http://b/c.png"/>'),
            },
            "",
            "http://b/c.png",
            "Mend",
        ),
        (
            {"theme.toml": 'logo = "a.svg"', "assets/a.svg": DRAWN.format("<style>@import 'b.css';</style>")},
            "",
            "b.css",
            "Mend",
        ),
        (
            {"theme.toml": 'logo = "a.svg"', "assets/a.svg": DRAWN.format("<script>1</script>")},
            "",
            "holds a script",
            "Mend",
        ),
        (
            {"theme.toml": 'logo = "a.svg"', "assets/a.svg": '<svg onload="a()"/>'},
            "",
            "holds a script",
            "Mend",
        ),
        ({"theme.toml": 'logo = "a.png"', "assets/a.png": b"\x89PNG"}, "", "cannot be read", "Mend"),
        ({"theme.toml": 'logo = "a.png"', "assets/a.png": b"0" * 300_000}, "", "more than", "Mend"),
        ({"theme.toml": 'logo = "a.gif"', "assets/a.gif": b"GIF89a"}, "", ".gif", "Mend"),
    ],
)
def test_what_a_theme_cannot_show_is_told_before_the_work(
    tmp_path: Path, files: dict[str, str | bytes], place: str, found: str, cure: str
) -> None:
    """A message names file and line, what was found and the cure."""
    with pytest.raises(StudyFolderError) as caught:
        theme_of(tmp_path / "house", files)
    (problem,) = caught.value.problems
    assert problem.severity == "error"
    assert str(tmp_path / "house") in problem.file
    assert problem.place == place
    assert found in problem.found
    assert cure in problem.cure


def test_a_logo_is_no_picture_from_elsewhere_on_the_machine(tmp_path: Path) -> None:
    """A theme of a stranger that names a picture by its full path would send it with every reply."""
    (tmp_path / "private.png").write_bytes(png())
    for name in (tmp_path / "private.png", f"/{tmp_path}/private.png", "../../private.png"):
        with pytest.raises(StudyFolderError, match="no such file"):
            theme_of(tmp_path / "house", {"theme.toml": f'logo = "{name}"', "assets/own.css": ""})


def test_pictures_of_styles_stand_on_paper(tmp_path: Path) -> None:
    """A picture that a style for paper names is held in it, for paper has no files beside it."""
    theme = theme_of(
        tmp_path / "house", {"assets/print.css": "b{background:url(m.png)}", "assets/m.png": png()}
    )
    assert "url(data:image/png;base64," in print_styles(theme).replace('"', "")


@pytest.mark.parametrize("name", ["mark.svg", "mark.png"])
def test_a_logo_stands_on_site_reply_and_prints(tmp_path: Path, example: Report, name: str) -> None:
    """Each page of the site leads to its file; what is sent or printed holds it, with its words."""
    mark = png() if name.endswith("png") else DRAWN.format('<rect width="9" height="9"/>')
    files = {"theme.toml": f'logo = "{name}"\nlogo_alt = "The house"', f"assets/{name}": mark}
    theme = theme_of(tmp_path / "house", files)
    document = document_of(example, (), theme)
    pages = {page.path: page.text for page in site_pages(document) if page.path.endswith(".html")}
    assert all(f'theme/{name}" alt="The house"' in text for text in pages.values())
    assert theme.logo is not None
    answer = example.findings.answers[0]
    sent = [one_file(document, (), ()), render_letter(document, answer)[0]]
    printed = [
        print_html(document),
        next(letter_on_paper(document, answer)),
        next(summary_on_paper(document)),
    ]
    for text in (*sent, *printed):
        assert theme.logo.held in text
        assert 'alt="The house"' in text


def test_no_template_takes_the_policy_away(tmp_path: Path, example: Report) -> None:
    """A page without it bears it all the same, before its own script; what begins before it is refused."""
    head = '<head><meta charset="utf-8"><script>1</script></head>'
    page = f'<!DOCTYPE html>\n<html lang="en">{head}<body></body></html>'
    theme = theme_of(tmp_path / "house", {"templates/page.html": page})
    text = site_pages(document_of(example, (), theme))[0].text
    assert POLICY in text.partition("<script>")[0]
    for begins in (
        "<script>1</script>" + page,
        page.replace("<html", "<html onload=a()"),
        page.replace("<head>", ""),
    ):
        other = theme_of(tmp_path / "other", {"templates/page.html": begins})
        with pytest.raises(StudyFolderError, match="begins otherwise"):
            site_pages(document_of(example, (), other))
    turned = page.replace("<script>1</script>", '<META content="1>0;url=http://b/" http-equiv=refresh>')
    other = theme_of(tmp_path / "turned", {"templates/page.html": turned})
    with pytest.raises(StudyFolderError, match="leads elsewhere"):
        site_pages(document_of(example, (), other))
    letter = theme_of(tmp_path / "third", {"templates/letter.html": page})
    assert "default-src 'none'" in templates_of(letter).page("letter.html", {}, "default-src 'none'")


def test_a_template_is_compiled_once_and_anew_when_it_has_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Themes share what they have in common; what a file says now is what is filled in."""
    theme = theme_of(tmp_path / "house", {"templates/letter.html": "one"})
    assert templates_of(theme).fill("letter.html", {}) == "one"
    (tmp_path / "house" / "templates" / "letter.html").write_text("two", encoding="utf-8")
    assert templates_of(theme).fill("letter.html", {}) == "two"
    monkeypatch.setattr("jinja2.Environment.compile", None)
    assert templates_of(theme).fill("letter.html", {}) == "two"
    other = theme_of(tmp_path / "other", {"templates/summary.html": "three"})
    with pytest.raises(TypeError, match="not callable"):
        templates_of(other).fill("summary.html", {})
