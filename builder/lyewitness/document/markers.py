"""The markers: an index, a page a marker with lives, comparisons and every column's decline, and paper.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator

from lyewitness.decline.records import AcceleratedFit, Decline, GroupLife
from lyewitness.document.blocks import (
    Beside,
    Block,
    Fact,
    Facts,
    Link,
    Listing,
    Part,
    Piece,
    Prose,
    Row,
    Section,
    Table,
)
from lyewitness.document.columns import comparison_table, pairs_on_paper
from lyewitness.document.edition import Edition
from lyewitness.document.proof import proof_of_decline, proof_of_group
from lyewitness.document.tables import (
    aside_words,
    columns_of,
    facts_of,
    in_line,
    life_cell,
    sized,
    table,
    words,
)
from lyewitness.study.records import Marker
from lyewitness.words.lives import limit_text, moment_text
from lyewitness.words.metrics import metric_name, metric_text
from lyewitness.words.numbers import interval, stated_in
from lyewitness.words.phrases import percent_of

LISTED = ("marker", "role", "pka", "limited")
LIVES = ("group", "metric", "limit", "life", "first_to_fail", "last_to_fail", "remaining")
DECLINES = ("column", "group", "metric", "reference", "remaining", "model", "life")
ACCELERATED = ("group", "metric", "variable", "settings", "dependence", "predictions")


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the index of the markers, then each marker with its neighbours."""
    path, markers = edition.page("markers"), edition.report.study.markers
    yield Part(
        key="markers",
        path=path,
        title=edition.say("markers.title"),
        blocks=(Prose((edition.say("markers.lead"),), "lead", explained=True), _index_table(edition)),
    )
    links = tuple(edition.link("marker", marker.id) for marker in markers)
    for place, marker in enumerate(markers):
        before, after = edition.neighbours(links, place)
        yield Part(
            key="markers",
            path=edition.addresses.page("marker", marker.id),
            title=edition.say("marker.title", id=marker.id),
            blocks=tuple(_blocks(edition, marker)),
            template="marker.html",
            crumbs=(Link(edition.say("nav.markers"), path),),
            before=before,
            after=after,
        )


def _blocks(edition: Edition, marker: Marker) -> Iterator[Block]:
    """Yield what the page of one marker shows."""
    path = edition.addresses.page("marker", marker.id)
    role = (edition.say(f"roles.{marker.role}"),)
    yield Beside(role, (Facts(_facts(edition, marker)),), lead=True, explained=True)
    yield from edition.figures_at(path)
    yield _lives(edition, marker)
    if reasons := _reasons(edition, marker):
        yield Section(edition.say("column.reasons"), (Listing(reasons, explained=True),), "reasons")
    yield comparison_table(edition, marker.id)
    yield _accelerated(edition, marker)
    yield _declines(edition, marker)


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the markers as one part: all metrics of each in one figure, and the groups compared by it."""
    yield Part(
        key="markers",
        path=edition.page("markers"),
        title=edition.say("markers.title"),
        blocks=(
            Prose((edition.say("print.markers"),), "lead"),
            *(_piece(edition, marker) for marker in edition.report.study.markers),
        ),
    )


def _piece(edition: Edition, marker: Marker) -> Piece:
    page = edition.addresses.page("marker", marker.id)
    own = [view for one, view in edition.figures.items() if one.startswith("marker-")]
    return Piece(
        page=page,
        id=marker.id,
        label=marker.id,
        mark=None,
        text=edition.say(f"roles.{marker.role}"),
        facts=in_line(_facts(edition, marker)),
        blocks=(
            *(view for view in edition.figures_at(page) if view in own),
            pairs_on_paper(edition, marker.id),
            _accelerated(edition, marker),
        ),
    )


def _reasons(edition: Edition, marker: Marker) -> tuple[tuple[str], ...]:
    """Return why a life of a group is not known, where it is neither a value nor 'at least'."""
    return tuple(
        (f"{one.group}, {metric_name(one.metric)}: {one.reason}",)
        for one in edition.report.judgement.group_lives
        if one.marker == marker.id and one.reason and one.life.state in ("unclear", "not measured")
    )


def _facts(edition: Edition, marker: Marker) -> tuple[Fact, ...]:
    found = [row for row in edition.report.measurements.rows if row.marker == marker.id]
    facts = {
        "pka": stated_in(marker.pka, ""),
        "found_in": edition.say("marker.found_in", found=sum(row.found for row in found), all=len(found)),
    }
    return facts_of(edition, facts)


def _lives(edition: Edition, marker: Marker) -> Table:
    """Return the life of each group at each limit of this marker."""
    lives = [one for one in edition.report.judgement.group_lives if one.marker == marker.id]
    return table(
        edition,
        f"{edition.addresses.page('marker', marker.id)}#table-lives",
        edition.say("marker.lives_title"),
        columns_of(edition, *LIVES),
        [_life_row(edition, one) for one in lives],
        csv="data/decline.csv",
        note=edition.say("front.lives_note", confidence=percent_of(edition.report.study.choices.confidence)),
        style="stacked",
    )


def _life_row(edition: Edition, one: GroupLife) -> Row:
    return Row(
        (
            edition.group_cell(one.group),
            words(metric_name(one.metric)),
            words(limit_text(one.limit)),
            life_cell(edition, one.life, one.reason, proof_of_group(edition, one)),
            sized(moment_text(one.first, one.life.hours), one.shortest_h),
            sized(moment_text(one.last, one.life.hours), one.longest_h),
            sized(interval(one.remaining, "%"), one.remaining.value),
        )
    )


def _declines(edition: Edition, marker: Marker) -> Table:
    """Return the decline of every column by this marker."""
    declines = [one for one in edition.report.judgement.declines if one.series.marker == marker.id]
    return table(
        edition,
        f"{edition.addresses.page('marker', marker.id)}#table-declines",
        edition.say("marker.declines_title"),
        columns_of(edition, *DECLINES),
        [_decline_row(edition, one) for one in declines],
        csv="data/decline.csv",
        style="stacked",
    )


def _decline_row(edition: Edition, one: Decline) -> Row:
    series = one.series
    return Row(
        (
            edition.cell("column", series.column, edition.report.study.column(series.column).label),
            edition.group_cell(series.group),
            words(metric_name(series.metric)),
            sized(metric_text(series.metric, one.reference_value, edition.signal_unit), one.reference_value),
            sized(interval(one.remaining, "%"), one.remaining.value),
            words(one.model.name if one.model else ""),
            life_cell(
                edition,
                one.life,
                one.reason,
                proof_of_decline(edition, one),
                one.as_measured,
                aside_words(edition, one),
            ),
        )
    )


def _accelerated(edition: Edition, marker: Marker) -> Table:
    """Return how the rate follows temperature or pH, where columns ran at several."""
    fits = [one for one in edition.report.judgement.accelerated if one.marker == marker.id]
    return table(
        edition,
        f"{edition.addresses.page('marker', marker.id)}#table-accelerated",
        edition.say("marker.accelerated_title"),
        columns_of(edition, *ACCELERATED),
        [_accelerated_row(edition, one) for one in fits],
        csv="data/decline.csv",
        note=edition.say("marker.accelerated_note"),
        style="stacked",
    )


def _accelerated_row(edition: Edition, fit: AcceleratedFit) -> Row:
    hot = fit.variable == "temperature"
    unit = "°C" if hot else ""
    dependence = (
        interval(fit.activation_energy_kJ_mol, "kJ/mol")
        if hot
        else edition.say("marker.per_ph", slope=interval(fit.slope_per_ph))
    )
    predicted = (
        edition.say("marker.predicted", setting=stated_in(setting, unit), life=interval(life, "h"))
        for setting, life in fit.predictions
    )
    return Row(
        (
            edition.group_cell(fit.group),
            words(metric_name(fit.metric)),
            words(edition.say(f"facts.{'temperature' if hot else 'ph'}")),
            words(", ".join(stated_in(setting, unit) for setting in fit.settings)),
            words(fit.reason or dependence),
            words("; ".join(predicted)),
        )
    )


def _index_table(edition: Edition) -> Table:
    """Return every marker with what is limited by it."""
    return table(
        edition,
        f"{edition.page('markers')}#table-markers",
        edition.say("markers.title"),
        columns_of(edition, *LISTED),
        [_index_row(edition, marker) for marker in edition.report.study.markers],
        csv="data/measurements.csv",
    )


def _index_row(edition: Edition, marker: Marker) -> Row:
    lives = edition.report.judgement.group_lives
    limited = {metric_name(one.metric) for one in lives if one.marker == marker.id}
    return Row(
        (
            edition.cell("marker", marker.id),
            words(edition.say(f"roles.{marker.role}")),
            words(stated_in(marker.pka, "")),
            words(", ".join(sorted(limited))),
        )
    )
