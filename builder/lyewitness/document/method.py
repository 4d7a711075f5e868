"""How each number was computed: metrics, steps, strengths, how true they proved, choices, words.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator
from dataclasses import fields, replace

from lyewitness.document.bands import banded
from lyewitness.document.blocks import (
    Abreast,
    Block,
    Fact,
    Facts,
    Listing,
    Part,
    Point,
    Prose,
    Row,
    Section,
    Table,
)
from lyewitness.document.cells import conditions_words
from lyewitness.document.edition import Edition
from lyewitness.document.tables import columns_of, table, words
from lyewitness.document.truth import accuracy_table, accuracy_words, calibration_table, rules_table
from lyewitness.peaks.records import FLAGS
from lyewitness.study.records import Choices
from lyewitness.words.limits import limit_text
from lyewitness.words.metrics import METRICS, metric_name
from lyewitness.words.names import slug


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the method page."""
    path, say = edition.page("method"), edition.say
    yield Part(
        key="method",
        path=path,
        title=say("method.title"),
        blocks=(
            Prose((say("method.lead"),), "lead"),
            Section(say("method.metrics"), _metrics(), "metrics"),
            Abreast(_notes(edition), "abreast"),
            Section(say("method.truth"), tuple(_truth(edition)), "truth"),
            *edition.figures_at(path),
            Section(say("method.strengths"), _strengths(edition), "strengths"),
            *_rules(edition),
            _flag_table(edition),
            _choice_table(edition),
            *_limits(edition),
            Section(say("method.conditions"), _conditions(edition), "conditions"),
            Section(say("method.glossary"), _glossary(edition), "glossary"),
        ),
    )


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the same without what stands elsewhere on paper: the limits, the conditions, the words."""
    say = edition.say
    rules = (banded(one, by=("rule 0",), style="rules") for one in _rules(edition))
    yield Part(
        key="method",
        path=edition.page("method"),
        title=say("method.title"),
        blocks=(
            Section(say("method.metrics"), (_defined(_metrics()),), apart=False),
            Abreast(_notes(edition), "two-columns"),
            Section(say("method.strengths"), (_defined(_strengths(edition)),), apart=False),
            Section(say("method.truth"), tuple(_truth(edition)), apart=False),
            *rules,
            replace(_flag_table(edition), style="flags"),
            _choice_table(edition),
        ),
    )


def _defined(points: tuple[Point, ...]) -> Facts:
    return Facts(tuple(Fact(one.id, one.name, one.bearing) for one in points))


def _metrics() -> tuple[Point, ...]:
    return tuple(
        Point("definition", f"metric-{one.id.replace('_', '-')}", one.words, "", bearing=one.explanation)
        for one in METRICS.values()
        if one.shown
    )


def _strengths(edition: Edition) -> tuple[Point, ...]:
    return tuple(
        Point("definition", f"strength-{key}", edition.say(f"strength.{key}"), "", bearing=text)
        for key, text in edition.theme.words_of("strength_means").items()
    )


def _notes(edition: Edition) -> tuple[Point, ...]:
    """Return how every stage computed."""
    anchor = edition.addresses.anchor
    return tuple(
        Point("note", anchor("method", heading), heading, text)
        for heading, text in edition.report.method_notes
    )


def _truth(edition: Edition) -> Iterator[Block]:
    """Yield how true the numbers proved on simulated studies."""
    yield Prose((accuracy_words(edition),))
    yield accuracy_table(edition)
    yield Prose((edition.say("method.calibration_words"),))
    yield replace(calibration_table(edition), style="calibration")


def _rules(edition: Edition) -> Iterator[Table]:
    rules = rules_table(edition)
    if rules:
        yield rules


def _limits(edition: Edition) -> Iterator[Section]:
    """Yield the limits of the study."""
    lines = tuple(
        (edition.say("front.limit", metric=metric_name(limit.metric), limit=limit_text(limit), markers=""),)
        for limit in edition.report.study.limits
    )
    if lines:
        yield Section(edition.say("method.limits"), (Listing(lines),), "limits")


def _conditions(edition: Edition) -> tuple[Facts]:
    return (Facts(conditions_words(edition, edition.report.study.test)),)


def glossary_anchor(term: str) -> str:
    """Return where the meaning of a term stands on the method page."""
    return f"term-{slug(term)}"


def _glossary(edition: Edition) -> tuple[Point, ...]:
    return tuple(
        Point("definition", glossary_anchor(term), term, "", bearing=text)
        for term, text in sorted(edition.theme.words_of("glossary").items())
    )


def _flag_table(edition: Edition) -> Table:
    counted = {flag: sum(flag in row.flags for row in edition.report.measurements.rows) for flag in FLAGS}
    return table(
        edition,
        f"{edition.page('method')}#table-flags",
        edition.say("method.flags_title"),
        columns_of(edition, "flag", "meaning", "peaks_flagged"),
        [Row((words(flag), words(text), words(str(counted[flag])))) for flag, text in FLAGS.items()],
        csv="data/measurements.csv",
    )


def _choice_table(edition: Edition) -> Table:
    """Return every choice with its value in this study and whether that is the default."""
    return table(
        edition,
        f"{edition.page('method')}#table-choices",
        edition.say("method.choices_title"),
        columns_of(edition, "choice", "here", "default", "whence"),
        [_choice_row(edition, one.name) for one in fields(Choices)],
        csv="data/provenance.json",
    )


def _choice_row(edition: Edition, name: str) -> Row:
    value, usual = getattr(edition.report.study.choices, name), getattr(Choices(), name)
    return Row(
        (
            words(edition.say(f"choices.{name}")),
            words(_value_words(edition, value)),
            words(_value_words(edition, usual)),
            words(edition.say("choices.is_default" if value == usual else "choices.is_own")),
        )
    )


def _value_words(edition: Edition, value: object) -> str:
    if value is None:
        return edition.say("common.none")
    if isinstance(value, bool):
        return edition.say("common.yes" if value else "common.no")
    return f"{value:g}" if isinstance(value, float) else str(value)
