"""The command `shelf`, from arguments to exit code; it loads no stage unless a study must be measured.

In: parsed arguments, the terminal. Out: the site in its place or lines on the terminal, an exit code.
"""

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from lyewitness.findings.records import Report
from lyewitness.outputs.marks import folder_target
from lyewitness.outputs.placing import place_folder
from lyewitness.shelf.asking import ask, foreseen_words, heard_words, mixed, nothing_found
from lyewitness.shelf.gathering import gather
from lyewitness.shelf.records import Shelved
from lyewitness.shelf.site import SHELF_ID, Earlier, read_earlier, site
from lyewitness.store import store_of_user
from lyewitness.terminal import Terminal
from lyewitness.words.phrases import counted, sentence, spelled

MOST_SHOWN = 10
"""Studies that a question is answered with: more than a screen of them nobody reads."""
MOST_DAMAGED = 5
"""Damaged studies that are named on the terminal: more would push the rest off the screen; pages name all."""
DAMAGED = 5
"""Exit code where the work is done, and a study of the shelf could not be read."""


def run(options: argparse.Namespace, terminal: Terminal, stopped: Callable[[], None]) -> int:
    """Put finished studies on a shelf, or ask the shelf."""
    if not options.folder.is_dir():
        terminal.refuse(f"'{options.folder}' is no folder; name the one that holds your finished studies")
        return 1
    if options.into is None and not options.ask:
        terminal.refuse("say --into SITE to write the shelf, or --ask 'WORDS' to ask it")
        return 2
    target = folder_target(options.into, options.folder, "the folder of the shelf") if options.into else None
    earlier = read_earlier(target) if target else Earlier()
    with terminal.telling(stopped) as progress:

        def compute(folder: Path) -> Report:
            # Loading every stage takes longer than a whole shelf of finished reports.
            from lyewitness import pipeline

            return pipeline.compute(folder, progress, store_of_user())

        shelf = gather(options.folder, earlier.memory, compute)
    if not shelf.studies:
        terminal.refuse(f"'{options.folder}' holds no report, bag or study folder; name the one that does")
        return 1
    here = {one.id for one in shelf.studies}
    for one in shelf.studies:
        if one.supersedes and one.supersedes not in here:
            terminal.warn(
                f"'{one.place}' takes the place of study '{one.supersedes}', which is not on this shelf; "
                "put that one beside it, or mend 'supersedes' in its study.toml"
            )
    damaged = [one for one in shelf.studies if one.damage]
    _tell_damaged(damaged, terminal)
    if target is not None:
        up = f"{os.path.relpath(options.folder.resolve(), target)}/".replace(os.sep, "/")
        kept = place_folder(site(shelf, up, earlier), target, "shelf", SHELF_ID, options.force)
        if kept is not None:
            terminal.warn(f"What stood there is kept as '{kept}'.")
        studies = counted(len(shelf.studies), "study", "studies")
        anew = spelled(shelf.read_anew) if shelf.read_anew else "none"
        terminal.say(f"{sentence(studies)[:-1]}, {anew} of them new or changed.")
        terminal.say(f"Open {options.into / 'index.html'}")
    if options.ask:
        for line in _reply(options.ask, options.folder, shelf.studies):
            terminal.say(line)
    return DAMAGED if damaged else 0


def _tell_damaged(damaged: Sequence[Shelved], terminal: Terminal) -> None:
    """Say which studies cannot be read, why, and what to do."""
    for one in damaged[:MOST_DAMAGED]:
        terminal.warn(f"'{one.place}' counts nowhere on this shelf. {one.damage}")
    if len(damaged) > MOST_DAMAGED:
        terminal.warn(f"And {spelled(len(damaged) - MOST_DAMAGED)} more; the pages of the shelf name them.")
    if damaged:
        terminal.warn("Mend what is damaged, or put a whole copy in its place, and run the command again.")


def _reply(question: str, folder: Path, studies: Sequence[Shelved]) -> Iterator[str]:
    """Yield the nearest studies with answers and reasons, how many more there are, and a life foreseen."""
    hits = ask(question, studies)
    if told := heard_words(question, studies):
        yield told
    if not hits:
        yield nothing_found(question, studies)
    for place, hit in enumerate(hits[:MOST_SHOWN], start=1):
        invented = ", invented" if hit.study.invented else ""
        yield f"{place}. {hit.study.title}{invented} ({folder / hit.study.page})"
        yield f"   {hit.answer}"
        yield f"   because it {'; '.join(hit.why)}"
        yield from (f"   {told}" for told in hit.beneath)
    if told := mixed(hits[:MOST_SHOWN]):
        yield told
    if len(hits) > MOST_SHOWN:
        yield f"{MOST_SHOWN} of {len(hits)} shown; name more of what you ask for to see fewer."
    if life := foreseen_words(question, studies):
        yield life
