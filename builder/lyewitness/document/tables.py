"""Tables, on screen and on paper, whose numbers stand with their decimal points below each other.

In: columns and values. Out: `Cell`s and `Table`s, and for paper `BandedTable`s: what rows share is
said once above them, what nobody compares is left out.

Heads, cells and facts that many pages share stand here too.
"""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from string import ascii_lowercase

from lyewitness.decline.doubted import left_out_words
from lyewitness.decline.fresh import MUCH, share_moved
from lyewitness.decline.records import Decline, Life
from lyewitness.document.blocks import Band, BandedTable, Cell, Column, Fact, Link, Row, Table
from lyewitness.document.edition import Edition
from lyewitness.findings.records import Check
from lyewitness.study.records import Column as StudyColumn
from lyewitness.study.records import Conditions
from lyewitness.words.lives import tell
from lyewitness.words.metrics import places_in
from lyewitness.words.names import joined
from lyewitness.words.numbers import fixed, in_step, interval, stated_in, with_unit


def banded(view: Table, by: Sequence[str] = (), without: Sequence[str] = (), style: str = "") -> BandedTable:
    """Return `view` with its rows under what they share in the columns `by`, `without` others, named by key.

    A column that the table lacks is passed over. Rows keep their order: a band ends where its label does.
    """
    shared = [place for place, column in enumerate(view.columns) if column.key in by]
    kept = [
        place
        for place, column in enumerate(view.columns)
        if place not in shared and column.key not in without
    ]

    def label(row: Row) -> str:
        return ", ".join(row.cells[place].text for place in shared)

    return BandedTable(
        title=view.title,
        columns=tuple(view.columns[place] for place in kept),
        bands=tuple(
            Band(
                shared_words,
                tuple(replace(row, cells=tuple(row.cells[place] for place in kept)) for row in rows),
            )
            for shared_words, rows in groupby(view.rows, label)
        ),
        note=view.note,
        style=style,
        page=view.home.partition("#")[0],
    )


def dashed(on_paper: BandedTable, wordings: Collection[str]) -> BandedTable:
    """Return `on_paper` with a dash in each cell that holds one of `wordings` and nothing else."""
    return _changed(
        on_paper, lambda cells: (replace(one, text="–") if one.text in wordings else one for one in cells)
    )


def untitled(on_paper: BandedTable) -> BandedTable:
    """Return `on_paper` without the small print after its cells."""
    return _changed(on_paper, lambda cells: (replace(one, title="", proof=None) for one in cells))


def lettered(on_paper: BandedTable, key: str, longest: int = 1) -> BandedTable:
    """Return `on_paper`, words beyond `longest` signs in column `key` as letters its note explains."""
    place = next((place for place, column in enumerate(on_paper.columns) if column.key == key), None)
    if place is None:
        return on_paper
    said = dict.fromkeys(row.cells[place].text for band in on_paper.bands for row in band.rows)
    letters = dict(zip((text for text in said if len(text) > longest), ascii_lowercase, strict=False))

    def with_letter(cells: tuple[Cell, ...]) -> Iterable[Cell]:
        short = letters.get(cells[place].text, cells[place].text)
        return (*cells[:place], replace(cells[place], text=short), *cells[place + 1 :])

    told = "; ".join(f"{letter}: {text}" for text, letter in letters.items())
    return replace(
        _changed(on_paper, with_letter),
        note=f"{on_paper.note} {told}.".lstrip() if told else on_paper.note,
    )


def _changed(on_paper: BandedTable, change: Callable[[tuple[Cell, ...]], Iterable[Cell]]) -> BandedTable:
    """Return `on_paper` with the cells of every row changed."""
    bands = (
        replace(band, rows=tuple(replace(row, cells=tuple(change(row.cells))) for row in band.rows))
        for band in on_paper.bands
    )
    return replace(on_paper, bands=tuple(bands))


NUMBER = re.compile(r"(−?[\d\u2009]+)(?:\.(\d+))?")
LEADING = re.compile(r"(−?\d+(?:\u2009\d{3})*)(?:\.\d+)?(?=[\s\u2009(%]|$)")
MOST_PADS = 6
"""Steps of the styles `pad-…` and `lead-…`."""
HELD = 34
"""Characters up to which a value with its interval is kept on one line; longer ones are reasons."""
LONG = 15
"""Rows from which a filter helps."""


def words(text: str, href: str = "", key: str = "", title: str = "") -> Cell:
    """Return a cell of words."""
    return Cell(text or "–", href=href, key=key, title=title)


def number(value: float | None, metric: str, places: int | None = None, href: str = "") -> Cell:
    """Return a cell with one number, sorted by its value; an en dash where there is none."""
    if value is None:
        return Cell("–", key="", number=True, href=href)
    shown = places_in(metric, [value]) if places is None else places
    return Cell(fixed(value, shown), key=repr(float(value)), number=True, href=href)


def sized(text: str, value: float | None, title: str = "") -> Cell:
    """Return a cell of words that sorts by a number, such as a life with its interval."""
    key = "" if value is None else repr(float(value))
    return Cell(text, key=key, held=len(text) <= HELD, title=title)


def columns_of(edition: Edition, *keys: str) -> tuple[Column, ...]:
    """Return columns headed by the theme's words for their keys."""
    return tuple(Column(key, edition.say(f"heads.{key}")) for key in keys)


def table(
    edition: Edition,
    home: str,
    title: str,
    columns: Sequence[Column],
    rows: Iterable[Row],
    csv: str = "",
    note: str = "",
    style: str = "",
) -> Table:
    """Return a table with its decimal points aligned column by column; `home` is its page and anchor."""
    lines = tuple(rows)
    aligned = [_aligned([line.cells[place] for line in lines]) for place in range(len(columns))]
    return Table(
        id=home.partition("#")[2],
        title=title,
        columns=tuple(
            replace(column, numeric=any(cell.number for cell in cells))
            for column, cells in zip(columns, aligned, strict=True)
        ),
        rows=tuple(
            replace(line, cells=tuple(cells[order] for cells in aligned)) for order, line in enumerate(lines)
        ),
        csv=csv,
        note=note,
        cite=edition.cite(edition.say("cite.table"), title, home),
        home=home,
        long=len(lines) > LONG,
        style=style,
    )


def _aligned(cells: Sequence[Cell]) -> list[Cell]:
    """Return the cells of one column, each with the style that brings its decimal point below the others'.

    Numbers stand at the right and are filled up there; values with their intervals, which begin with a
    number, stand at the left and are moved in.
    """
    decimals = [_decimals(cell.text) if cell.number else 0 for cell in cells]
    most = max(decimals, default=0)
    whole = max((_whole_digits(cell.text) for cell in cells if cell.held), default=0)
    pads = (
        _pad(own, most) if cell.number else _lead(cell, whole)
        for cell, own in zip(cells, decimals, strict=True)
    )
    return [
        cell if pad == cell.pad else replace(cell, pad=pad) for cell, pad in zip(cells, pads, strict=True)
    ]


def _pad(own: int, most: int) -> str:
    """Return the style that fills a number with `own` decimals up to `most`."""
    if own == most:
        return ""
    return f"pad-{min(MOST_PADS, most - own)}{'-point' if own == 0 else ''}"


def _lead(cell: Cell, most: int) -> str:
    """Return the style that moves words beginning with a number in by the digits they lack."""
    own = _whole_digits(cell.text) if cell.held else 0
    return f"lead-{min(MOST_PADS, most - own)}" if own and own < most else ""


def _decimals(text: str) -> int:
    """Return how many decimals `text` has where it is a number."""
    found = NUMBER.fullmatch(text)
    return len(found[2] or "") if found else 0


def _whole_digits(text: str) -> int:
    """Return how many digits and signs stand before the decimal point of the number `text` begins with."""
    found = LEADING.match(text)
    return len(found[1].replace("\u2009", "")) if found else 0


def facts_of(edition: Edition, told: Mapping[str, str]) -> tuple[Fact, ...]:
    """Return what is so, by the theme's words for each key; what is not said is left out."""
    return tuple(Fact(key, edition.say(f"facts.{key}"), text) for key, text in told.items() if text)


def in_line(facts: Iterable[Fact]) -> str:
    """Return facts as running text."""
    told = "; ".join(f"{fact.name} {fact.text}" for fact in facts)
    return f"{told}." if told else ""


def linked(links: Iterable[Link]) -> Iterator[str | Link]:
    """Yield links with commas between them."""
    for place, link in enumerate(links):
        if place:
            yield ", "
        yield link


def marker_cell(edition: Edition, marker: str) -> Cell:
    """Return the cell of a marker, or of 'the column itself' for a metric that has none."""
    return edition.cell("marker", marker) if marker else words(edition.say("common.column_itself"))


def life_cell(
    edition: Edition,
    life: Life,
    reason: str = "",
    proof: Link | None = None,
    as_measured: Life | None = None,
    aside: str = "",
) -> Cell:
    """Return a life in hours; below it what it is in column volumes, and what was seen on either side.

    `reason` says why it is unclear, where the life itself does not; `proof` leads to the traces;
    `as_measured` is the life before it was widened for what a logged condition did, `aside` what it is
    without, and holds besides.
    """
    volumes = life.column_volumes
    told = []
    if volumes.value is not None or volumes.low is not None:
        told.append(edition.say("common.volumes", interval=interval(volumes)))
    if life.state == "reached" and life.conservative_h is not None:
        safe = with_unit(in_step(life.conservative_h, life.hours, down=True), "h")
        told.append(edition.say("common.conservative", hours=safe))
    if as_measured is not None:
        told.append(edition.say("common.as_measured", life=tell(as_measured)))
    if aside:
        told.append(aside)
    why = life.hours.reason or reason
    if life.state == "unclear" and why and why not in tell(life):
        told.append(why)
    return replace(sized(tell(life), life.hours.value or life.hours.low, "; ".join(told)), proof=proof)


def aside_words(edition: Edition, decline: Decline) -> str:
    """Return what a life is without and what its interval holds besides; empty where that is nothing.

    Without peaks that are doubtful, with what it would be with them; with the life by what the metric began
    with, where it moved while the reference was taken.
    """
    told = []
    if decline.with_doubted is not None:
        what = left_out_words(decline)
        told.append(edition.say("common.doubted", what=what, life=tell(decline.with_doubted)))
    if decline.began.value is not None and share_moved(decline) >= MUCH:
        began = with_unit(fixed(decline.began.value, 1), "%")
        told.append(edition.say("common.began", began=began))
    return "; ".join(told)


def column_facts(edition: Edition, column: StudyColumn) -> tuple[Fact, ...]:
    """Return what the study says of a column, as far as it says it."""
    facts = {
        "particle": column.particle,
        "bonding": column.bonding,
        "length": stated_in(column.length_mm, "mm"),
        "inner_diameter": stated_in(column.inner_diameter_mm, "mm"),
        "particle_size": stated_in(column.particle_um, "µm"),
        "core_ratio": stated_in(column.core_ratio, ""),
        "lot": column.lot,
        "serial": column.serial,
        "block": re.sub(r"^block\s+", "", column.block, flags=re.IGNORECASE),
        "stress_temperature": stated_in(column.temperature_C, "°C"),
        "stress_ph": stated_in(column.ph, ""),
    }
    return facts_of(edition, facts)


def conditions_words(edition: Edition, conditions: Conditions) -> tuple[Fact, ...]:
    """Return mobile phase, temperature, flow and detection, as far as they are stated."""
    facts = {
        "buffer": " ".join(
            part for part in (conditions.buffer, stated_in(conditions.buffer_mM, "mmol/L")) if part
        ),
        "ph": stated_in(conditions.ph, ""),
        "ph_temperature": stated_in(conditions.ph_temperature_C, "°C"),
        "organic": " ".join(
            part for part in (conditions.organic, stated_in(conditions.organic_percent, "%")) if part
        ),
        "temperature": stated_in(conditions.temperature_C, "°C"),
        "flow": stated_in(conditions.flow_mL_min, "mL/min"),
        "wavelength": stated_in(conditions.wavelength_nm, "nm"),
        "volume": stated_in(conditions.injection_uL, "µL"),
    }
    return facts_of(edition, facts)


def about(edition: Edition, check: Check) -> str:
    """Return what was checked, with what it is about where that is a part of the study."""
    _, question = asked_again(edition).get(check.id, ("", ""))
    again = edition.say("audit.asked_again", question=question) if question else ""
    part = "; ".join(one for one in (subject(edition, check), again) if one)
    return f"{check.check} ({part})" if part else check.check


def asked_again(edition: Edition) -> dict[str, tuple[str, str]]:
    """Return (id, question) of each check that was asked again for a question, by its own id."""
    report = edition.report
    known = {check.id for check in report.findings.checks}
    made = {joined(check, one.id): (check, one.id) for check in known for one in report.study.questions}
    return {check: of for check, of in made.items() if check in known}


def subject(edition: Edition, check: Check) -> str:
    """Return what a check is about where that is a part of the study, not the whole."""
    study = edition.report.study
    parts = {*study.groups, *(one.id for one in study.columns), *(one.id for one in study.markers)}
    return check.subject if check.subject in parts else ""
