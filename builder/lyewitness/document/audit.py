"""The audit of comparison and folder, and the medium with what it asks to mind, on screen and on paper.

In: `Edition`. Out: `Part`s.
"""

import re
from collections.abc import Iterator
from dataclasses import replace

from lyewitness.document.answers import audit_words, checks_for
from lyewitness.document.blocks import (
    Abreast,
    Beside,
    Block,
    Cell,
    Code,
    Column,
    Facts,
    Listing,
    Part,
    Point,
    Prose,
    Row,
    Section,
    Table,
    Words,
)
from lyewitness.document.edition import Edition
from lyewitness.document.tables import (
    about,
    asked_again,
    columns_of,
    conditions_words,
    in_line,
    subject,
    table,
    words,
)
from lyewitness.findings.audit.points import lacking
from lyewitness.findings.records import Check, CheckResult
from lyewitness.words.phrases import counted, opening, run_together
from lyewitness.words.problems import Problem


def chemistry_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield what the chemistry of the medium says, with the conditions it starts from."""
    say, path = edition.say, edition.page("chemistry")
    yield Part(
        key="chemistry",
        path=path,
        title=say("chemistry.title"),
        blocks=(
            Beside((say("chemistry.lead"),), tuple(_conditions(edition)), lead=True),
            *edition.figures_at(path),
            *((_fact_table(edition),) if edition.report.findings.chemistry else ()),
        ),
    )


def _conditions(edition: Edition) -> Iterator[Block]:
    """Yield the conditions of the stress and, where they differ, of the injections."""
    study, say = edition.report.study, edition.say
    stress, test = conditions_words(edition, study.stress), conditions_words(edition, study.test)
    yield Section(say("chemistry.stress"), (Facts(stress),), apart=False)
    if test != stress:
        yield Section(say("chemistry.test"), (Facts(test),), apart=False)


def _fact_table(edition: Edition) -> Table:
    """Return every fact as a row: its number, how that comes about, what it means, and where it stands."""
    say, path = edition.say, edition.page("chemistry")
    rows = tuple(
        Row(
            (
                Cell(fact.name),
                Cell(fact.value or say("chemistry.no_number")),
                Cell(fact.text),
                Cell(fact.bearing),
                Cell(fact.source),
            ),
            edition.addresses.anchor("chemistry", fact.id),
        )
        for fact in edition.report.findings.chemistry
    )
    heads = ("what", "value", "how", "means", "source")
    made = table(
        edition,
        f"{path}#table-chemistry",
        say("chemistry.table"),
        tuple(Column(key, say(f"chemistry.{key}")) for key in heads),
        rows,
        "data/chemistry.csv",
        style="facts",
    )
    # Every row has another unit: decimal points have nothing to stand below.
    return replace(made, rows=rows)


def _facts(edition: Edition) -> tuple[Point, ...]:
    return tuple(
        Point(
            kind="fact",
            id=edition.addresses.anchor("chemistry", fact.id),
            name=fact.name,
            text=fact.text,
            bearing=fact.bearing,
            source=fact.source,
        )
        for fact in edition.report.findings.chemistry
    )


def chemistry_on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the same in two columns."""
    stress = in_line(conditions_words(edition, edition.report.study.stress))
    yield Part(
        key="chemistry",
        path=edition.page("chemistry"),
        title=edition.say("chemistry.title"),
        blocks=(
            Prose((f"{edition.say('chemistry.lead')} {stress}",), "lead"),
            *edition.figures_at(edition.page("chemistry")),
            Abreast(_facts(edition), "two-columns"),
        ),
    )


def cautions_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the safety cautions that the study's conditions call for."""
    yield _cautions(edition, _points(edition))


def cautions_on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the same in two columns."""
    yield _cautions(edition, (Abreast(_points(edition), "two-columns"),))


def _cautions(edition: Edition, blocks: tuple[Block, ...]) -> Part:
    return Part(
        key="cautions",
        path=edition.page("cautions"),
        title=edition.say("cautions.title"),
        blocks=(Prose((edition.say("cautions.lead"),), "lead"), *blocks),
    )


def _points(edition: Edition) -> tuple[Point, ...]:
    return tuple(
        Point(
            kind="caution",
            id=edition.addresses.anchor("caution", caution.id),
            name=caution.title,
            text=caution.text,
            source=caution.called_for_by,
        )
        for caution in edition.report.findings.cautions
    )


RESULTS: tuple[CheckResult, ...] = ("problem", "caution", "not possible", "good")
"""The order in which checks are told: what bears on the answer first."""


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the checks that did not come out good as sentences, worst first, and all as one table."""
    path = edition.page("audit")
    yield Part(
        key="audit",
        path=path,
        title=edition.say("audit.title"),
        blocks=(
            Prose((_counted(edition),), "lead"),
            *edition.figures_at(path),
            *_not_good(edition),
            *_missing(edition),
            _check_table(edition),
        ),
    )


def _counted(edition: Edition) -> str:
    """Return how the checks came out, each once, and how many more lines the tables have for one question."""
    checks, every = checks_for(edition), edition.report.findings.checks
    told = audit_words(edition, checks)
    more = len(every) - len(checks)
    again = edition.say("audit.again", n=counted(more, "check"), all=len(every)) if more else ""
    return run_together([told, again])


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the same, the good checks alone as a table: what was missing stands with the first answer.

    Rows to be put into a table are for the screen, from which they can be taken: a check tells of them here.
    """
    problems = tuple(
        _told(edition, problem) for problem in edition.report.problems if "\n" not in problem.cure
    )
    yield Part(
        key="audit",
        path=edition.page("audit"),
        title=edition.say("audit.title"),
        blocks=(
            Prose((_counted(edition),), "lead"),
            *(
                Section(section.heading, (Abreast(section.blocks, "claims"),), apart=False)
                for section in _not_good(edition)
            ),
            _good_table(edition),
            *((Section(edition.say("audit.met"), (Listing(problems),), apart=False),) if problems else ()),
        ),
    )


def _not_good(edition: Edition) -> Iterator[Section]:
    """Yield the checks of each result but the good ones, as many as are counted; then those asked again."""
    place = 0
    counted_once = checks_for(edition)
    for result in RESULTS[:-1]:
        checks = [check for check in counted_once if check.result == result]
        if checks:
            place += 1
            heading = edition.say(f"audit.heading.{result.replace(' ', '_')}")
            yield Section(heading, tuple(_check(edition, one) for one in checks), f"result-{place}")
    again = asked_again(edition)
    for question in edition.report.study.questions:
        own = [
            check
            for check in sorted(edition.report.findings.checks, key=lambda one: RESULTS.index(one.result))
            if again.get(check.id, ("", ""))[1] == question.id and check.result != "good"
        ]
        if own:
            place += 1
            heading = edition.say("audit.heading.again", question=opening(question.text))
            yield Section(heading, tuple(_check(edition, one) for one in own), f"result-{place}")


def _check(edition: Edition, check: Check) -> Point:
    return Point(
        kind="check",
        id=edition.addresses.anchor("check", check.id),
        name=check.check,
        text=check.detail,
        strength=_result(edition, check),
        subject=subject(edition, check),
        bearing=check.bearing,
        cure=check.cure,
    )


def _result(edition: Edition, check: Check) -> str:
    return edition.say(f"audit.result.{check.result.replace(' ', '_')}")


def _missing(edition: Edition) -> Iterator[Block]:
    """Yield what is missing besides the checks that could not be made; apart, what was met in the folder."""
    found = edition.report.findings
    above = {lacking(check) for check in found.checks if check.result == "not possible"}
    missing = tuple((one,) for one in found.missing if one not in above)
    if missing:
        lead = (Prose((edition.say("audit.besides"),)),) if above & set(found.missing) else ()
        yield Section(edition.say("front.missing"), (*lead, Listing(missing, explained=True)), "missing")
    if problems := tuple(_told(edition, problem) for problem in edition.report.problems):
        met = (Prose((edition.say("audit.met_for"),)), Listing(problems))
        yield Section(edition.say("audit.met"), met, "met")


_QUOTED = re.compile(r"(?<!\w)'([^'\n]+)'(?!\w)")
"""What a message of the terminal quotes, in the quotation marks of one."""


def _told(edition: Edition, problem: Problem) -> Words:
    """Return what was met in the folder in a sentence: a message of the terminal is none.

    Rows to be put into a table stand as code, each after its own words.
    """
    where = ", ".join(part for part in (problem.file, problem.place) if part)
    lead = f"{edition.say('audit.met_in', where=where)} " if where else ""
    expected = edition.say("audit.met_expected", expected=problem.expected)
    first, *more = f"{lead}{problem.found}. {expected} {problem.cure}".strip().split("\n")
    return (
        _QUOTED.sub(r"‘\1’", first),
        *(part for line in more for part in (" ", line if line.endswith(":") else Code(line))),
    )


def _asked(edition: Edition, check: Check) -> Cell:
    """Return what was asked; where more is said of it on the page, with the way there."""
    return words(check.check, href="" if check.result == "good" else edition.addresses.of("check", check.id))


def _check_table(edition: Edition) -> Table:
    checks = sorted(edition.report.findings.checks, key=lambda one: RESULTS.index(one.result))
    return table(
        edition,
        f"{edition.page('audit')}#table-checks",
        edition.say("audit.table_title"),
        columns_of(edition, "check", "subject", "result", "detail"),
        [_check_row(edition, check) for check in checks],
        csv="data/checks.csv",
        style="stacked",
    )


def _check_row(edition: Edition, check: Check) -> Row:
    return Row(
        (
            _asked(edition, check),
            _short(words(check.subject)),
            _short(words(_result(edition, check), key=str(RESULTS.index(check.result)))),
            words(check.detail),
        ),
        id=edition.addresses.anchor("check", check.id) if check.result == "good" else "",
    )


SHORT = 12
"""Letters up to which words stay on one line: the ids of two columns, `the study`, `not possible`."""


def _short(cell: Cell) -> Cell:
    return replace(cell, held=len(cell.text) <= SHORT)


def _good_table(edition: Edition) -> Table:
    """Return the checks that found nothing amiss."""
    good = [check for check in edition.report.findings.checks if check.result == "good"]
    told = [(one, " ".join(text for text in (one.detail, one.bearing) if text)) for one in good]
    anchors = edition.addresses
    return table(
        edition,
        f"{edition.page('audit')}#table-checks",
        edition.say("audit.heading.good"),
        columns_of(edition, "check", "detail"),
        [
            Row((words(about(edition, one)), words(found)), id=anchors.anchor("check", one.id))
            for one, found in told
        ],
        style="checks",
    )
