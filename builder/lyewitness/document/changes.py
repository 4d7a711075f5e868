"""What has changed since an earlier revision: a page of its own, and a sentence on the first screen.

In: `Edition`. Out: `Part`s, and the sentence.
"""

from collections.abc import Iterator, Sequence

from lyewitness.document.blocks import Block, Link, Part, Prose, Row, Section, Strong, Table
from lyewitness.document.edition import Edition
from lyewitness.document.tables import columns_of, table, words
from lyewitness.document.themes import Theme
from lyewitness.findings.revised import KINDS, Changes, ClaimChange, sheets
from lyewitness.words.phrases import sentence

NOTHING = "–"
NOT_PRINTED = ("files",)
"""Sheets whose rows nobody reads on paper; the tables attached to it have them."""
MOST_QUOTED = 2
"""Withdrawn claims that the first screen quotes: a third would push the answer out of sight."""


def changed_words(edition: Edition, question: str) -> Prose | None:
    """Return what has become of the claims since the earlier revision; None where none is kept.

    What an answer quotes are the claims of its own question.
    """
    changes = edition.report.changes
    if changes is None:
        return None
    own = [one for one in changes.withdrawn if one.question == question]
    told: list[str | Link | Strong] = [f"{edition.say('changes.since', old=changes.old)} "]
    if own:
        told += [Strong(edition.say("changes.withdrawn", n=len(own))), f" {_quoted(own)} "]
    told.append(f"{_counted(edition, changes, question)} ")
    return Prose((*told, Link(edition.say("changes.all"), edition.page("changes"))))


def _quoted(gone: Sequence[ClaimChange]) -> str:
    return " ".join(f"‘{one.was}’" for one in gone[:MOST_QUOTED])


def _counted(edition: Edition, changes: Changes, question: str) -> str:
    """Return how many claims of a question changed in which way; that none did where none has."""
    own = [one for one in changes.claims if one.question == question and not one.withdrawn]
    counts = {kind: sum(one.kind == kind for one in own) for kind in KINDS}
    told = [edition.say(f"changes.count.{kind.replace(' ', '_')}", n=n) for kind, n in counts.items() if n]
    if told and changes.lost and any(one.firmer for one in own):
        told[-1] += f" ({edition.say('changes.less', lost=changes.lost)})"
    if told:
        return edition.say("changes.counted", parts=", ".join(told))
    return "" if any(one.question == question for one in changes.claims) else edition.say("changes.same")


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the page, where the study keeps the report of an earlier revision."""
    if edition.report.changes is not None:
        yield _part(edition, edition.report.changes, without=())


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the same without what only a program compares."""
    if edition.report.changes is not None:
        yield _part(edition, edition.report.changes, without=NOT_PRINTED)


def kinds_of(theme: Theme, changes: Changes) -> dict[str, str]:
    """Return the words for what became of a claim; of two studies none becomes of the other."""
    words = "kind" if changes.of_one else "kind_of_two"
    names = ("withdrawn", *KINDS) if changes.of_one else KINDS
    return {one: theme.say(f"changes.{words}.{one.replace(' ', '_')}") for one in names}


def editions(changes: Changes, theme: Theme) -> Iterator[str]:
    """Yield which two reports these are, why the later one was made, and whether they are of two studies."""
    for role, one in (("earlier", changes.earlier), ("later", changes.later)):
        yield theme.say(f"changes.{role}", study=one.study or NOTHING, title=one.title, name=one.name)
    if changes.later.why:
        yield theme.say("changes.because", why=f"{sentence(changes.later.why)}")
    if changes.lost:
        yield theme.say("changes.without", lost=changes.lost)
    if changes.earlier.study != changes.later.study:
        yield theme.say("changes.takes_the_place" if changes.of_one else "changes.two_studies")


def _part(edition: Edition, changes: Changes, without: Sequence[str]) -> Part:
    say = edition.say
    lead = " ".join(
        (say("changes.lead", old=changes.old, new=changes.new), *editions(changes, edition.theme))
    )
    told = say("changes.numbers", changed=changes.numbers_changed, all=changes.numbers)
    shown = [
        (name, rows)
        for name, rows in sheets(changes, kinds_of(edition.theme, changes))
        if name not in without
    ]
    blocks: list[Block] = [Prose((f"{lead} {told}",), "lead")]
    if not shown:
        blocks.append(Prose((say("changes.nothing"),)))
    for name, rows in shown:
        blocks.append(Section(say(f"changes.sheet.{name}"), (_table(edition, name, rows),), apart=False))
    return Part(key="changes", path=edition.page("changes"), title=say("changes.title"), blocks=tuple(blocks))


def _table(edition: Edition, name: str, rows: Sequence[tuple[str, str, str]]) -> Table:
    """Return one sheet with what was and what is side by side."""
    return table(
        edition,
        f"{edition.page('changes')}#table-{name}",
        edition.say(f"changes.sheet.{name}"),
        columns_of(edition, "what_changed", "was", "now"),
        [Row((words(what), words(was), words(now))) for what, was, now in rows],
    )
