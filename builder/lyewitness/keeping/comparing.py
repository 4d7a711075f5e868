"""Two issued reports held against each other: study folders, reports, or bags in any form.

In: two paths. Out: `Changes`, told as lines, as JSON, or as one HTML page that opens from the disk.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

from lyewitness.document.changes import editions, kinds_of
from lyewitness.document.themes import Theme
from lyewitness.findings.revised import Changes, Issued, issued, sheets
from lyewitness.keeping.packing import NoBagError, is_packed, read_bag
from lyewitness.keeping.verifying import verify
from lyewitness.outputs.templates import templates_of

Compute = Callable[[Path], Issued]
POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"
"""Of the page: it loads and runs nothing."""
NOTHING = "–"


def issued_at(path: Path, compute: Compute) -> Issued:
    """Return the report at a path; a study folder, and the study in a bag without a report, is computed.

    Raises NoBagError where there is none of these.
    """
    if is_packed(path) or (path / "bagit.txt").is_file():
        bag = read_bag(path)
        verdict = verify(bag, compute=None)
        if verdict.outcome == "broken":
            wrong = "contradicts itself" if verdict.whole else "is not whole"
            raise NoBagError(f"'{path}' {wrong}; 'lyewitness verify {path}' names where")
        files = bag.below("data/report/")
        if "data/claims.json" not in files:
            raise NoBagError(f"'{path}' holds no report; name a bag that 'lyewitness archive' wrote")
        return issued(files)
    if (path / "study.toml").is_file():
        return compute(path)
    if (path / "data/claims.json").is_file():
        held = sorted(one for one in (path / "data").iterdir() if one.is_file())
        return issued({f"data/{one.name}": one.read_bytes() for one in held})
    raise NoBagError(f"'{path}' is no study folder, report or bag; name one of these")


def told(changes: Changes, theme: Theme) -> Iterator[str]:
    """Yield what changed in lines: which two reports, what was, and below it what is now."""
    yield from editions(changes, theme)
    shown = tuple(_worded(changes, theme))
    if not shown:
        yield theme.say("changes.nothing")
    for heading, rows in shown:
        yield f"{heading}:"
        for what, was, now in rows:
            yield f"  {what}"
            yield f"    was     {was}"
            yield f"    is now  {now}"
    yield _numbers(changes, theme)


def as_json(changes: Changes) -> str:
    """Return what changed as JSON, each kind of change under its name."""
    content = asdict(changes) | {"withdrawn": [asdict(one) for one in changes.withdrawn]}
    return json.dumps(content, ensure_ascii=True, indent=1)


def page(changes: Changes, title: str, theme: Theme) -> bytes:
    """Return what changed as one HTML document."""
    values = {
        "say": theme.say,
        "title": title or changes.new,
        "editions": tuple(editions(changes, theme)),
        "sheets": tuple(_worded(changes, theme)),
        "numbers": _numbers(changes, theme),
        "heads": [theme.say(f"heads.{key}") for key in ("what_changed", "was", "now")],
    }
    return templates_of(theme).page("compare.html", values, POLICY).encode("utf-8")


def _worded(changes: Changes, theme: Theme) -> Iterator[tuple[str, list[tuple[str, str, str]]]]:
    """Yield heading and rows of each sheet in the words of the theme."""
    for name, rows in sheets(changes, kinds_of(theme, changes)):
        yield (
            theme.say(f"changes.sheet.{name}"),
            [(what, was or NOTHING, now or NOTHING) for what, was, now in rows],
        )


def _numbers(changes: Changes, theme: Theme) -> str:
    return theme.say("changes.numbers", changed=changes.numbers_changed, all=changes.numbers)
