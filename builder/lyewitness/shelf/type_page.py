"""The page of one type of column: its lives over temperature and pH, and what its studies say together.

In: the lives of one type with their studies. Out: HTML, each dot and each row a way to its study.
"""

from collections.abc import Iterator, Sequence
from math import exp, log
from urllib.parse import quote

from markupsafe import Markup, escape

from lyewitness.shelf.across import HOW_IT_HOLDS, further_life
from lyewitness.shelf.alike import acid_of, conditions_of, drift_of, heat_of, model_of
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.shelf.standing import Standing
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import limit_read
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import counted, listed, sentence

# px; room at the left for hours of four digits, below for numbers and the name of the axis.
_WIDTH, _HEIGHT, _LEFT, _FOOT = 640, 300, 70, 45


def link(study: Shelved, up: str) -> Markup:
    """Return a link to the report of a study; `up` is the way to the folder that is shelved."""
    return Markup('<a href="{}">{}</a>').format(f"{up}{quote(study.page)}", study.title)


def type_body(held: Sequence[tuple[Shelved, ColumnLife]], of_held: Sequence[str], up: str) -> Markup:
    """Return the page of one type: dots, model, prediction at the tested conditions, lots and years.

    `of_held` are the sentences that the rest of the shelf has to say of its studies.
    """
    model = model_of(held)
    limit = limit_read(held[0][1].limit, held[0][1].metric)
    told = [_reached(held, limit)]
    if model.reason:
        told.append(f"They are not taken together: {model.reason}.")
    else:
        told.append(f"Activation energy: {_words(model.activation_energy_kJ_mol, ' kJ/mol')}.")
        told.append(f"ln life for each pH unit: {_words(model.per_ph, '')}.")
        told.append(
            f"Between studies a life varies by a factor of {exp(model.between_sd or 0):.2f}, "
            f"between columns of one study by {exp(model.within_sd or 0):.2f} (one standard deviation)."
        )
        told.append(_drift_told(held))
        if model.is_scant:
            told.append("Of so few studies the intervals are rather too wide than too narrow.")
        settings = sorted({(heat_of(life), round(acid_of(life), 2)) for _, life in held})
        for heat, acid in settings:
            life = further_life(model, heat, acid)
            told.append(
                f"Indicated, not shown: a further column in a further laboratory at {heat:g} °C "
                f"and pH {acid:.1f} would last {_words(life, ' h')}."
            )
        told.append(HOW_IT_HOLDS)
    told += of_held
    sentences = Markup("").join(Markup("<p>{}</p>").format(text) for text in told)
    charts = Markup("").join(
        _chart(held, up, value, words)
        for value, words in ((heat_of, "temperature, °C"), (acid_of, "pH at that temperature"))
    )
    # A study stands in the table once for each of its columns.
    links = {
        place: link(study, up) + (" (invented)" if study.invented else "")
        for place, study in {study.place: study for study, _ in held}.items()
    }
    rows = sorted(held, key=lambda one: (one[1].lot, one[0].asked_on, one[0].id))
    table = Markup("".join(_row(study, life, links[study.place]) for study, life in rows))
    head = Markup("<tr><th>Lot</th><th>Year</th><th>Study</th><th>At</th><th>Life</th></tr>")
    return Markup(
        '{}{}<h2>Lots and years side by side</h2><div class="wide"><table>{}{}</table></div>'
    ).format(sentences, charts, head, table)


def _drift_told(held: Sequence[tuple[Shelved, ColumnLife]]) -> str:
    """Return whether lives drift from year to year, beside temperature and pH, a sentence."""
    change = drift_of(held)
    if change.value is None or change.low is None or change.high is None:
        return f"Whether lives drift over the years is not known: {change.reason}."
    factor = (
        f"from one year to the next a life is multiplied by {rounded(exp(change.value))} "
        f"(95 %: {rounded(exp(change.low))} to {rounded(exp(change.high))})"
    )
    if change.low <= 0 <= change.high:
        return sentence(f"{factor}: no drift is seen beyond what studies differ by")
    way = "shorter" if change.value < 0 else "longer"
    return sentence(
        f"{factor}: indicated, not shown, lives became {way}, be it for columns, buffers or laboratories"
    )


def _row(study: Shelved, life: ColumnLife, way: Markup) -> str:
    """Return a row of the table of lives as HTML; of thousands, formatted as plain text for its speed."""
    lasted = (
        f"{rounded(life.life_h)} h"
        if life.life_h is not None
        else f"{life.state}, at least {rounded(life.low_h or 0.0)} h"
    )
    cells = (
        life.lot or "not stated", study.asked_on[:4] or "not stated", way, conditions_of(life), lasted,
    )  # fmt: skip
    return f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in cells)}</tr>"


def _reached(held: Sequence[tuple[Shelved, ColumnLife]], limit: str) -> str:
    """Return how many columns of how many studies reached their limit, and how many did not."""

    def told(lives: Sequence[tuple[Shelved, ColumnLife]]) -> str:
        studies = len({study.place for study, _ in lives})
        return f"{counted(len(lives), 'column')} of {counted(studies, 'study', 'studies')}"

    failed = [one for one in held if one[1].life_h is not None]
    rest = [one for one in held if one[1].life_h is None]
    if not failed:
        return f"None of the {told(rest)} reached the limit ({limit})."
    others = f"; {told(rest)} did not, or not surely" if rest else ""
    return sentence(f"{told(failed)} reached the limit ({limit}){others}")


def of_the_held(held: Sequence[tuple[Shelved, ColumnLife]], stands: Standing) -> Iterator[str]:
    """Yield which copies of these studies count once, and of which it is not known what stood ahead."""
    places = {study.place: study for study, _ in held}
    copies = [one for one in stands.beneath if one.why == "copied" and one.by.place in places]
    if copies:
        yield (
            f"Counted once, though the shelf has the same measurements under other names: "
            f"{'; '.join(f'study {one.study.id}, which is {one.by.id}' for one in copies)}."
        )
    silent = sorted({study.id for study, life in held if life.upstream is None})
    if silent:
        yield (
            f"Whether anything stood ahead of the columns of {'study' if len(silent) == 1 else 'studies'} "
            f"{listed(silent)} is not known: an earlier version of the program made the "
            f"{'report, which does' if len(silent) == 1 else 'reports, which do'} not say."
        )


def _words(estimate: Estimate, unit: str) -> str:
    if estimate.value is None:
        return f"not known, {estimate.reason}"
    value, low, high = (rounded(end or 0.0) for end in (estimate.value, estimate.low, estimate.high))
    return f"{value}{unit} (95 %: {low} to {high}{unit})"


def _chart(held: Sequence[tuple[Shelved, ColumnLife]], up: str, value: object, words: str) -> Markup:
    """Return lives on a log scale as a drawing in which every dot leads to its study."""
    assert callable(value)
    dots = [(study, life, float(value(life)), life.life_h) for study, life in held if life.life_h is not None]
    dots = [one for one in dots if one[2] == one[2]]
    if not dots:
        return Markup("")
    across, lives = [one[2] for one in dots], [log(one[3]) for one in dots]
    left, right = min(across), max(across)
    low, high = min(lives), max(lives)

    def place(x: float, y: float) -> tuple[float, float]:
        return (
            _LEFT + (_WIDTH - _LEFT - 20) * ((x - left) / (right - left) if right > left else 0.5),
            20 + (_HEIGHT - _FOOT - 30) * ((high - y) / (high - low) if high > low else 0.5),
        )

    drawn = []
    for study, life, x, hours in dots:
        cx, cy = place(x, log(hours))
        told = escape(f"{study.title}, {life.column}: {rounded(hours)} h")
        drawn.append(
            f'<a href="{escape(up + quote(study.page))}" aria-label="{told}">'
            f'<circle class="dot" cx="{cx:.1f}" cy="{cy:.1f}" r="6"><title>{told}</title></circle></a>'
        )
    marks = Markup("".join(drawn))
    foot = _HEIGHT - _FOOT + 5
    ticks = Markup("").join(
        Markup('<text x="{:.0f}" y="{}" text-anchor="middle">{:.4g}</text>').format(
            place(x, low)[0], foot + 18, x
        )
        for x in dict.fromkeys((left, right))
    )
    ticks += Markup("").join(
        Markup('<text x="{}" y="{:.0f}" text-anchor="end">{} h</text>').format(
            _LEFT - 12, place(left, y)[1] + 4, rounded(exp(y))
        )
        for y in dict.fromkeys((low, high))
    )
    return Markup(
        '<h2>Life over {}</h2><svg viewBox="0 0 {} {}" width="{}" role="group" aria-label="Life over {}">'
        '<path class="axis" d="M{} 10V{}H{}"/>{}{}<text x="{}" y="{}" text-anchor="middle">{}</text></svg>'
    ).format(
        words, _WIDTH, _HEIGHT, _WIDTH, words, _LEFT, foot, _WIDTH - 10, ticks, marks, _WIDTH // 2,
        _HEIGHT - 4, words,
    )  # fmt: skip
