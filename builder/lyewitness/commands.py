"""What each command does, from its arguments to its exit code.

In: parsed arguments, the terminal. Out: files in their place, lines on the terminal, an exit code.
"""

import argparse
import json
from collections.abc import Callable
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path

from lyewitness import pipeline
from lyewitness.document.parts import document_of
from lyewitness.document.themes import Theme, load_theme
from lyewitness.findings.answer.outlook import outlook_lines
from lyewitness.findings.records import Report
from lyewitness.findings.revised import Issued, between
from lyewitness.keeping.comparing import as_json, issued_at, page
from lyewitness.keeping.comparing import told as lines_of_changes
from lyewitness.keeping.contents import EXPORTS, bagged, bagged_again
from lyewitness.keeping.discrepancies import Rebuilt
from lyewitness.keeping.packing import bag_target, is_packed, place_bag, read_bag, refuse_bag
from lyewitness.keeping.seals import FEWEST_SIGNS, sealed, signs_of
from lyewitness.keeping.verifying import told, verify
from lyewitness.outputs.archive import (
    file_hashes,
    refuse_changes,
    remarks_on,
    study_files,
    with_house_files,
)
from lyewitness.outputs.guide import guide_files
from lyewitness.outputs.marks import Origin, file_target, folder_target, new_study_target, stem_of
from lyewitness.outputs.paper import latest_moment
from lyewitness.outputs.placing import (
    REPLY_ENDINGS,
    place_folder,
    place_html,
    place_new,
    place_reply,
    refuse_folder,
    refuse_html,
    refuse_reply,
)
from lyewitness.reissue import keep_report, source_of
from lyewitness.store import digest_of, store_of_user
from lyewitness.study.beginning import begin, layout_of
from lyewitness.study.inside import refuse_house_file_beyond
from lyewitness.terminal import Terminal
from lyewitness.watching import keep_watch, live_page
from lyewitness.words.phrases import counted
from lyewitness.words.problems import StudyFolderError, merged

Stopped = Callable[[], None]
PASSED, WRONG = 4, 5
"""Exit codes of `look`."""
NO_PDF = 6
"""Exit code where all was written but a PDF that could not be set."""
ANOTHER_VERSION = 7
"""Exit code of `verify` where something differs, and only another version would explain it."""
# More names than these push the message off the screen.
MOST_NAMED = 5


def run(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Do what the arguments ask for, and return the exit code."""
    command: Callable[[argparse.Namespace, Terminal, Stopped], int] = COMMANDS[options.command]
    return command(options, terminal, stopped)


def _begin(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Lay out a new study folder."""
    new_study_target(options.folder)
    layout = layout_of(options.columns, options.groups, options.every, options.until)
    for name in place_new(lambda folder: begin(folder, layout), options.folder):
        terminal.say(f"wrote {options.folder / name}")
    terminal.say(f"Fill in {options.folder / 'study.toml'}, then run: lyewitness check {options.folder}")
    return 0


def _check(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Show every problem of a study folder."""
    with terminal.telling(stopped) as progress:
        store = store_of_user(not options.fresh)
        problems, missing = pipeline.problems_of(options.folder, progress, store, options.jobs)
    severities = {problem.severity for problem in problems}
    ready = "error" not in severities
    if options.format == "json":
        content = {
            "study": str(options.folder),
            "ready": ready,
            "problems": [asdict(problem) for problem in merged(problems)],
            "cannot_say": list(missing),
        }
        terminal.show_text(json.dumps(content, ensure_ascii=True, indent=1))
    else:
        terminal.show_problems(problems, beside=False)
        terminal.show_list("The report will not be able to say:", missing)
        if ready:
            terminal.say(f"Ready: lyewitness report {options.folder} --into REPORT")
    return 0 if ready and not (options.strict and "caution" in severities) else 1


def _report(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Build the report."""
    if options.one_file:
        return _one_file(options, terminal, stopped)
    target = folder_target(options.into, options.folder)
    if not options.force:
        refuse_folder(target, "report")
    theme = load_theme(options.theme)
    source = options.source or source_of(options.folder, options.theme, not options.no_pdf)
    rendered = _rendered(options, theme, terminal, stopped)
    report, files = rendered.report, rendered.files
    kept = place_folder(files, target, "report", report.study.id, options.force)
    # A folder that changed before it was read is not what the report was made from.
    if source.key and not rendered.remark and source.was_read(options.folder, file_hashes(report.provenance)):
        keep_report(store_of_user(), source.key, report.study.id, report.problems, files)
    terminal.show_problems(report.problems)
    _tell_remarks(terminal, rendered.remark, kept)
    terminal.say(f"Open {options.into / 'index.html'}")
    return NO_PDF if rendered.failed else 0


def _look(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Tell how a study that still runs stands, and what is new since the last look."""
    store = store_of_user(not options.fresh)
    with terminal.telling(stopped) as progress:
        report = pipeline.compute(options.folder, progress, store, options.jobs)
    outlook = report.findings.outlook
    here = [one.id for one in report.study.injections]
    gone = [f"{one.column} {one.marker} {one.metric}" for one in outlook.passed] if outlook else []
    # What was seen is kept apart for each folder, wherever `--fresh` looks.
    own = replace(store, used=True)
    key = digest_of("look", str(options.folder.resolve()))
    known, seen = own.recall(key)
    before, before_gone = seen if known else ([], [])
    new = [one for one in here if one not in set(before)]
    crossed = [one for one in gone if one not in set(before_gone)]
    own.keep(key, (here, gone))
    lines = (
        outlook_lines(outlook) if outlook else (f"The test has ended. {report.findings.answers[0].short}",)
    )
    if options.format == "json":
        told = asdict(outlook) if outlook else None
        content = {"study": report.study.id, "new": new, "lines": lines, "outlook": told}
        terminal.show_text(json.dumps(content, ensure_ascii=True, indent=1))
    else:
        named = f"{', '.join(new[:MOST_NAMED])}{' and more' if len(new) > MOST_NAMED else ''}"
        since = "last look" if known else "beginning"
        terminal.say(f"Since the {since}: {counted(len(new), 'injection')}{f' ({named})' if new else ''}.")
        for line in lines:
            terminal.say(line)
    return PASSED if crossed else WRONG if outlook and outlook.wrong else 0


def _watch(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Build the report whenever the study has changed."""
    target = folder_target(options.into, options.folder)
    if not options.force:
        refuse_folder(target, "report")
    theme = load_theme(options.theme)
    live = target.with_name(f"{target.name}-live.html")

    def build() -> bool:
        try:
            rendered = _rendered(options, theme, terminal, stopped)
            report = rendered.report
            place_folder(rendered.files, target, "report", report.study.id, options.force)
            place_html(live_page(target), live, report.study.id, options.force, _origin(report))
        except StudyFolderError as error:
            terminal.show_problems(error.problems)
            terminal.warn("The report is as it was; it is built again when that is mended.")
            return False
        except OSError as error:
            terminal.warn(f"{error}; tried again when something changes")
            return False
        study, outlook = report.study, report.findings.outlook
        _tell_remarks(terminal, rendered.remark)
        terminal.say(f"{counted(len(study.injections), 'injection')}; open {live}")
        return outlook is None and (study.plan.ends_h is not None or bool(study.plan.looks_h))

    keep_watch(options.folder, build, terminal.warn, stopped, options.rest)
    terminal.say(f"The test has ended. Open {options.into / 'index.html'}")
    return 0


def _one_file(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Write the whole report as one HTML file."""
    target = file_target(options.into, ".html", options.folder)
    if not options.force:
        refuse_html(target, "one file")
    theme = load_theme(options.theme)
    with terminal.telling(stopped) as progress:
        store = store_of_user(not options.fresh)
        report = pipeline.compute(options.folder, progress, store, options.jobs)
        data = pipeline.in_one_file(pipeline.render(report, theme, progress, store=store, jobs=options.jobs))
    kept = place_html(data, target, report.study.id, options.force, _origin(report))
    terminal.show_problems(report.problems)
    _tell_remarks(terminal, "", kept)
    terminal.say(f"Open {options.into.with_name(target.name)}, or send it")
    return 0


def _origin(report: Report) -> Origin:
    """Return what a file says of the study that it was made from."""
    return Origin.of(report.study.title, file_hashes(report.provenance))


def _answer(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Write the reply to one question."""
    # Its figure is drawn within its text: no other command but this one loads what draws at once.
    from lyewitness.outputs.letter import letter_on_paper, render_letter

    stem = stem_of(options.into, (".html", *REPLY_ENDINGS))
    target = file_target(stem.with_name(stem.name + ".html"), ".html", options.folder)
    for ending in REPLY_ENDINGS:
        file_target(stem.with_name(stem.name + ending), ending, options.folder)
    if not options.force:
        refuse_reply(target)
    theme = load_theme(options.theme)
    with terminal.telling(stopped) as progress:
        store = store_of_user(not options.fresh)
        report = pipeline.compute(options.folder, progress, store, options.jobs)
    answers = {answer.question.id: answer for answer in report.findings.answers}
    wanted = options.question or next(iter(answers))
    if wanted not in answers:
        terminal.refuse(f"no question '{wanted}' in this study; it has {', '.join(answers)}")
        return 1
    document = document_of(report, (), theme)
    html, text = render_letter(document, answers[wanted])
    beside, remark, failed = {".txt": text.encode()}, "", False
    if not options.no_pdf:
        pdf, remark, failed = pipeline.on_one_page(
            letter_on_paper(document, answers[wanted], store),
            {},
            latest_moment(report.study),
            f"{stem.name}.pdf",
        )
        beside |= {".pdf": pdf} if pdf else {}
    kept = place_reply(html.encode(), beside, target, report.study.id, options.force, _origin(report))
    _tell_remarks(terminal, remark, *kept)
    terminal.say(f"Open {stem.with_name(target.name)}, or send {stem.with_name(stem.name)}{min(beside)}")
    return NO_PDF if failed else 0


def _archive(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Put study and report into a bag: a folder, or one file by its ending."""
    as_file = is_packed(options.into)
    target = (
        folder_target(options.into, options.folder)
        if not as_file
        else bag_target(options.into, options.folder)
    )
    if not options.force and as_file:
        refuse_bag(target)
    elif not options.force:
        refuse_folder(target, "archive")
    theme = load_theme(options.theme)
    before = study_files(options.folder) if options.folder.is_dir() else {}
    rendered = _rendered(options, theme, terminal, stopped, exports=EXPORTS)
    report = rendered.report
    stated = file_hashes(report.provenance)
    of_study = with_house_files(options.folder, study_files(options.folder), stated)
    refuse_changes(with_house_files(options.folder, before, stated), of_study, stated)
    files = bagged(report, of_study, rendered.files, options.date or date.today())
    if as_file:
        kept = place_bag(files, target, report.study.id, options.force)
    else:
        kept = place_folder(files, target, "archive", report.study.id, options.force)
    terminal.show_problems((*report.problems, *remarks_on(of_study)))
    _tell_remarks(terminal, rendered.remark, kept)
    inside = options.into if as_file else options.into / "data" / "report" / "index.html"
    terminal.say(f"Open {inside}; check it with: lyewitness verify {options.into}")
    terminal.say(f"Its seal, to be kept elsewhere: {sealed(read_bag(target)).seal}")
    return NO_PDF if rendered.failed else 0


def _verify(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Say whether a bag is whole, and whether its numbers come out again."""
    if options.hash is not None and len(signs_of(options.hash)) < FEWEST_SIGNS:
        # Of an empty one, such as a variable that is not set, nothing would be held against the bag.
        terminal.refuse(
            f"'{options.hash}' is no hash: give the seal, or the fingerprint in the foot of the PDF, with "
            f"{FEWEST_SIGNS} signs (0 to 9, a to f) at least; or leave '--hash' out"
        )
        return 1
    bag = read_bag(options.folder)
    if options.theme:
        load_theme(options.theme)
    with terminal.telling(stopped) as progress:

        def compute(folder: Path) -> Report:
            return pipeline.compute(folder, progress, jobs=options.jobs)

        def rebuild(report: Report, folder: Path) -> Rebuilt:
            return bagged_again(
                report, folder, bag, options.theme, not options.no_pdf, progress, jobs=options.jobs
            )

        verdict = verify(bag, None if options.bytes_only else compute, rebuild, options.hash or "")
    for line in told(verdict):
        terminal.say(line)
    return {"same": 0, "version": ANOTHER_VERSION}.get(verdict.outcome, 1)


def _compare(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Tell what changed from one report to the next."""
    theme = load_theme("daylight")
    target = file_target(options.into, ".html", options.newer) if options.into else None
    if target is not None and not options.force:
        refuse_html(target, "one file")
    with terminal.telling(stopped) as progress:

        def compute(folder: Path) -> Issued:
            refuse_house_file_beyond(folder, folder.resolve().parent)
            return pipeline.issued_now(pipeline.compute(folder, progress, store_of_user()))

        old, new = (issued_at(path, compute) for path in (options.folder, options.newer))
    changes = between(old, new)
    if target is not None:
        kept = place_html(page(changes, new.title, theme), target, new.study, options.force)
        _tell_remarks(terminal, "", kept)
        terminal.say(f"Open {options.into.with_name(target.name)}")
    elif options.format == "json":
        terminal.show_text(as_json(changes))
    else:
        for line in lines_of_changes(changes, theme):
            terminal.say(line)
    return 0


def _rehearse(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Write the invented study."""
    # What invents a study takes long to load, and no other command needs it.
    from lyewitness.rehearsal.writing import rehearse

    new_study_target(options.folder)
    seed = () if options.seed is None else (options.seed,)
    place_new(lambda folder: rehearse(folder, *seed), options.folder)
    terminal.say(f"Wrote {options.folder}; next: lyewitness report {options.folder} --into REPORT")
    return 0


def _guide(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Write the guide."""
    new_study_target(options.into)
    target = folder_target(options.into)
    files = guide_files(options.helps, options.exit_codes)
    kept = place_folder(files, target, "guide", "lyewitness", options.force)
    _tell_remarks(terminal, "", kept)
    terminal.say(f"Open {options.into / 'README.md'}")
    return 0


def _rendered(
    options: argparse.Namespace, theme: Theme, terminal: Terminal, stopped: Stopped, exports: str = ""
) -> pipeline.Rendered:
    """Return the report with every file of it; its pages lead to the exports where `exports` says how."""
    with terminal.telling(stopped) as progress:
        store = store_of_user(not options.fresh)
        report = pipeline.compute(options.folder, progress, store, options.jobs)
        return pipeline.render(report, theme, progress, not options.no_pdf, store, options.jobs, exports)


def _tell_remarks(terminal: Terminal, remark: str, *kept: Path | None) -> None:
    """Print what else is to be known of what was written."""
    if remark:
        terminal.warn(remark)
    for path in kept:
        if path is not None:
            terminal.warn(f"What stood there is kept as '{path}'.")


def _shelf(options: argparse.Namespace, terminal: Terminal, stopped: Stopped) -> int:
    """Put finished studies side by side."""
    # What serves the shelf is loaded for the shelf alone.
    from lyewitness.shelf.command import run as shelve

    return shelve(options, terminal, stopped)


COMMANDS: dict[str, Callable[[argparse.Namespace, Terminal, Stopped], int]] = {
    "begin": _begin,
    "check": _check,
    "report": _report,
    "look": _look,
    "watch": _watch,
    "answer": _answer,
    "archive": _archive,
    "rehearse": _rehearse,
    "verify": _verify,
    "compare": _compare,
    "shelf": _shelf,
    "guide": _guide,
}
