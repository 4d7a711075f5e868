"""What changed between two reports is told with both sides, whichever form each was kept in."""

import csv
import io
import json
import shutil
from dataclasses import replace
from pathlib import Path

import html5lib
import pytest

from lyewitness.cli import main
from lyewitness.document.themes import load_theme
from lyewitness.findings.measures import measures_of
from lyewitness.findings.revised import Changes, Issued, between, issued, sheets
from lyewitness.keeping.comparing import told as lines_of
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.study.folder import read_study

QUIET = ("--quiet", "--no-pdf")


def table(header: str, *rows: str) -> bytes:
    """Return a table as a report has it."""
    return "\n".join((header, *rows, "")).encode()


def report_of(claims: list[tuple[str, str, str, str]], **more: bytes) -> dict[str, bytes]:
    """Return the tables of a report with claims as (id, part, strength, text)."""
    listed = [
        {"id": name, "question": "q1", "part": part, "strength": strength, "text": text}
        for name, part, strength, text in claims
    ]
    return {"data/claims.json": json.dumps({"study": "S1", "claims": listed}).encode()} | {
        f"data/{name.replace('__', '.')}": data for name, data in more.items()
    }


def of_claims(old: list[tuple[str, str, str, str]], new: list[tuple[str, str, str, str]]) -> Changes:
    """Return what changed between two reports that have claims alone."""
    return between(issued(report_of(old)), issued(report_of(new)))


A = ("a", "claim", "shown", "X lasts longer than Y: 2.0 (1.5 to 2.5).")


@pytest.mark.parametrize(
    ("old", "new", "kind", "withdrawn"),
    [
        ([A], [], "gone", True),
        ([A], [(*A[:2], "indicated", A[3])], "weaker", False),
        ([A], [(*A[:2], "not settled", A[3])], "weaker", True),
        ([A], [(*A[:2], "contradicted", A[3])], "weaker", True),
        ([(*A[:2], "contradicted", A[3])], [(*A[:2], "not settled", "Open.")], "otherwise", False),
        ([(*A[:2], "indicated", A[3])], [A], "stronger", False),
        ([(*A[:2], "not settled", A[3])], [], "gone", False),
        ([("a", "next experiment", "indicated", "Run on.")], [], "gone", False),
        ([("a", "recommendation", "indicated", "Take X.")], [], "gone", True),
        ([], [A], "new", False),
        ([A], [(*A[:3], "X lasts longer than Y: 2.1 (1.6 to 2.6).")], "other numbers", False),
        ([A], [(*A[:3], "X lasts shorter than Y: 0.5 (0.4 to 0.7).")], "turned", True),
        ([A], [(*A[:3], "Y lasts longer than X: 1.5 (1.2 to 1.9).")], "turned", True),
        (
            [(*A[:3], "An injection costs 0.82 (0.77 to 0.88) times as much on X as on Y.")],
            [(*A[:3], "An injection costs 2.9 (2.7 to 3.1) times as much on X as on Y.")],
            "turned",
            True,
        ),
        (
            [(*A[:3], "The part multiplies life by 1.6.")],
            [(*A[:3], "The part multiplies life by 1.8.")],
            "other numbers",
            False,
        ),
        ([A], [("b", *A[1:3], "X lasts longer than Y: 2.1 (1.6 to 2.6).")], "other numbers", False),
    ],
)
def test_each_way_in_which_a_claim_changes(
    old: list[tuple[str, str, str, str]], new: list[tuple[str, str, str, str]], kind: str, withdrawn: bool
) -> None:
    """What was shown or indicated and is no longer held is withdrawn; ids may be other than they were."""
    changes = of_claims(old, new)
    assert [one.kind for one in changes.claims] == [kind]
    assert bool(changes.withdrawn) is withdrawn


def test_a_claim_of_several_questions_is_told_once_and_names_them() -> None:
    """Where there are several questions, each row says of which it is; of one question that is plain."""
    words = {"answers": [{"id": "q", "question": "Which lasts longest?"}, {"id": "two", "question": "Why?"}]}
    claims = [
        {"question": q, "id": "a", "part": "claim", "strength": "shown", "text": "X."} for q in ("q", "two")
    ]
    files = {"data/claims.json": json.dumps({"claims": claims}).encode()}
    files["data/study.json"] = json.dumps(words).encode()
    changes = between(issued(files), issued({**files, "data/claims.json": b"{}"}))
    ((_, rows),) = sheets(changes, {"withdrawn": "taken back"})
    assert rows == (("taken back, of ‘Which lasts longest?’ and ‘Why?’", "shown: X.", ""),)
    ((_, rows),) = sheets(of_claims([A], []))
    assert [what for what, _, _ in rows] == ["withdrawn"]


def test_which_reports_are_compared_and_why_is_told() -> None:
    """Both ids, both revisions, the reason of the later one, and whether they are one study."""

    def report(study: str, number: int, why: str, **words: object) -> Issued:
        revision = {"number": number, "date": "2026-03-20", "why": why}
        about = {"revision": {"number": number, "date": "2026-03-20"}}
        return issued({
            "data/claims.json": json.dumps({"study": study}).encode(),
            "data/provenance.json": json.dumps(about).encode(),
            "data/study.json": json.dumps({"title": "T", "revisions": [revision], **words}).encode(),
        })  # fmt: skip

    theme = load_theme("daylight")
    lines = list(lines_of(between(report("S1", 1, ""), report("S2", 2, "wrong oven")), theme))
    assert lines[0] == "Earlier: study S1, revision 1 of 2026-03-20 (‘T’)."
    assert lines[1] == "Later: study S2, revision 2 of 2026-03-20 (‘T’)."
    assert lines[2] == "Why it was revised: Wrong oven."
    assert "two studies" in lines[3]
    lines = list(lines_of(between(report("S1", 1, ""), report("S2", 1, "", supersedes="S1")), theme))
    assert "The later study takes the place of the earlier one." in lines
    lines = list(lines_of(between(report("S1", 1, ""), report("S1", 2, "")), theme))
    assert not any("two studies" in line or "Why" in line for line in lines)


def counted_in(claim: tuple[str, str, str, str], *injections: str) -> Issued:
    """Return a report with one claim and these injections."""
    return issued(report_of([claim], measurements__csv=table(INJECTIONS, *injections)))


WHOLE = ("A-1,A,m,0,yes", "A-2,A,m,6,yes", "B-1,B,m,0,yes")


@pytest.mark.parametrize(
    ("injections", "lost"),
    [
        (WHOLE, ""),
        (WHOLE[:2], "one column (B) and one injection (B-1)"),
        (("A-1,A,m,0,yes", "A-2,A,m,6,no", "B-1,B,m,0,yes"), "one injection (A-2)"),
        ((*WHOLE, "C-1,C,m,0,yes"), ""),
    ],
)
def test_a_claim_is_never_stronger_on_less_without_saying_so(injections: tuple[str, ...], lost: str) -> None:
    """What counted before and does no longer stands beside the word, and above all claims."""
    weak, strong = (*A[:1], A[1], "indicated", A[3]), (*A[:1], A[1], "shown", A[3])
    changes = between(counted_in(weak, *WHOLE), counted_in(strong, *injections))
    assert changes.lost == lost
    ((_, rows), *_) = sheets(changes)
    (became, _, _) = rows[0]
    assert became == (f"stronger, without {lost} that counted before" if lost else "stronger")
    lines = "\n".join(lines_of(changes, load_theme("daylight")))
    assert ("the later one is without" in lines) is bool(lost)
    weaker = between(counted_in(strong, *WHOLE), counted_in(weak, *injections))
    assert sheets(weaker)[0][1][0][0] == "weaker"


def stated(**words: object) -> Issued:
    """Return a report that states these settings."""
    return issued(report_of([], study__json=json.dumps(words).encode()))


COLUMN = {"id": "H1", "price": 420.0, "lot": "L1", "upstream": ""}


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            {"columns": [COLUMN]},
            {"columns": [{**COLUMN, "price": 560.0}]},
            [("column H1: price", "420", "560")],
        ),
        (
            {"questions": [{"id": "q", "expectation": "It doubles the life."}]},
            {"questions": [{"id": "q", "expectation": ""}]},
            [("question q: expectation", "It doubles the life.", "")],
        ),
        (
            {"test": {"flow_mL_min": 0.3}, "running": True},
            {"test": {"flow_mL_min": 0.4}, "running": False},
            [("injections flow rate", "0.3\u2009mL/min", "0.4\u2009mL/min"), ("still running", "yes", "no")],
        ),
        (
            {"columns": [COLUMN, {**COLUMN, "id": "H2"}]},
            {"columns": [COLUMN]},
            [("column H2", "there", "")],
        ),
        ({"columns": [{"id": "H1", "lot": "L1"}]}, {"columns": [COLUMN]}, []),
        ({"exports": {"H1": ["a.csv"]}}, {"exports": {"H1": ["b.csv"]}}, []),
    ],
)  # fmt: skip
def test_every_setting_that_changed_is_told_in_words(
    old: dict[str, object], new: dict[str, object], told: list[tuple[str, str, str]]
) -> None:
    """Price and expectation among them; a lost column is one row, and a key that was not known is none."""
    changes = between(stated(**old), stated(**new))
    assert [(one.what, one.was, one.now) for one in changes.settings] == told


def test_what_did_not_change_is_not_told() -> None:
    """Two reports with the same claims have nothing to tell."""
    assert sheets(of_claims([A], [A])) == ()


DECLINE = "column,group,marker,metric,limit,life_h,life_low_h,life_high_h,life_state"
COMPARISONS = "marker,metric,group_a,group_b,life_ratio,ratio_low,ratio_high,p_adjusted,finding"
INJECTIONS = "injection,column,marker,exposure_h,used"


def numbers(percent: int, life: str, ratio: str, injections: list[str], version: int) -> Issued:
    """Return a report that has numbers alone."""
    limit = f"at_least_percent = {percent}"
    about = {
        "builder": {"version": version},
        "choices": {"confidence": percent / 100},
        "files": {"a": version},
    }
    lives = (f"H1,h,m,n,{limit},{life},reached", f"H2,h,m,n,{limit},,96,,not reached")
    tables = {
        "decline__csv": table(DECLINE, *lives),
        "comparisons__csv": table(COMPARISONS, f"m,n,h,s,{ratio}"),
        "measurements__csv": table(INJECTIONS, *injections),
        "provenance__json": json.dumps(about).encode(),
    }
    return issued(report_of([], **tables))


def test_numbers_stand_side_by_side() -> None:
    """Lives, ratios, use of injections, limits and versions are told as they were and are."""
    before = ["H1-1,H1,m,0,yes", "H1-2,H1,m,2.993529,yes", "H1-3,H1,m,6,yes"]
    after = ["H1-1,H1,m,0,yes", "H1-2,H1,m,2.993529,no", "H1-4,H1,m,6,yes"]
    old = numbers(80, "52.04,49.8,55.1", "1.5,1.2,1.9,0.004,a lasts longer", before, 1)
    new = numbers(90, "31.2,29.8,33.1", "1.1,0.8,1.5,0.3,not settled", after, 2)
    changes = between(old, new)
    told = {
        name: [tuple(cell.replace("\u2009", " ") for cell in row) for row in rows]
        for name, rows in sheets(changes)
    }
    # What a life was measured against stands with it.
    limits = ", other limit (at least 80 % of its reference then, at least 90 % now)"
    assert told["lives"] == [(f"H1 / n of m{limits}", "52 h (49 to 56)", "31 h (29 to 34)")]
    was, now = (
        "h lasts longer, ratio 1.50 (1.20 to 1.90), p = 0.004",
        "not settled, ratio 1.10 (0.80 to 1.50), p = 0.30",
    )
    assert told["comparisons"] == [(f"h against s / n of m{limits}", was, now)]
    assert told["injections"] == [
        ("H1-2", "column H1, 3 h", "column H1, 3 h, left out"),
        ("H1-4", "", "column H1, 6 h"),
        ("H1-3", "column H1, 6 h", ""),
    ]
    assert ("choices confidence", "0.8", "0.9") in told["settings"]
    assert ("limit of n of m", "at least 80 % of its reference", "at least 90 % of its reference") in told[
        "settings"
    ]
    assert told["versions"] == [("lyewitness", "1", "2")]
    assert told["files"] == [("a", "1", "2")]
    # Limits of two rows, a life with its ends, the comparison, one injection's use.
    assert changes.numbers_changed == 2 + 3 + 5 + 1


@pytest.mark.parametrize(
    "files",
    [
        {},
        {"data/claims.json": b"[1]", "data/provenance.json": b"{", "data/study.json": b"null"},
        {
            "data/claims.json": b'{"claims": [1, {"id": 2}], "study": []}',
            "data/study.json": b'{"columns": [1, {}]}',
        },
        {"data/decline.csv": b"limit\nx,1,2,3\n\n\xff\n"},
        {"data/decline.csv": b"column,limit,life_h,life_state\nA,1,nan,reached\nB,1,inf,reached\nC\n"},
        {"data/measurements.csv": b"injection,used\n" + b"x" * 200_000 + b",yes\n"},
        {"data/comparisons.csv": b"\0,\0\n,\n", "data/provenance.json": b'{"files": [], "computed_with": 3}'},
        {"data/claims.json": b"[" * 100_000},
    ],
)
def test_tables_that_somebody_edited_do_no_harm(files: dict[str, bytes]) -> None:
    """Whatever stands in a kept report, it is compared as far as it goes."""
    whole = issued(report_of([A]))
    for one, other in ((files, report_of([A])), (report_of([A]), files)):
        assert sheets(between(issued(one), issued(other)))
    assert whole.claims


@pytest.fixture(scope="module")
def studies(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the report and the bag of a study, and its second revision, which keeps the first.

    In the second, every injection but the first three of one group is left out.
    """
    folder = tmp_path_factory.mktemp("revised")
    study = folder / "first"
    write_study(small_scenario(), study)
    edition = '\n[[revision]]\nnumber = 1\ndate = 2026-03-20\nby = "Analyst A"\n'
    toml = (study / "study.toml").read_text(encoding="utf-8")
    (study / "study.toml").write_text(toml + edition, encoding="utf-8")
    assert main(["report", str(study), "--into", str(folder / "report"), *QUIET]) == 0
    bag = ["archive", str(study), "--into", str(folder / "bag.zip"), "--date", "2026-03-20", *QUIET]
    assert main(bag) == 0
    second = folder / "second"
    shutil.copytree(study, second)
    shutil.copytree(folder / "report" / "data", second / "earlier" / "1")
    later = 'report = "earlier/1"\n\n[[revision]]\nnumber = 2\ndate = 2026-04-02\nwhy = "wrong oven"\n'
    (second / "study.toml").write_text(toml + edition + later, encoding="utf-8")
    _leave_out(second)
    assert main(["report", str(second), "--into", str(folder / "second-report"), *QUIET]) == 0
    return folder


def _leave_out(study: Path) -> None:
    """Leave out all but the first three injections of each column of the last group."""
    path = study / "injections.csv"
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    last = {row["column"] for row in rows[-1:]} | {rows[-1]["column"][:-1] + end for end in "123"}
    seen: dict[str, int] = {}
    for row in rows:
        seen[row["column"]] = seen.get(row["column"], 0) + 1
        if row["column"] in last and seen[row["column"]] > 3:
            row["use"], row["why"] = "no", "another oven"
    held = io.StringIO()
    writer = csv.DictWriter(held, fieldnames=[*rows[0]], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(held.getvalue(), encoding="utf-8")


def test_a_later_revision_tells_on_its_first_screen_what_was_withdrawn(studies: Path) -> None:
    """The front page names withdrawn claims and leads to a page that has all changes, before and after."""
    report = studies / "second-report"
    front = (report / "index.html").read_text(encoding="utf-8")
    assert "Revision 2, issued 2026-04-02. Wrong oven." in front
    old = json.loads((studies / "report/data/claims.json").read_bytes())["claims"]
    new = json.loads((report / "data/claims.json").read_bytes())["claims"]
    held = {one["text"] for one in new}
    gone = [one["text"] for one in old if one["part"] == "claim" and one["strength"] == "shown"]
    gone = [text for text in gone if text not in held]
    assert gone
    assert "Since revision 1 of 2026-03-20:" in front
    assert "withdrawn." in front
    assert 'href="changes.html"' in front
    page = (report / "changes.html").read_text(encoding="utf-8")
    before, after = (
        (studies / name / "injections.csv").read_text(encoding="utf-8").count(",no,")
        for name in ("first", "second")
    )
    assert page.count(", left out") == after - before > 3
    assert "changes" not in {path.stem for path in (studies / "report").glob("*.html")}


def test_every_form_tells_the_same_changes(studies: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Report, bag and study folder of one revision compare alike."""
    told = []
    for old in ("report", "bag.zip", "first"):
        command = ["compare", str(studies / old), str(studies / "second-report"), "--format", "json"]
        assert main(["--quiet", *command]) == 0
        told.append(json.loads(capsys.readouterr().out))
    assert told[0] == told[1] == told[2]
    assert told[0]["old"] == "revision 1 of 2026-03-20"
    assert told[0]["new"] == "revision 2 of 2026-04-02"
    assert told[0]["withdrawn"]
    assert main(["--quiet", "compare", str(studies / "report"), str(studies / "bag.zip")]) == 0
    assert "0 are different" in capsys.readouterr().out


def test_the_page_is_one_file_and_foreign_files_are_left_alone(studies: Path, tmp_path: Path) -> None:
    """`--into` writes HTML that parses; what somebody else put there is refused."""
    sides = [str(studies / "report"), str(studies / "second-report")]
    assert main(["--quiet", "compare", *sides, "--into", str(tmp_path / "page.html")]) == 0
    text = (tmp_path / "page.html").read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(text)
    assert "Later: study small, revision 2 of 2026-04-02" in text
    assert "Why it was revised: Wrong oven." in text
    assert "src=" not in text
    (tmp_path / "mine.html").write_text("<p>mine</p>", encoding="utf-8")
    assert main(["--quiet", "compare", *sides, "--into", str(tmp_path / "mine.html")]) == 1
    assert (tmp_path / "mine.html").read_text(encoding="utf-8") == "<p>mine</p>"


def test_what_is_no_report_is_refused(
    studies: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder that holds nothing of the kind is named, and so is a damaged bag."""
    assert main(["--quiet", "compare", str(tmp_path), str(studies / "report")]) == 1
    assert "no study folder, report or bag" in capsys.readouterr().err
    assert main(["--quiet", "compare", str(tmp_path / "none"), str(studies / "report")]) == 1


def test_a_revision_whose_report_is_not_there_is_told_with_its_cure(studies: Path, tmp_path: Path) -> None:
    """The key is named, and what to copy where."""
    shutil.copytree(studies / "second", tmp_path / "study")
    shutil.rmtree(tmp_path / "study" / "earlier")
    problems = [one for one in read_study(tmp_path / "study").problems if one.severity == "error"]
    assert len(problems) == 1
    assert "'earlier/1', which holds no report" in problems[0].found


def test_the_kept_report_is_part_of_the_fingerprint(studies: Path) -> None:
    """Its files are among those whose hashes the provenance names, and lie in the study's own folder."""
    about = json.loads((studies / "second-report/data/provenance.json").read_bytes())
    assert "earlier/1/claims.json" in about["files"]
    assert about["revision"] == {"date": "2026-04-02", "number": 2}


PLATES = "plate_number_half_height"
LASTS = (
    "a-life",
    "claim",
    "indicated",
    "X lasts 50\u2009h until the plate number (half height) of toluene falls.",
)


def limited(claims: list[tuple[str, str, str, str]], limit: str, decided_by: str = PLATES) -> Issued:
    """Return a report of claims whose lives were measured to a limit."""
    words = {"answers": [{"id": "q1", "deciding_marker": "toluene", "deciding_metric": decided_by}]}
    rows = [f"A,toluene,{metric},{limit},60,50,70,reached" for metric in (PLATES, "retention_factor")]
    head = "column,marker,metric,limit,life_h,life_low_h,life_high_h,life_state"
    files = report_of(claims, decline__csv=table(head, *rows), study__json=json.dumps(words).encode())
    return issued(files)


@pytest.mark.parametrize(("was", "now"), [("indicated", "shown"), ("shown", "indicated"), ("shown", "shown")])
def test_a_life_to_another_limit_is_neither_stronger_nor_weaker(was: str, now: str) -> None:
    """A looser limit makes a life longer and surer of itself: it is another thing, told with both limits."""
    old = limited([(*LASTS[:2], was, LASTS[3])], "at_least_percent = 80")
    new = limited([(*LASTS[:2], now, LASTS[3].replace("50", "60"))], "at_least_percent = 70")
    changes = between(old, new)
    (change,) = changes.claims
    assert change.kind == "other limit"
    told = "toluene: at least 80\u2009% of its reference then, at least 70\u2009% now"
    assert told in change.measured.told
    theme = load_theme("daylight")
    lines = "\n".join(lines_of(changes, theme))
    assert f"  measured against another limit (plate number (half height) of {told})" in lines
    assert "stronger" not in lines
    assert "weaker" not in lines


def test_lives_and_comparisons_bear_both_limits() -> None:
    """The row of a life says that its limit is another now; its hours are beside each other as ever."""
    old, new = (limited([LASTS], f"at_least_percent = {level}") for level in (80, 70))
    old.tables["decline"][0]["life_h"] = "50"  # type: ignore[index]
    told = [one.what for one in between(old, new).lives]
    assert told == [
        "A / plate number (half height) of toluene, other limit "
        "(at least 80\u2009% of its reference then, at least 70\u2009% now)"
    ]


def test_a_claim_by_another_quantity_is_told_as_that() -> None:
    """What fell was the plate number, and is the retention factor now: nothing became weaker."""
    other = (*LASTS[:2], "not settled", LASTS[3].replace("plate number (half height)", "retention factor"))
    (change,) = between(limited([LASTS], "at_least = 2"), limited([other], "at_least = 2")).claims
    assert change.kind == "other measure"
    assert change.measured.told == "plate number (half height) of toluene against retention factor of toluene"
    assert change.withdrawn


def test_what_names_no_quantity_was_measured_by_what_decided_its_question() -> None:
    """A recommendation follows the lives; signs of failure follow no limit."""
    take = ("a-do", "recommendation", "indicated", "Take X.")
    sides = (("indicated", 2), ("shown", 1))
    old, new = (limited([(*take[:2], s, take[3])], f"at_least = {n}") for s, n in sides)
    (change,) = between(old, new).claims
    assert change.kind == "other limit"
    void = {"kind": "sign", "target": "A/void", "label": "a void"}
    sign = {"question": "q1", "id": "s", "text": "A void.", "because": [void]}
    assert measures_of([sign], [{"id": "q1"}], old.limits) == {("q1", "s"): frozenset()}


def test_the_same_limits_leave_strengths_as_they_are_told() -> None:
    """Only where the limit is another is a stronger claim no stronger one."""
    old, new = (limited([(*LASTS[:2], s, LASTS[3])], "at_least_percent = 80") for s in ("indicated", "shown"))
    (change,) = between(old, new).claims
    assert change.kind == "stronger"
    assert change.measured.told == ""


def test_of_two_studies_nothing_is_withdrawn() -> None:
    """What another study does not say it has not taken back; one that takes its place has."""
    old, other = (issued(report_of(claims)) for claims in ([A], []))
    theme = load_theme("daylight")
    stranger = replace(other, study="S9")
    changes = between(old, stranger)
    assert not changes.withdrawn
    lines = "\n".join(lines_of(changes, theme))
    assert "  in the earlier study alone" in lines
    assert "withdrawn" not in lines
    successor = between(old, replace(stranger, supersedes="S1"))
    assert successor.withdrawn
    assert "  withdrawn" in "\n".join(lines_of(successor, theme))


def test_that_nothing_has_changed_is_said() -> None:
    """A copy of a report differs in nothing."""
    old = issued(report_of([A]))
    assert "Nothing has changed." in list(lines_of(between(old, old), load_theme("daylight")))


def test_a_note_that_changed_is_told_by_its_lines_and_its_letter() -> None:
    """Of a note whose words are known both lines are told, and the letter that quotes it; else the hashes."""

    def with_notes(digest: str, *notes: tuple[str, str, str]) -> Issued:
        files = {f"notes/{name}.md": digest for name in ("first", "other")}
        provenance = json.dumps({"files": files}).encode()
        held = {f"notes/{name}.md": (letter, text) for name, letter, text in notes}
        return replace(issued(report_of([A], provenance__json=provenance)), notes=held)

    old = with_notes("1", ("first", "shape", "The oven was steady.\n\nAll well."))
    new = with_notes("2", ("first", "shape", "The oven was at 51 °C.\n\nAll well."))
    assert [(one.what, one.was, one.now) for one in between(old, new).files] == [
        (
            "notes/first.md, quoted in the letter on ‘shape’",
            "The oven was steady.",
            "The oven was at 51 °C.",
        ),
        ("notes/other.md", "1", "2"),
    ]
