"""What the medium is and what it asks to mind: its chemistry and the cautions, on screen and on paper.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator

from lyewitness.document.blocks import Abreast, Beside, Block, Facts, Part, Point, Prose, Section
from lyewitness.document.cells import conditions_words, in_line
from lyewitness.document.edition import Edition


def chemistry_on_screen(edition: Edition) -> Iterator[Part]:
    """Yield what the chemistry of the medium says, with the conditions it starts from."""
    say, path = edition.say, edition.page("chemistry")
    yield Part(
        key="chemistry",
        path=path,
        title=say("chemistry.title"),
        blocks=(
            Beside((say("chemistry.lead"),), tuple(_conditions(edition)), lead=True),
            *_facts(edition),
            *edition.figures_at(path),
        ),
    )


def _conditions(edition: Edition) -> Iterator[Block]:
    """Yield the conditions of the stress and, where they differ, of the injections."""
    study, say = edition.report.study, edition.say
    stress, test = conditions_words(edition, study.stress), conditions_words(edition, study.test)
    yield Section(say("chemistry.stress"), (Facts(stress),), apart=False)
    if test != stress:
        yield Section(say("chemistry.test"), (Facts(test),), apart=False)


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
