"""The dated notes of a study, with their references checked.

In: the folder's `notes/*.md`. Out: `Note`s and problems with file and line.
"""

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from lyewitness.study.gathering import Gathering, listed, suggestion, with_article
from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Note
from lyewitness.study.toml_text import parsed
from lyewitness.words.decoding import decoded

REFERENCE = re.compile(r"\[\[([a-z]+):([^\[\]|]+)(?:\|([^\[\]]+))?\]\]")
"""`[[kind:id]]`, or `[[kind:id|words of the link]]`."""
FENCE = "+++"
OTHER_FENCE = "---"
HEADER_KEYS = ("title", "date", "author")


def read_notes(
    files: StudyFiles, known: Mapping[str, Sequence[str]]
) -> tuple[tuple[Note, ...], list[Gathering]]:
    """Return the notes sorted by date and name, and the problems of each.

    `known` holds the ids that may be referred to, by kind; `note` is added here.
    """
    names = files.names_below("notes", "*.md")
    targets = {**known, "note": [_note_id(name) for name in names]}
    notes, gatherings = [], []
    for name in names:
        problems = Gathering(name)
        notes.append(_note(name, decoded(files.read(name) or b""), targets, problems))
        gatherings.append(problems)
    notes.sort(key=lambda note: (note.dated is None, note.dated or date.max, note.id))
    return tuple(notes), gatherings


def _note(name: str, text: str, targets: Mapping[str, Sequence[str]], problems: Gathering) -> Note:
    """Return one note."""
    header, body, first_line = _header(text, problems)
    dated = header.get("date")
    if isinstance(dated, datetime):
        dated = dated.date()
    if dated is not None and not isinstance(dated, date):
        problems.note(
            "header, date", f"{dated!r}", "a date such as 2026-03-02, without quotes", "Correct it."
        )
        dated = None
    heading = next((line.strip("# \t") for line in body.split("\n") if line.startswith("#")), "")
    title = str(header.get("title") or heading or _note_id(name))
    references = _references(body, first_line, targets, problems)
    return Note(
        id=_note_id(name),
        file=name,
        title=title,
        text=body,
        dated=dated,
        author=str(header.get("author", "")),
        references=references,
    )


def _header(text: str, problems: Gathering) -> tuple[dict[str, object], str, int]:
    """Return the header's keys, the text below it and the line number on which that begins."""
    lines = text.split("\n")
    if lines[0].strip() == OTHER_FENCE:
        cure = f"Write {FENCE} for {OTHER_FENCE}, and 'title = \"…\"', 'date = 2026-03-02' between them."
        problems.caution("line 1", f"a header between {OTHER_FENCE}", f"TOML between lines {FENCE}", cure)
    if lines[0].strip() != FENCE:
        return {}, text, 1
    end = next((number for number, line in enumerate(lines[1:], start=1) if line.strip() == FENCE), None)
    if end is None:
        problems.note(
            "line 1", f"a header without end ({FENCE})", f"a second line {FENCE}", "Close the header."
        )
        return {}, "\n".join(lines[1:]), 2
    header = parsed("\n".join(lines[1:end]), problems, first_line=2) or {}
    for key in header:
        if key not in HEADER_KEYS:
            problems.caution("header", f"the key '{key}'", f"one of {listed(HEADER_KEYS)}", "It is not read.")
    return header, "\n".join(lines[end + 1 :]), end + 2


def _references(
    body: str, first_line: int, targets: Mapping[str, Sequence[str]], problems: Gathering
) -> tuple[tuple[str, str], ...]:
    """Return what the note points at; a reference to what does not exist names its line."""
    references = []
    for number, line in enumerate(body.split("\n"), start=first_line):
        for match in REFERENCE.finditer(line):
            kind, target = match[1], match[2].strip()
            references.append((kind, target))
            if kind not in targets:
                cure = suggestion(kind, targets, "Use one of these kinds.")
                problems.note(f"line {number}", f"{match[0]}", f"a kind among {listed(targets)}", cure)
            elif target not in targets[kind]:
                cure = suggestion(target, targets[kind], f"Name {with_article(kind)} of this study.")
                problems.note(f"line {number}", f"{match[0]}", f"{with_article(kind)} that exists", cure)
    return tuple(references)


def _note_id(name: str) -> str:
    """Return the file name without folder and ending."""
    return name.rpartition("/")[2].removesuffix(".md")
