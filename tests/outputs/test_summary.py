"""The answer on one sheet, and as a picture for a talk, say what the first page says."""

import io
import re
import subprocess
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import html5lib
import page
import pytest
from PIL import Image, ImageChops, ImageFont

from lyewitness.document.edition import figure_files
from lyewitness.document.parts import Document, document_of
from lyewitness.document.provisos import limit_words
from lyewitness.document.themes import Theme, load_theme
from lyewitness.figures.lives import lives_figures
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.figures.talk import READ_FROM_AFAR, Faces, _Canvas, _mark
from lyewitness.findings.records import Report
from lyewitness.outputs.paper import latest_moment
from lyewitness.outputs.pdf import one_page_pdf, pdf_bytes, print_html
from lyewitness.outputs.summary import summary_on_paper, summary_picture
from lyewitness.shipped import font_file
from lyewitness.study.records import Question, Revision
from tests.outputs.test_letter import LETTERS, reported, squeezed

MANY: dict[str, tuple[float, ...]] = {
    f"{name} porous hybrid with a charged surface, end-capped": (30.0 + n, 34.0)
    for n, name in enumerate("ABCDEFGH")
}
STUDIES: dict[str, tuple[dict[str, tuple[float, ...]], Question]] = {
    **LETTERS,
    "many groups with long names": (MANY, Question("q1", "Which lasts longest?")),
}


def drawn(report: Report, theme: Theme) -> tuple[Document, tuple[Figure, ...]]:
    """Return the report as parts with the one figure that the sheet shows."""
    figures = tuple(lives_figures(report, look_from(theme.look)))
    return document_of(report, figures, theme), figures


def sheet_of(report: Report, theme: Theme) -> bytes:
    """Return the sheet as a PDF."""
    document, figures = drawn(report, theme)
    moment = latest_moment(report.study)
    return one_page_pdf(summary_on_paper(document), dict(figure_files(figures)), moment)


def read_sheet(pdf: bytes, into: Path, *options: str) -> str:
    """Return the words of a PDF as poppler finds them."""
    into.write_bytes(pdf)
    done = subprocess.run(["pdftotext", *options, into, "-"], capture_output=True, text=True, check=True)
    return squeezed(done.stdout)


def _bare(words: str) -> str:
    """Return words without blanks and hyphens: a line may break after any, and poppler then drops it."""
    return "".join(words.replace("-", "").split())


@pytest.mark.parametrize("name", STUDIES)
def test_the_sheet_is_one_page_that_stands_alone(name: str, daylight: Theme, tmp_path: Path) -> None:
    """Question, answer, figure, a line for each group and three cautions stand on one page, archival."""
    report = reported(*STUDIES[name])
    answer, path = report.findings.answers[0], tmp_path / "summary.pdf"
    read = read_sheet(sheet_of(report, daylight), path)
    told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert re.search(r"^Pages: +1$", told, re.MULTILINE), told
    cautions = [one.brief for one in report.findings.cautions if _bare(one.brief)]
    told_of = (answer.question.text, answer.short, answer.how_sure, *(one.group for one in answer.advice))
    assert [words for words in told_of if _bare(words) not in _bare(read)] == []
    assert sum(_bare(one) in _bare(read) for one in cautions) == 3
    for profile in ("3a", "ua1"):
        result = page.validate_pdf(str(path), profile=profile)
        assert result.is_compliant, result.failures


def test_two_prints_can_be_told_apart(example: Report, daylight: Theme, tmp_path: Path) -> None:
    """The foot names the study, its day of issue or revision, and the fingerprint of all files."""
    read = read_sheet(sheet_of(example, daylight), tmp_path / "summary.pdf")
    day = latest_moment(example.study).date()
    assert f"{example.study.id} · issued {day} · files {example.fingerprint}" in read
    revised = replace(example, study=replace(example.study, revisions=(Revision(2, day, "Ana", "Why."),)))
    read = read_sheet(sheet_of(revised, daylight), tmp_path / "summary.pdf")
    assert f"{example.study.id} · revision 2 of {day} · files {example.fingerprint}" in read


@pytest.mark.parametrize("name", STUDIES)
def test_the_table_promises_no_more_than_the_lives(name: str) -> None:
    """Each group has one line; its hours are those of the recommendation, and no column failed sooner."""
    report = reported(*STUDIES[name])
    answer = report.findings.answers[0]
    assert sorted(one.group for one in answer.advice) == sorted(report.study.groups)
    for one in answer.advice:
        said = [claim.text for claim in answer.recommendations if claim.id.endswith(f"replace-{one.group}")]
        found = re.search(r"([\d.]+)\s?h", one.replace_after)
        assert found or one.replace_after == "–", one
        if not found:
            continue
        assert all(found[0] in text for text in said), said
        declines = [d for d in report.judgement.declines if d.series.group == one.group]
        own = [d.life.hours for d in declines if (d.series.marker, d.series.metric) == answer.deciding]
        assert float(found[1]) <= min(ends.high or ends.low or 0.0 for ends in own), one


@pytest.mark.parametrize("name", STUDIES)
@pytest.mark.parametrize("theme", ["daylight", "journal"])
def test_the_picture_keeps_its_edges_free(name: str, theme: str) -> None:
    """1920 × 1080, nothing cut off at an edge, no two runs differ, and it takes a second or two."""
    document, _ = drawn(reported(*STUDIES[name]), load_theme(theme))
    began = time.process_time()
    made = summary_picture(document)
    assert time.process_time() - began < 3
    assert made == summary_picture(document)
    image = Image.open(io.BytesIO(made)).convert("RGB")
    assert image.size == (1920, 1080)
    ground = Image.new("RGB", image.size, image.getpixel((2, 2)))
    left, top, right, bottom = ImageChops.difference(image, ground).getbbox() or (0, 0, 0, 0)
    assert 30 < left < right < 1920 - 30, (left, right)
    assert 30 < top < bottom < 1080 - 30, (top, bottom)


def test_the_picture_is_in_the_colours_of_the_theme(example: Report, daylight: Theme) -> None:
    """Every pigment of the drawing has become a colour; each group's own is seen."""
    made = summary_picture(drawn(example, daylight)[0])
    found = Image.open(io.BytesIO(made)).getcolors(1 << 20) or ()
    colours = {colour for _, colour in found if isinstance(colour, tuple)}
    palette = look_from(daylight.look).light
    wanted = [palette.groups[place] for place in range(len(example.study.groups))]
    assert all(tuple(bytes.fromhex(one[1:])) in colours for one in (palette.ink, *wanted))
    assert not any(max(colour[:3]) < 8 for colour in colours), "a pigment was left as it is"


def test_letter_paper_by_choice(example: Report, tmp_path: Path) -> None:
    """A theme that wants US Letter gets it, on one page; an unknown sheet is refused with its cure."""
    theme = tmp_path / "ours"
    theme.mkdir()
    (theme / "theme.toml").write_text('paper = "letter"\n', encoding="utf-8")
    path = tmp_path / "summary.pdf"
    path.write_bytes(sheet_of(example, load_theme(theme)))
    told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert re.search(r"^Page size: +612 x 792 pts", told, re.MULTILINE), told
    assert re.search(r"^Pages: +1$", told, re.MULTILINE), told
    (theme / "theme.toml").write_text('paper = "A5"\n', encoding="utf-8")
    with pytest.raises(Exception, match="A4 or letter"):
        load_theme(theme)


def test_what_the_sheet_shows_can_be_read_aloud(example: Report, daylight: Theme) -> None:
    """Its figure has words, its headings follow each other, and its table has heads."""
    document, _ = drawn(example, daylight)
    tree = html5lib.parse(next(summary_on_paper(document)), namespaceHTMLElements=False)
    assert [image.get("alt") for image in tree.iter("img")] != [""]
    assert [element.tag for element in tree.iter() if element.tag in ("h1", "h2", "h3")] == ["h1", "h2", "h2"]
    assert len(list(tree.iter("th"))) == 5 + len(example.study.groups)


@pytest.mark.parametrize("file", ["SourceSansPro-Regular.ttf", "SourceSerifPro-Regular.ttf"])
def test_signs_are_as_wide_as_they_are_drawn(file: str, daylight: Theme) -> None:
    """On the slide no sign is laid out narrower or wider than its outline asks, whatever hints say."""
    face = font_file(file)
    large = ImageFont.truetype(face, 1000)
    canvas = _Canvas(look_from(daylight.look), Faces(face, face, face))
    for size in (22, 28, 40):
        font = canvas.font(face, size)
        for sign in "%() ofW0":
            assert abs(font.getlength(sign) / size - large.getlength(sign) / 1000) < 0.08, (sign, size)


def test_the_sheet_tells_what_the_data_contradict(daylight: Theme, tmp_path: Path) -> None:
    """Whoever expected otherwise reads so beside the answer; what is not contradicted takes no room there."""
    contradicted = reported(*LETTERS["expectation contradicted"])
    answer = contradicted.findings.answers[0]
    assert answer.expectation_verdict is not None
    read = _bare(read_sheet(sheet_of(contradicted, daylight), tmp_path / "a.pdf"))
    assert _bare(answer.question.expectation) in read
    assert _bare(answer.expectation_verdict.text) in read
    lives, question = LETTERS["expectation contradicted"]
    right = reported(lives, replace(question, expectation="The polymer lasts longer than the silica."))
    assert "Expected" not in read_sheet(sheet_of(right, daylight), tmp_path / "b.pdf")


@pytest.mark.parametrize("expected", ["The silica lasts as long as the polymer.", ""])
def test_the_picture_tells_what_the_data_contradict(
    daylight: Theme, monkeypatch: pytest.MonkeyPatch, expected: str
) -> None:
    """A talk is told of a fallen expectation in letters that can be read from afar; of none without one."""
    written: list[tuple[str, int]] = []
    write = _Canvas.write

    def noted(canvas: _Canvas, at: tuple[float, float], lines: Sequence[str], *how: Any) -> float:
        written.append((_bare(squeezed(" ".join(lines))), how[1]))
        return write(canvas, at, lines, *how)

    monkeypatch.setattr(_Canvas, "write", noted)
    lives, question = LETTERS["expectation contradicted"]
    report = reported(lives, replace(question, expectation=expected))
    summary_picture(drawn(report, daylight)[0])
    told = [(words, size) for words, size in written if words.startswith("Expected")]
    verdict = report.findings.answers[0].expectation_verdict
    assert bool(told) == bool(expected)
    for words, size in told:
        assert verdict is not None
        assert _bare(squeezed(expected)) in words
        assert _bare(squeezed(verdict.text)) in words
        assert size >= 20


def test_what_stands_beside_the_lives_can_be_read_from_afar(
    example: Report, daylight: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a picture of 1080 pixels no letter but the foot's is below 20; sentences go first."""
    sizes: dict[str, int] = {}
    write = _Canvas.write

    def noted(canvas: _Canvas, at: tuple[float, float], lines: Sequence[str], *how: Any) -> float:
        sizes[squeezed(" ".join(lines))] = how[1]
        return write(canvas, at, lines, *how)

    monkeypatch.setattr(_Canvas, "write", noted)
    document, _ = drawn(example, daylight)
    summary_picture(document)
    (safety,) = [size for words, size in sizes.items() if words.startswith("Safety data sheets")]
    assert safety >= READ_FROM_AFAR
    foot = document.edition.report.study.id
    small = [words for words, size in sizes.items() if size < 20 and foot not in words]
    assert small == []


def test_a_talk_gets_a_headline_and_two_lines(
    example: Report, daylight: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer begins in the largest type, goes on in two lines, and no line breaks within an interval."""
    written: list[tuple[int, Path, list[str]]] = []
    write = _Canvas.write

    def noted(canvas: _Canvas, at: tuple[float, float], lines: Sequence[str], *how: Any) -> float:
        written.append((how[1], how[0], list(lines)))
        return write(canvas, at, lines, *how)

    monkeypatch.setattr(_Canvas, "write", noted)
    summary_picture(drawn(example, daylight)[0])
    serif = [(size, lines) for size, face, lines in written if "Serif" in face.name]
    (largest, headline), (_, further) = serif
    answer = _bare(example.findings.answers[0].short)
    assert answer.startswith(_bare(" ".join(headline)))
    assert largest >= 50
    assert len(headline) <= 2
    assert len(further) <= 2
    # What a headline leaves out of its sentence follows at once.
    assert _bare(" ".join([*headline, *further])).lower() in answer.lower().replace(":", "")
    assert not [line for _, _, lines in written for line in lines if re.search(r"\([\d.]+(.to)?$", line)]


def test_the_picture_marks_groups_as_its_figure_does(daylight: Theme) -> None:
    """Each mark of the look is drawn otherwise than the others: colour alone would not do in grey."""
    look = look_from(daylight.look)
    drawn_as = set()
    for shape in look.marks:
        canvas = _Canvas(look, Faces(*[font_file("SourceSansPro-Regular.ttf")] * 3))
        _mark(canvas, (50, 50), 10, shape, "#000000")
        drawn_as.add(canvas.image.tobytes())
    assert len(drawn_as) == len(look.marks)


def test_a_long_answer_keeps_its_figure_on_the_first_page(daylight: Theme, tmp_path: Path) -> None:
    """An answer of a thousand letters, as that of a running study, leaves room for the lives below it."""
    report = reported(*LETTERS["all failed"])
    (answer,) = report.findings.answers
    long = " ".join([answer.short, *answer.short.split(". ") * 9])[:1000]
    answers = (replace(answer, short=long),)
    document, figures = drawn(replace(report, findings=replace(report.findings, answers=answers)), daylight)
    files, moment = dict(figure_files(figures)), latest_moment(report.study)
    pdf = pdf_bytes(print_html(document), files, {}, moment)
    first = read_sheet(pdf, tmp_path / "report.pdf", "-l", "1")
    # The way of counting plates is told once on a page.
    told, on_page = (_bare(text).replace("(halfheight)", "") for text in (answer.how_sure, first))
    assert told in on_page
    assert "How long each group lasted" in first


def test_the_sheet_and_the_picture_say_when_a_life_ends_and_what_else_differs(
    example: Report, daylight: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Either tells limit and unequal columns once, and a ratio that the answer gave not again."""
    written: list[tuple[str, int]] = []
    write = _Canvas.write

    def noted(canvas: _Canvas, at: tuple[float, float], lines: Sequence[str], *how: Any) -> float:
        written.append((squeezed(" ".join(lines)), how[1]))
        return write(canvas, at, lines, *how)

    monkeypatch.setattr(_Canvas, "write", noted)
    document, _ = drawn(example, daylight)
    summary_picture(document)
    picture = " ".join(words for words, _ in written)
    tree = html5lib.parse(next(summary_on_paper(document)), namespaceHTMLElements=False)
    sheet = squeezed(" ".join(tree.itertext()))
    for told in (picture, sheet):
        assert told.count("falls below 80 %") == 1
        assert told.count("1.62 (1.50 to 1.75)") == 1
        assert "The data contradict the expectation." in told
        assert "overturn" not in told
        assert "the reason may be their particle size or bonding" in told
    assert "differ in particle size (2.2 µm and 3 µm) and bonding" in picture
    assert all(
        size >= READ_FROM_AFAR for words, size in written if "Life: until" in words or "differ" in words
    )


def test_a_picture_of_lives_by_any_limit_names_all_of_them(daylight: Theme) -> None:
    """Who sees it alone learns at which limits a life ends."""
    report = reported(*LETTERS["all failed"])
    (answer,) = report.findings.answers
    by_any = replace(answer, ended=report.judgement.first_failures)
    edition = drawn(report, daylight)[0].edition
    assert limit_words(edition, by_any).startswith("Life: as long as all of these hold: ")
    assert limit_words(edition, answer).startswith("Life: until the ")
