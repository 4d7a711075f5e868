"""The reply says what the report claims, and the printed report what the site says."""

import re
import subprocess
from dataclasses import replace
from datetime import timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path

import html5lib
import page
import pytest

from lyewitness.document.edition import paper_files
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Report
from lyewitness.outputs.letter import (
    MOST_CAUTIONS,
    MOST_WORDS,
    WIDTH,
    _kept,
    _pauses,
    _worst_alone,
    letter_on_paper,
    reason_untold,
    render_letter,
)
from lyewitness.outputs.paper import latest_moment
from lyewitness.outputs.pdf import one_page_pdf, print_html
from lyewitness.pipeline import Rendered
from lyewitness.study.records import Event, Factor, Injection, Limit, Note, Question
from lyewitness.words.phrases import sentences_of, spelled
from tests.findings.making import (
    SCHEDULE_H,
    START,
    column,
    evidence_of,
    found_in,
    judge_once,
    judged,
    measured,
    study_of,
    traces_of,
)

NUMBERS = re.compile(r"\d+(?:\.\d+)?")


def squeezed(text: str) -> str:
    """Return `text` with every run of blanks as one."""
    return " ".join(text.split())


BASE: dict[str, tuple[float, ...]] = {"polymer": (95.0, 99.0, 91.0), "silica": (25.0, 26.0, 24.0)}
LETTERS: dict[str, tuple[dict[str, tuple[float, ...]], Question]] = {
    "one column a side": ({"hybrid": (60.0,), "silica": (25.0,)}, Question("q1", "Which lasts longest?")),
    "nothing settled": (
        {"hybrid": (60.0, 20.0, 44.0), "silica": (25.0, 70.0, 40.0)},
        Question("q1", "Does the hybrid outlast the silica?"),
    ),
    "all failed": (BASE, Question("q1", "Do the silica columns last two days?", asked_by="Cleaning")),
    "none failed": (
        {"polymer": (900.0, 950.0, 880.0), "hybrid": (800.0, 850.0, 820.0)},
        Question("q1", "Which lasts longest?", run_time_min=20.0),
    ),
    "expectation contradicted": (
        BASE,
        Question("q1", "Which lasts longest?", expectation="The silica lasts longer than the polymer."),
    ),
}
"""Lives by group, and what is asked."""
FIRST_WORDS = {
    "one column a side": "We cannot tell whether hybrid or silica lasts longer",
    "nothing settled": "We cannot tell which lasts longer",
    "all failed": "No: all three silica",
    "none failed": "No column is known to have reached the limit",
    "expectation contradicted": "The polymer columns last longer than the silica",
}


def reported(lives: dict[str, tuple[float, ...]], question: Question) -> Report:
    """Return the report on a study with these lives, made once for all that is asked of it."""
    return _reported(tuple(lives.items()), question)


@cache
def _reported(lives: tuple[tuple[str, tuple[float, ...]], ...], question: Question) -> Report:
    return report_of(evidence_of(dict(lives), questions=(question,)))


def report_of(evidence: Evidence) -> Report:
    """Return the report on that evidence."""
    return Report(
        evidence.study,
        evidence.traces,
        evidence.measurements,
        evidence.judgement,
        found_in(evidence),
        evidence.problems,
    )


def read_letter(report: Report, theme: Theme) -> tuple[str, str]:
    """Return the words of the reply as HTML shows them, and the plain text."""
    html, text = render_letter(document_of(report, (), theme), report.findings.answers[0])
    assert html.lstrip().startswith("<!DOCTYPE html>")
    return squeezed("".join(html5lib.parse(html, namespaceHTMLElements=False).itertext())), text


@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_answers_first_and_stays_within_a_page(name: str, daylight: Theme) -> None:
    """The first sentence after the greeting answers; at most 300 words; no file the reader lacks is named."""
    report = reported(*LETTERS[name])
    read, text = read_letter(report, daylight)
    answer = report.findings.answers[0]
    _, greeting, first, *_ = text.split("\n\n")
    assert greeting.startswith("Dear ")
    assert squeezed(first) == squeezed(answer.short)
    assert squeezed(first).startswith(FIRST_WORDS[name]), first
    assert len(text.split()) <= MOST_WORDS, text
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    for written in (read, text):
        assert not re.search(r"\.(html|csv|json|pdf|toml|md)\b", written)
        assert not re.search(r"</?[a-z]|&[a-z]+;|\[\[", written)


KINDS = (
    "silica C18", "silica C18 + sacrificial", "porous hybrid with a charged surface, lot B",
    "porous hybrid with a charged surface, lot B + sacrificial",
)  # fmt: skip
CROWDED: dict[str, tuple[tuple[float, ...], ...]] = {
    "all failed": ((30.0, 33.0, 29.0), (50.0, 53.0, 47.0), (40.0, 42.0, 39.0), (64.0, 66.0, 62.0)),
    "few failed": ((90.0, 150.0), (500.0, 450.0), (120.0, 140.0), (700.0, 600.0)),
}
EXPECTED = (
    "The sacrificial column doubles the life; silica C18 fails first; the porous hybrid with a charged "
    "surface, lot B + sacrificial lasts longest."
)


@pytest.fixture(scope="module", params=CROWDED)
def crowded(request: pytest.FixtureRequest) -> Evidence:
    """Return a study with all that makes a letter long: four long names, prices, a factor, limits, no log."""
    lives = [life for own in CROWDED[request.param] for life in own]
    each = len(lives) // len(KINDS)
    columns = tuple(
        column(
            f"K{i}", KINDS[i // each], price=100.0 * (1 + i // each), bonding="C18" if i < 2 * each else "C8"
        )
        for i in range(len(lives))
    )
    study = study_of(
        {},
        columns=columns,
        injections=tuple(
            Injection(f"{c.id}-{n:02d}", f"{c.id}-{n:02d}.csv", c.id, exposure_h=h)
            for c in columns
            for n, h in enumerate(SCHEDULE_H, start=1)
        ),
        conditions=(),
        factors=(Factor("sacrificial column", {"without": KINDS[::2], "with": KINDS[1::2]}),),
        limits=(
            Limit("plate_number_half_height", at_least_percent=80.0), Limit("symmetry_factor", at_most=2.0)
        ),
    )  # fmt: skip
    rows = measured(study, {c.id: life for c, life in zip(columns, lives, strict=True)})
    return Evidence(study, traces_of(study), rows, judge_once(study, rows))


@pytest.mark.parametrize(
    "text",
    [
        "Is the sacrificial column worth its price?",
        "Which of our columns is cheapest to run?",
        "Do the silica C18 columns last two days, and is the sacrificial column worth its price?",
    ],
)
def test_a_letter_is_shortened_whatever_is_asked(crowded: Evidence, text: str, daylight: Theme) -> None:
    """Of much to say the least wanted goes first, and never more than 300 words stay; what is cut says so."""
    question = Question("q1", text, expectation=EXPECTED, run_time_min=6.0, asked_by="The purification group")
    report = report_of(replace(crowded, study=replace(crowded.study, questions=(question,))))
    answer = report.findings.answers[0]
    _, written = read_letter(report, daylight)
    said = squeezed(written)
    assert len(written.split()) <= MOST_WORDS, written
    answered, verdict = sentences_of(answer.short), answer.expectation_verdict
    assert verdict is not None
    assert squeezed(answered[0]) in said
    if ", and is " in text:
        assert squeezed(answered[1]) in said, "the second thing asked goes before any detail"
    # Behind `of what you expected` it begins small.
    assert squeezed(sentences_of(verdict.text)[0])[1:] in said
    weakest = squeezed(sentences_of(answer.how_sure)[0]).partition("; for the ")[0].partition("; each ")[0]
    assert weakest.rstrip(".") in said, "what weakens the answer goes with it"
    assert "Safety data sheets" in said
    assert "The evidence is the report" in said
    whole = squeezed(f"{answer.short} {verdict.text}")
    left_out = [one for one in sentences_of(whole) if without_way(one) not in without_way(said)]
    assert bool(left_out) == ("The report tells the rest." in said), left_out


@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_says_no_more_than_the_claims(name: str, daylight: Theme) -> None:
    """Every number in it stands in the answer's claims, in how sure it is, or in the study itself."""
    report = reported(*LETTERS[name])
    answer, study = report.findings.answers[0], report.study
    _, text = read_letter(report, daylight)
    told = " ".join(
        (answer.short, answer.how_sure, *(claim.text for claim in answer.all_claims), answer.question.text)
    )
    stress = study.stress
    stated = [str(v) for v in (stress.ph, stress.temperature_C, stress.organic_percent, SCHEDULE_H[-1])]
    known = set(NUMBERS.findall(f"{told} {' '.join(stated)}")) | {one.removesuffix(".0") for one in stated}
    paragraphs = [one for one in text.split("\n\n") if not squeezed(one).startswith("The evidence")]
    assert set(NUMBERS.findall(" ".join(paragraphs))) <= known


@pytest.mark.parametrize("name", [*LETTERS, "many groups with long names"])
def test_a_letter_on_paper_is_one_page(name: str, daylight: Theme, tmp_path: Path) -> None:
    """Whatever is asked of however many groups: one page, archival and readable aloud."""
    many = {f"porous hybrid with a charged surface, end-capped, lot {n}": (30.0 + n, 34.0) for n in range(12)}
    report = reported(*LETTERS.get(name, (many, Question("q1", "Which lasts longest?"))))
    document = document_of(report, (), daylight)
    htmls = letter_on_paper(document, report.findings.answers[0])
    path = tmp_path / "letter.pdf"
    path.write_bytes(one_page_pdf(htmls, {}, latest_moment(report.study)))
    told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
    assert re.search(r"^Pages: +1$", told, re.MULTILINE), told
    for profile in ("3a", "ua1"):
        result = page.validate_pdf(str(path), profile=profile)
        assert result.is_compliant, result.failures


def test_cautions_are_plain_sentences(example: Report, daylight: Theme) -> None:
    """The most urgent cautions stand as sentences of their own, no title among them."""
    _, text = read_letter(example, daylight)
    cautions = [one for one in example.findings.cautions if one.brief]
    told = [one for one in cautions if one.brief in squeezed(text)]
    assert 1 <= len(told) <= MOST_CAUTIONS
    assert not any(one.title in text for one in cautions)
    assert f"names {spelled(len(cautions) - len(told))} more" in squeezed(text)


def test_the_factors_of_the_design_are_named(example: Report, daylight: Theme) -> None:
    """What was varied on purpose is told with its levels."""
    _, text = read_letter(example, daylight)
    for factor in example.study.factors:
        assert f"the {factor.name} ({' or '.join(factor.levels)})" in squeezed(text)


def test_the_way_of_counting_plates_is_told_once(example: Report, daylight: Theme) -> None:
    """'Plate number (half height)' is told in full where it first stands, then it is the plate number."""
    most = 0
    for report in (example, *(reported(*case) for case in LETTERS.values())):
        _, text = read_letter(report, daylight)
        found = re.findall(r"plate number( \(half height\))?", squeezed(text))
        assert found
        assert [bool(one) for one in found] == [True] + [False] * (len(found) - 1)
        most = max(most, len(found))
    assert most > 1


def test_what_was_expected_is_quoted_beside_what_the_data_say(daylight: Theme) -> None:
    """The expectation stands in its own words before the verdict on it."""
    report = reported(*LETTERS["expectation contradicted"])
    answer = report.findings.answers[0]
    assert answer.expectation_verdict is not None
    assert answer.expectation_verdict.strength == "contradicted"
    for written in read_letter(report, daylight):
        found = squeezed(written)
        assert found.index(answer.question.expectation) < found.index(
            squeezed(answer.expectation_verdict.text)
        )


def test_what_was_expected_ends_before_the_data_speak(daylight: Theme) -> None:
    """An expectation without a full stop gets one outside its quotation marks; else it gets none."""
    lives, question = LETTERS["expectation contradicted"]
    _, bare = read_letter(reported(lives, replace(question, expectation="The silica type")), daylight)
    assert "‘The silica type’. " in squeezed(bare)
    _, whole = read_letter(reported(lives, question), daylight)
    assert f"‘{question.expectation}’ " in squeezed(whole)


def test_the_authors_own_words_stand_apart(daylight: Theme) -> None:
    """A note marked for this letter is quoted with its author; one for another letter is not."""
    report = reported(*LETTERS["all failed"])
    notes = (
        Note("n1", "notes/n1.md", "", "Flush [[column:S1|the first]] daily.", None, "Ana", letter="q1"),
        Note("n2", "notes/n2.md", "", "Not for you.", None, "Ana", letter="q2"),
    )
    report = replace(report, study=replace(report.study, notes=notes))
    html, text = render_letter(document_of(report, (), daylight), report.findings.answers[0])
    assert "| Flush the first daily." in text
    quoted = next(html5lib.parse(html, namespaceHTMLElements=False).iter("blockquote"))
    assert "Ana" in "".join(quoted.itertext())
    assert "Not for you." not in html + text


def test_the_letter_survives_being_pasted(example: Report, daylight: Theme) -> None:
    """Styles stand on the elements, nothing is fetched, and each group's life is in the figure."""
    html, text = render_letter(document_of(example, (), daylight), example.findings.answers[0])
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    assert not list(tree.iter("style")) + list(tree.iter("link")) + list(tree.iter("script"))
    assert all(one.get("style") for tag in ("p", "table", "h1", "th", "td") for one in tree.iter(tag))
    assert "var(" not in html
    assert "src=" not in html
    rows = ["".join(row.itertext()).replace("\u00a0", " ") for row in tree.iter("tr")]
    assert all(("→" in row) == ("at least" in row) for row in rows)
    assert [any(group in row for row in rows) for group in example.study.groups] == [True] * 3
    assert len(text.split()) <= MOST_WORDS


def without_way(text: str) -> str:
    """Return a text in which plates are not said to be counted in any way."""
    return re.sub(r"(?<=plate number) \((?:half height|tangents|moments)\)", "", text)


def test_the_print_holds_every_claim_and_check(example: Report, rendered: Rendered, daylight: Theme) -> None:
    """Every claim, check, caution and note stands in the printed report, in the order of reading.

    The way of counting plates is told once a part, so it is left out of both sides.
    """
    html = print_html(document_of(example, rendered.figures, daylight))
    whole = squeezed("".join(html5lib.parse(html, namespaceHTMLElements=False).itertext()))
    read = without_way(whole)
    assert whole.count("plate number (half height)") < read.count("plate number") / 2
    found = example.findings
    for text in (
        *(claim.text for answer in found.answers for claim in answer.claims),
        *(check.detail for check in found.checks),
        *(caution.text for caution in found.cautions),
        *(note.title for note in example.study.notes),
    ):
        assert without_way(squeezed(text)) in read
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
    # Some drawings are for paper alone.
    on_paper = dict(paper_files(rendered.figures))
    for image in tree.iter("img"):
        assert image.get("alt")
        assert image.get("src") in rendered.files or image.get("src") in on_paper
    for link in tree.iter("a"):
        href = link.get("href", "")
        assert not href.startswith("#") or href[1:] in anchors, href
    levels = [int(element.tag[1]) for element in tree.iter() if element.tag in ("h1", "h2", "h3", "h4")]
    assert all(below - above <= 1 for above, below in pairwise(levels))


def test_a_power_cut_is_told_alike_in_every_letter(daylight: Theme) -> None:
    """Columns begun an hour after each other meet it at other exposures, whoever asks."""
    lives = {"silica": (45.0, 60.0), "hybrid": (300.0, 400.0)}
    plain = study_of(lives)
    begun = {one.id: START + timedelta(hours=number) for number, one in enumerate(plain.columns)}
    study = replace(
        plain,
        columns=tuple(replace(one, exposure_start=begun[one.id]) for one in plain.columns),
        events=(Event("power cut", START + timedelta(hours=38), START + timedelta(hours=44)),),
    )
    for groups in (("silica",), ("hybrid",), ()):
        asked = replace(study, questions=(Question("q1", "How long do they last?", groups=groups),))
        report = report_of(judged(evidence_of(lives), asked))
        edition = document_of(report, (), daylight).edition
        (told,) = _pauses(edition, report.findings.answers[0])
        assert "after 35 to 38\u2009h of exposure (power cut)" in told


def test_the_lesser_of_what_weakens_an_answer_goes_before_what_to_do() -> None:
    """The most serious point stays; those named behind it make room for the conditions and the advice."""
    told = "Three points weaken the answer; the most serious: one lot; the others: flow and pH."
    assert _worst_alone(told) == "Three points weaken the answer; the most serious: one lot."
    assert _worst_alone("This rests on two columns.") == "This rests on two columns."


def test_what_to_do_stands_in_a_letter_that_is_cut_short(example: Report, daylight: Theme) -> None:
    """That the report tells the rest takes room, too: the lesser of what weakens the answer makes it."""
    edition = document_of(example, (), daylight).edition
    answers = [("answer", " ".join(["told"] * 30) + ".")] * 4
    sure = "Three points weaken it; the most serious: one lot; the others: " + " ".join(["flow"] * 20) + "."
    advice, tested = ("advice", " ".join(["do"] * 15)), ("tested", " ".join(["at"] * 10))
    pieces = [*answers, tested, advice, ("sure", sure), ("evidence", "Ask me.")]
    for words in range(95, 140):
        kept = dict(_kept(edition, pieces, words))
        if words >= 60 + 12 + 10 + 15 + 2 + 5:
            assert "advice" in kept, words
        assert sum(len(text.split()) for text in kept.values()) <= words


@pytest.mark.parametrize(
    ("verdict", "expected"),
    [
        (
            "The data contradict the expectation: two of four A columns failed before 48 h (40 and 44 h).",
            "The data contradict the expectation.",
        ),
        (
            "The data contradict the expectation: you expected two days (48 h); two of four A columns failed "
            "before 48 h (40 and 44 h). The report tells more.",
            "The data contradict the expectation. The report tells more.",
        ),
        (
            "The data contradict the expectation: no B column failed.",
            "The data contradict the expectation: no B column failed.",
        ),
        (
            "The data contradict the expectation: all three C columns failed before 48\u2009h (30 h).",
            "The data contradict the expectation.",
        ),
        ("We cannot tell whether it holds.", "We cannot tell whether it holds."),
    ],
)
def test_a_reason_that_the_answer_has_given_is_not_given_again(verdict: str, expected: str) -> None:
    """Of what was expected only the verdict follows where the answer right above has its reason."""
    short = (
        "No: two of four A columns failed before 48 h (40 and 44 h by the retention factor; A3 held); "
        "all three C columns failed before (30 h)."
    )
    assert reason_untold(verdict, short) == expected


def test_what_the_answer_told_of_some_columns_is_not_told_again() -> None:
    """Of a reason only what is new stays, brackets with it; what all of it told goes as a whole."""
    short = "No: all four coated columns (60 to 70 h) failed before 96 h; of further ones we cannot tell."
    reason = "all four coated columns failed (three between 58 and 74 h and one, C4, between 48 and 79 h)"
    lead = "In this test it was otherwise"
    more = "two of three oxide columns held for at least 110 h"
    assert reason_untold(f"{lead}: {reason}, {more}.", short) == f"{lead}: {more}."
    assert reason_untold(f"{lead}: {reason}.", short) == f"{lead}."
