"""The order of the stages, and nothing else.

In: the path of a study folder. Out: a `Report`, and the files made from it.
"""

import platform
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from lyewitness import __version__
from lyewitness.decline.judging import judge
from lyewitness.document.data import PDF, SUMMARY, SUMMARY_PICTURE
from lyewitness.document.edition import figure_files, paper_files
from lyewitness.document.parts import Document, document_of
from lyewitness.document.themes import Theme
from lyewitness.figures.drawing import draw_figures
from lyewitness.figures.pictures import counting_problems, picture_problems
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.findings.audit.standing import pause_problems
from lyewitness.findings.doubts import doubt_problems
from lyewitness.findings.finding import find
from lyewitness.findings.medium.retention_by_ph import amended
from lyewitness.findings.records import Report, fingerprint_of
from lyewitness.findings.renewals import renewal_problems
from lyewitness.findings.revised import Changes, Issued, between, issued, revision_name
from lyewitness.outputs.assets import assets, on_both_grounds
from lyewitness.outputs.datapackage import PACKAGE, explained
from lyewitness.outputs.one_file import one_file
from lyewitness.outputs.pages import site_files, site_pages
from lyewitness.outputs.paper import latest_moment
from lyewitness.outputs.pdf import (
    NotShownError,
    PangoMissingError,
    PdfLibraryError,
    one_page_pdf,
    pdf_bytes,
    print_html,
)
from lyewitness.outputs.summary import summary_on_paper, summary_picture
from lyewitness.outputs.tables import data_files, formula_cautions
from lyewitness.outputs.workbook import WORKBOOK, source_of, workbook
from lyewitness.peaks.measuring import measure
from lyewitness.sheaves import Files, held_in
from lyewitness.store import NO_STORE, Store, program_digest
from lyewitness.study.editions import earlier_revision, read_kept
from lyewitness.study.folder import read_study
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Study
from lyewitness.traces.clocks import placed_by_stamps
from lyewitness.traces.collecting import collect_traces
from lyewitness.traces.records import Trace, trace_key
from lyewitness.words.names import repeated
from lyewitness.words.problems import Problem, StudyFolderError

Progress = Callable[[str, float], None]
"""Told what is being done, and which share of it is done (0 … 1)."""

HOLD_IT = (
    "Only the theme can show it: let its templates for paper hold the picture itself ('data:…'), or name it "
    "in its styles. What is printed is missing; pages and tables are there."
)
SAY_SO = "That is a fault of the program: please report it. All else is there; '--no-pdf' saves the time."
COMPUTED_WITH = ("numpy", "scipy", "matplotlib", "jinja2", "markdown-it-py", "weasyprint", "pillow")


@dataclass(frozen=True, eq=False, slots=True)
class Rendered:
    """A report as parts, figures and files, ready to be written."""

    report: Report
    document: Document
    figures: tuple[Figure, ...]
    assets: tuple[tuple[str, bytes], ...]
    files: Mapping[str, bytes]
    """Every file of the site by path; what is printed is among them where it was wanted and could be set."""
    remark: str = ""
    """Why there is no PDF though one was wanted, and what to do."""
    failed: bool = False
    """Whether the PDF could not be set though this machine has what it needs."""


def silent(_task: str, _share: float) -> None:
    """Tell nobody about progress."""


def compute(folder: Path, progress: Progress = silent, store: Store = NO_STORE, jobs: int = 1) -> Report:
    """Return the whole report of a study folder as records; raises StudyFolderError with every problem.

    What was computed from the same before comes from `store`.
    """
    progress("reading the study folder", 0.0)
    reading = read_study(folder)
    if reading.study is None:
        raise StudyFolderError(reading.problems)
    study = reading.study
    traces, trace_problems = collect_traces(
        study, lambda share: progress("reading chromatograms", share), store, jobs
    )
    study, clock_problems = placed_by_stamps(study, traces)
    problems = (*reading.problems, *trace_problems, *clock_problems)
    problems += (*picture_problems(study), *counting_problems(study), *formula_cautions(study))
    if any(problem.severity == "error" for problem in problems):
        raise StudyFolderError(problems)
    # Neither of the next two stages reads notes, or knows where the folder lies.
    told = replace(study, folder=Path(), notes=(), file_hashes=(), rows_read=())
    source = (told, [(name, trace_key(trace)) for name, trace in traces.items()])
    progress("measuring peaks", 0.0)
    measurements = measure(
        told, traces, lambda done, count: progress("measuring peaks", done / count), store, jobs
    )
    progress("fitting the decline", 0.0)
    by_ph = amended(told, measurements, store)
    judgement = store.made("judgement", source, lambda: judge(told, measurements, store, by_ph))
    progress("weighing the evidence", 0.0)
    # The line that leaves an injection out is quoted from the folder's own table.
    tables = [(name, sha) for name, sha in study.file_hashes if not name.startswith("notes/")]
    findings = store.made(
        "findings",
        (*source, tables, problems),
        lambda: find(replace(study, notes=()), traces, measurements, judgement, problems, store),
    )
    _refuse_repeated("claims", (claim.id for answer in findings.answers for claim in answer.all_claims))
    _refuse_repeated("checks", (check.id for check in findings.checks))
    _refuse_repeated("facts", (fact.id for fact in findings.chemistry))
    _refuse_repeated("cautions", (caution.id for caution in findings.cautions))
    problems += renewal_problems(study, measurements, {one.injection for one in findings.doubtful})
    problems += doubt_problems(study, findings.doubtful, traces) + pause_problems(findings.checks)
    provenance = _provenance(study, traces)
    report = Report(study, traces, measurements, judgement, findings, problems, provenance)
    return replace(report, changes=_changes(report))


def _changes(report: Report) -> Changes | None:
    """Return what differs from the report of an earlier revision, where the study keeps one."""
    earlier = earlier_revision(report.study.revisions)
    if earlier is None:
        return None
    kept = issued(read_kept(StudyFiles(report.study.folder), earlier.report))
    told = {"number": earlier.number, "date": earlier.date.isoformat()}
    return between(kept if kept.revision else replace(kept, revision=revision_name(told)), issued_now(report))


def issued_now(report: Report) -> Issued:
    """Return a report that was just computed as its tables have it."""
    notes = {note.file: (note.letter, note.text) for note in report.study.notes}
    return replace(issued(explained(report, data_files(report, ()))), notes=notes)


def render(
    report: Report,
    theme: Theme,
    progress: Progress = silent,
    with_pdf: bool = False,
    store: Store = NO_STORE,
    jobs: int = 1,
    exports: str = "",
    prints: Mapping[str, bytes] | None = None,
) -> Rendered:
    """Return the report's site as files; its pages lead to a PDF only where there is one.

    `exports` is the path from the report to the study folder where both are kept together; `prints` are what
    is printed where that was set before.
    """
    progress("drawing figures", 0.0)
    figures = draw_figures(report, look_from(theme.look), store, jobs)
    _refuse_repeated("figures", (figure.id for figure in figures))
    data = explained(report, data_files(report, figures, store), store)
    remark, failed = "", False
    if prints is None:
        prints = {}
        if with_pdf:
            prints, remark, failed = _prints(report, figures, data, theme, progress, store)
    moment = latest_moment(report.study)
    source = (source_of(data), moment)
    book = {WORKBOOK: store.made("workbook", source, lambda: workbook(*source))}
    progress("writing pages", 0.0)
    figures = tuple(on_both_grounds(figure, store) for figure in figures)
    document = document_of(report, figures, theme, bool(prints), exports, store)
    own = tuple(assets(theme, store))
    beside = Files({**held_in(data), **book, **prints})
    files = site_files(site_pages(document, store, jobs), figures, dict(own), beside)
    return Rendered(report, document, figures, own, files, remark, failed)


def _refuse_repeated(what: str, ids: Iterable[str]) -> None:
    """Raise ValueError where two things of a report bear one id: a link would lead to the wrong one."""
    if twice := repeated(ids):
        raise ValueError(f"{what} with one id in a report: {', '.join(twice)}")


def in_one_file(rendered: Rendered) -> bytes:
    """Return the whole site as one HTML document, to be sent."""
    # What is sent must stay small: the package explains tables of figures that are taken along as drawn, and
    # the workbook holds what the tables hold.
    data = {
        name: rendered.files[name]
        for name in rendered.files
        if name.startswith("data/") and name not in (PACKAGE, WORKBOOK)
    }
    return one_file(rendered.document, rendered.assets, rendered.figures, data).encode("utf-8")


def _prints(
    report: Report,
    figures: tuple[Figure, ...],
    data: Mapping[str, bytes],
    theme: Theme,
    progress: Progress,
    store: Store,
) -> tuple[dict[str, bytes], str, bool]:
    """Return the PDF of the report, its answer on one sheet and as a picture; all of them or none.

    Without any, the reason, and whether it failed.
    """
    pdf, remark, failed = printed(report, figures, data, theme, progress, store)
    if not pdf:
        return {}, remark, failed
    document, shown = document_of(report, figures, theme), dict(figure_files(figures))
    moment = latest_moment(report.study)
    sheet, remark, failed = on_one_page(summary_on_paper(document, store), shown, moment, SUMMARY)
    if not sheet:
        return {}, remark, failed
    return {PDF: pdf, SUMMARY: sheet, SUMMARY_PICTURE: summary_picture(document)}, "", False


def printed(
    report: Report,
    figures: tuple[Figure, ...],
    data: Mapping[str, bytes],
    theme: Theme,
    progress: Progress = silent,
    store: Store = NO_STORE,
) -> tuple[bytes, str, bool]:
    """Return the report as a PDF with its tables attached; or nothing, the reason, and whether it failed."""
    progress("setting the PDF", 0.0)
    html = print_html(document_of(report, figures, theme), store)
    tables = {name.removeprefix("data/"): table for name, table in data.items() if name.count("/") == 1}
    shown, moment = dict(paper_files(figures)), latest_moment(report.study)
    source = (html, shown, tables, moment)
    return _set(PDF, lambda: store.made("pdf", source, lambda: pdf_bytes(*source)))


def on_one_page(
    htmls: Iterable[str], files: Mapping[str, bytes], moment: datetime, name: str
) -> tuple[bytes, str, bool]:
    """Return the first of `htmls` that fits one page, as a PDF; or nothing, the reason, whether it failed."""
    return _set(name, lambda: one_page_pdf(htmls, files, moment))


def _set(name: str, make: Callable[[], bytes]) -> tuple[bytes, str, bool]:
    """Return the PDF; or nothing, the reason, and whether it failed."""
    try:
        return make(), "", False
    except PangoMissingError as error:
        return b"", str(error).replace(PDF, name), False
    except PdfLibraryError as error:
        return b"", str(error).replace(PDF, name), True
    except NotShownError as error:
        return b"", f"{name} was left out: {error}. {HOLD_IT}", True
    # Whatever goes wrong in setting the PDF, all else is there and must not be lost with it.
    except Exception as error:
        # Some of its messages hold a whole font.
        reason = f"{type(error).__name__}: {str(error)[:200]}"
        return b"", f"{name} was left out: it could not be set ({reason}). {SAY_SO}", True


def _provenance(study: Study, traces: Mapping[str, Trace]) -> Mapping[str, object]:
    """Return what was computed from what, with what."""
    hashes = dict(study.file_hashes) | {trace.file: trace.sha256 for trace in traces.values()}
    edition = [{"number": one.number, "date": one.date.isoformat()} for one in study.revisions[-1:]]
    choices = {name: getattr(study.choices, name) for name in study.choices.__dataclass_fields__}
    return {
        "study": study.id,
        "builder": {"name": "lyewitness", "version": __version__, "sha256": program_digest()},
        "python": platform.python_version(),
        "computed_with": {name: _version_of(name) for name in COMPUTED_WITH},
        "choices": choices,
        **({"revision": edition[0]} if edition else {}),
        "fingerprint": fingerprint_of(hashes),
        "files": dict(sorted(hashes.items())),
    }


def _version_of(library: str) -> str:
    """Return the version of a library; a report is built without the one that sets the PDF, too."""
    try:
        return version(library)
    except PackageNotFoundError:
        return "not installed"


def problems_of(
    folder: Path, progress: Progress = silent, store: Store = NO_STORE, jobs: int = 1
) -> tuple[tuple[Problem, ...], tuple[str, ...]]:
    """Return every problem of a folder, and what its report could not say for lack of data."""
    try:
        report = compute(folder, progress, store, jobs)
    except StudyFolderError as error:
        return error.problems, ()
    return report.problems, report.findings.missing
