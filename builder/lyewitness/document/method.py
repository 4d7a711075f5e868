"""How each number was computed: metrics, steps, strengths, how true they proved, choices, words.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace

from lyewitness.decline.method_notes import KindOfStudy, shipped_calibration
from lyewitness.document.blocks import (
    Abreast,
    Block,
    Cell,
    Column,
    Fact,
    Facts,
    FigureBlock,
    Link,
    Listing,
    Part,
    Point,
    Prose,
    Row,
    Section,
    Table,
)
from lyewitness.document.edition import Edition
from lyewitness.document.tables import banded, columns_of, conditions_words, number, table, words
from lyewitness.peaks.method_notes import ACCURACY, MetricAccuracy, shipped_accuracy
from lyewitness.peaks.records import FLAGS
from lyewitness.study.records import Choices
from lyewitness.words.lives import limit_text
from lyewitness.words.metrics import METRICS, metric_name
from lyewitness.words.names import slug
from lyewitness.words.numbers import stated
from lyewitness.words.phrases import listed

SHARES = ("life", "group life", "ratio of lives", "said to differ", "said to differ by the all-knowing")
"""Shares of the calibration that the table shows, by their names in the shipped file."""


def accuracy_table(edition: Edition) -> Table:
    """Return the errors of the measured metrics on simulated studies, beside what they may be."""
    found = shipped_accuracy()
    noisy = {one.metric: one for one in found.noisiest}
    rows = [Row(_errors(one, noisy.get(one.metric))) for one in found.metrics]
    names = ("metric", "limit", "median_error", "bias", "median_error_noisy", "bias_noisy")
    return _table(edition, "accuracy", columns_of(edition, *names), rows)


def accuracy_words(edition: Edition) -> str:
    """Return which peaks and studies the table is about, and how many peaks were found."""
    found = shipped_accuracy()
    return edition.say(
        "method.accuracy_words",
        conditions=found.conditions,
        studies=found.studies,
        present=stated(found.peaks_present),
        wrong=found.peaks_lost + found.peaks_misnamed,
        absent=found.markers_absent,
        invented=found.peaks_invented,
    )


def _errors(one: MetricAccuracy, noisy: MetricAccuracy | None) -> tuple[Cell, ...]:
    pairs = [(one.median_error_percent, one.bias_percent)]
    pairs += [(noisy.median_error_percent, noisy.bias_percent)] if noisy else []
    errors = [number(value, one.metric, places=3) for pair in pairs for value in pair]
    errors += [words("–")] * (4 - len(errors))
    return (words(metric_name(one.metric)), number(one.limit_percent, one.metric, places=2), *errors)


def calibration_table(edition: Edition) -> Table:
    """Return the shares of simulated studies in which intervals held the truth and findings were right."""
    rows = [
        Row((words(kind.kind), *_shares(kind), words(kind.about))) for kind in shipped_calibration().kinds
    ]
    names = (
        "kind_of_study",
        "life_held",
        "group_life_held",
        "ratio_held",
        "found_different",
        "oracle",
        "about",
    )
    return _table(edition, "calibration", columns_of(edition, *names), rows)


def _shares(kind: KindOfStudy) -> tuple[Cell, ...]:
    shares = (kind.percent(name) for name in SHARES)
    return tuple(number(share, "", places=1) for share in shares)


def rules_table(edition: Edition) -> Table | None:
    """Return the rules of the failure signs; None where the report has none."""
    rules = edition.report.findings.rules
    if not rules:
        return None
    rows = [Row(tuple(words(str(cell)) for cell in rule)) for rule in rules[1:]]
    columns = tuple(Column(f"rule {place}", head) for place, head in enumerate(rules[0]))
    return replace(_table(edition, "rules", columns, rows), style="stacked")


def _table(edition: Edition, name: str, columns: Sequence[Column], rows: Sequence[Row]) -> Table:
    home = f"{edition.page('method')}#table-{name}"
    return table(edition, home, edition.say(f"method.{name}_title"), columns, rows)


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the method page."""
    path, say, held = edition.page("method"), edition.say, edition.figure("held-lives")
    blocks: tuple[Block, ...] = (
        Section(say("method.metrics"), _metrics(), "metrics"),
        Section(say("method.steps"), (Prose((say("method.steps_note"),)), *_steps(edition)), "steps"),
        *(one for one in edition.figures_at(path) if one is not held),
        Section(say("method.truth"), tuple(_truth(edition, held)), "truth"),
        Section(say("method.strengths"), _strengths(edition), "strengths"),
        *(_folded(one, "rules") for one in _rules(edition)),
        _folded(_flag_table(edition), "flags"),
        _choice_table(edition),
        *_limits(edition),
        Section(say("method.conditions"), _conditions(edition), "conditions"),
        Section(say("method.glossary"), _glossary(edition), "glossary"),
    )
    lead = Prose((say("method.lead"),), "lead")
    yield Part("method", path, say("method.title"), (lead, _contents(path, blocks), *blocks))


def _steps(edition: Edition) -> tuple[Point, ...]:
    """Return how every stage computed, without what the table of accuracy tells."""
    return tuple(one for one in _notes(edition) if one.name != ACCURACY)


def _folded(view: Table, anchor: str) -> Section:
    """Return a table that few read through, to be unfolded by its title."""
    return Section(view.title, (view,), anchor, folded=True)


def _contents(path: str, blocks: Sequence[Block]) -> Listing:
    """Return what stands on a long page, each heading a link to its place."""
    places: list[tuple[str, str]] = []
    for block in blocks:
        if isinstance(block, Section):
            places.append((block.heading, block.anchor))
        elif isinstance(block, Table):
            places.append((block.title, block.id))
    return Listing(tuple((Link(name, f"{path}#{anchor}"),) for name, anchor in places), "plain abreast")


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
    means = dict(edition.theme.words_of("strength_means"))
    means["shown"] += f" {edition.say('provisos.shown_anywhere')}"
    return tuple(
        Point("definition", f"strength-{key}", edition.say(f"strength.{key}"), "", bearing=text)
        for key, text in means.items()
    )


def _notes(edition: Edition) -> tuple[Point, ...]:
    """Return how every stage computed."""
    anchor = edition.addresses.anchor
    return tuple(
        Point("note", anchor("method", heading), heading, text)
        for heading, text in edition.report.method_notes
    )


def _truth(edition: Edition, held: FigureBlock | None = None) -> Iterator[Block]:
    """Yield how true the numbers proved on simulated studies: the figure, then the table."""
    yield Prose((accuracy_words(edition),))
    yield accuracy_table(edition)
    yield Prose((edition.say("method.calibration_words"),))
    calibration = replace(calibration_table(edition), style="calibration")
    if held:
        yield held
        yield _folded(calibration, "calibration")
    else:
        yield calibration


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
    """Return the words that are explained, each with what else the trade calls it."""
    also = edition.theme.words_of("search_also")
    return tuple(
        Point("definition", glossary_anchor(term), term, "", bearing=_with_other_names(edition, text, names))
        for term, text in sorted(edition.theme.words_of("glossary").items())
        for names in [[name for name, meant in also.items() if meant == term]]
    )


def _with_other_names(edition: Edition, text: str, names: Sequence[str]) -> str:
    return f"{text} {edition.say('method.also_called', names=listed(names))}" if names else text


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
