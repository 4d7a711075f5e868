"""A shelf as a static site that opens from the disk.

In: a `Shelf`. Out: files by path: all studies with filters and search, one page a type of column (lives over
temperature and pH, each dot its study, and what the studies say together), contradictions, and what is wrong.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from functools import cache
from math import exp, log
from pathlib import Path
from urllib.parse import quote

from jinja2 import Environment, Template
from markupsafe import Markup, escape

from lyewitness.shelf.across import further_life
from lyewitness.shelf.alike import Type, acid_of, alike, conditions_of, drift_of, heat_of, model_of
from lyewitness.shelf.contradictions import APART, NEAR_C, NEAR_PH, Clash, contradictions
from lyewitness.shelf.gathering import Shelf
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.shelf.standing import Beneath, Standing, standing, told_otherwise
from lyewitness.store import code_digest
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_name, metric_of_marker
from lyewitness.words.names import slugs
from lyewitness.words.numbers import rounded
from lyewitness.words.phrases import counted, listed, sentence

MEMORY = "data/shelf.json"
SHELF_ID = "shelf"
_HERE = Path(__file__)
_PAGES = Environment(autoescape=True, trim_blocks=True)
# px; room at the left for hours of four digits, below for numbers and the name of the axis.
_WIDTH, _HEIGHT, _LEFT, _FOOT = 640, 300, 70, 45


@dataclass(frozen=True, slots=True)
class Earlier:
    """The site that stood there before, of which pages are taken over that are made of the same."""

    target: Path | None = None
    memory: Mapping[str, object] = field(default_factory=dict)
    """What it knew; empty where there is none."""

    def page(self, name: str, made_of: str) -> bytes | None:
        """Return a page that was made of `made_of` and that nobody changed since; None for none."""
        pages = self.memory.get("pages")
        known = pages.get(name) if isinstance(pages, Mapping) else None
        if self.target is None or not made_of or not isinstance(known, list) or known[:1] != [made_of]:
            return None
        try:
            page = (self.target / name).read_bytes()
        except OSError:
            return None
        return page if known[1:] == [hashlib.sha256(page).hexdigest()] else None


def read_earlier(target: Path) -> Earlier:
    """Return an earlier site at the target, which knows nothing where there is none."""
    try:
        known = json.loads((target / MEMORY).read_bytes())
    except (OSError, ValueError):
        return Earlier()
    return Earlier(target, known) if isinstance(known, dict) else Earlier()


def site(shelf: Shelf, up: str, earlier: Earlier | None = None) -> dict[str, bytes]:
    """Return every file of the site; `up` is the way from the site to the folder that is shelved."""
    stands = standing(shelf.studies)
    clashes = tuple(contradictions(stands.counting))
    groups = alike(stands.counting)
    named = slugs(" ".join(key) for key in groups)
    files = {
        "index.html": _page("Finished studies", _index(shelf.studies, stands, up), script=True),
        "contradictions.html": _page("Studies that contradict each other", _clashes(clashes, stands, up)),
        "across.html": _page("Across studies", _types(groups, named)),
        "shelf.css": _HERE.with_name("shelf.css").read_bytes(),
        "shelf.js": _HERE.with_name("shelf.js").read_bytes(),
    }
    kept: dict[str, list[str]] = {}
    for key, held in groups.items():
        name = f"types/{named[' '.join(key)]}.html"
        of_held = tuple(_of_the_held(held, stands))
        made_of = _made_of(shelf, key, held, (up, *of_held))
        page = earlier.page(name, made_of) if earlier else None
        files[name] = page or _page(
            f"{key[0]} in {key[4] or 'a buffer that is not stated'}: {metric_of_marker(key[1], key[2])}",
            _type(held, of_held, f"../{up}"),
            up="../",
        )
        kept[name] = [made_of, hashlib.sha256(files[name]).hexdigest()]
    memory = {**shelf.memory, "pages": kept}
    files[MEMORY] = (json.dumps(memory, ensure_ascii=False, sort_keys=True) + "\n").encode("utf-8")
    return files


def _made_of(shelf: Shelf, key: Type, held: Sequence[tuple[Shelved, ColumnLife]], more: Sequence[str]) -> str:
    """Return a digest of all that a page of a type shows; empty where it is not known of a study.

    What a study says is known by its files; which of its columns count here depends on the other studies.
    """
    read = shelf.memory.get("studies")
    studies = read if isinstance(read, Mapping) else {}
    columns = [(study.place, life.column) for study, life in held]
    prints = {place: studies.get(place, {}).get("fingerprint") for place in {place for place, _ in columns}}
    if None in prints.values():
        return ""
    source = (code_digest(), key, columns, sorted(prints.items()), more)
    return hashlib.sha256(json.dumps(source).encode("utf-8")).hexdigest()


@cache
def _frame() -> Template:
    """Return the frame of all pages, compiled once."""
    return _PAGES.from_string(_HERE.with_name("page.html").read_text(encoding="utf-8"))


def _page(title: str, body: Markup, up: str = "", script: bool = False) -> bytes:
    return _frame().render(title=title, body=body, up=up, script=script).encode("utf-8")


def _link(study: Shelved, up: str) -> Markup:
    return Markup('<a href="{}">{}</a>').format(f"{up}{quote(study.page)}", study.title)


_CHOICES = (
    ("particle", "Particle"), ("bonding", "Bonding"), ("buffer", "Buffer"), ("marker", "Marker"),
    ("state", "Outcome"),
)  # fmt: skip


def _index(studies: Sequence[Shelved], stands: Standing, up: str) -> Markup:
    """Return the list of all studies with its filters; what is superseded stands beneath what counts."""
    under = {
        study.place
        for one in stands.beneath
        for study in (*(() if one.why == "copied" else (one.study,)), *one.again)
    }
    listed_ = [study for study in studies if study.place not in under]
    choices = Markup("").join(
        Markup('<label>{}<select name="{}"><option value="">any</option>{}</select></label>').format(
            words,
            name,
            Markup("").join(
                Markup("<option>{}</option>").format(value)
                for value in sorted({getattr(life, name) for one in listed_ for life in one.lives} - {""})
            ),
        )
        for name, words in _CHOICES
    )
    ranges = Markup("").join(
        Markup('<label>{}<input type="number" step="any" name="{}"></label>').format(words, name)
        for words, name in (
            ("From °C", "heat-low"), ("to °C", "heat-high"),
            ("From pH when hot", "ph-low"), ("to pH", "ph-high"),
        )
    )  # fmt: skip
    form = Markup(
        '<form id="filters" hidden role="search"><label>Words (after a minus: left out)'
        '<input type="search" name="words"></label>{}{}</form>'
        '<p id="told" role="status">{}</p>'
    ).format(choices, ranges, "1 study" if len(listed_) == 1 else f"{len(listed_)} studies")
    here = frozenset(study.id for study in studies)
    items = Markup("\n").join(_item(study, stands, here, up) for study in listed_)
    return Markup('{}{}\n<ul class="studies" id="studies">\n{}\n</ul>').format(
        form, _not_listed(stands), items
    )


def _not_listed(stands: Standing) -> Markup:
    """Return how many studies stand beneath others, and how many copies count once."""
    gone = sum(one.why != "copied" for one in stands.beneath)
    copies = len(stands.beneath) - gone
    told = []
    if gone:
        told.append(
            f"{sentence(counted(gone, 'further study', 'further studies'))[:-1]} "
            f"{'has' if gone == 1 else 'have'} been superseded, and "
            f"{'stands beneath its' if gone == 1 else 'stand beneath their'} successor."
        )
    if copies:
        told.append(
            f"{sentence(counted(copies, 'study', 'studies'))[:-1]} of this list "
            f"{'tells' if copies == 1 else 'tell'} of measurements that another one has: these count once."
        )
    return Markup("").join(Markup("<p>{}</p>").format(one) for one in told)


def _takes_the_place(study: Shelved, stands: Standing, here: AbstractSet[str]) -> str:
    """Return that the study which one supersedes is missed, or supersedes it in turn; empty for neither."""
    if not study.supersedes:
        return ""
    if study.supersedes not in here:
        return f"Takes the place of {study.supersedes}, which is not on this shelf."
    if study.damage:
        return f"Says that it takes the place of {study.supersedes}, but is damaged: that one stands."
    if not any(one.study.id == study.supersedes and one.why == "superseded" for one in stands.beneath):
        return (
            f"Says that it takes the place of {study.supersedes}; neither is the later one, and both count."
        )
    return ""


def _item(study: Shelved, stands: Standing, here: AbstractSet[str], up: str) -> Markup:
    data = Markup(" ").join(
        Markup('data-{}="{}"').format(name, json.dumps(sorted({getattr(life, name) for life in study.lives})))
        for name, _ in _CHOICES
    )
    heats = " ".join(sorted({f"{heat_of(life):g}" for life in study.lives if life.temperature_C is not None}))
    acids = " ".join(sorted({f"{acid_of(life):.2f}" for life in study.lives if life.ph is not None}))
    words = " ".join(
        (
            study.words,
            *study.keywords,
            *study.people,
            *study.lots,
            *sorted({f"{x.kind} {x.group}" for x in study.lives}),
        )
    )
    lines = Markup("").join(
        Markup("<p>{} <strong>{}</strong></p>").format(one.question, one.short) for one in study.answers
    )
    about = Markup("").join(
        Markup('<p class="quiet">{}</p>').format(text)
        for text in (
            f"Study {study.id}" + (f", revision {study.revision}" if study.revision else ""),
            "; ".join(
                sorted(
                    {f"{life.kind}, {life.buffer}, {conditions_of(life)}" for life in study.deciding_lives}
                )
            ),
            study.invented,
            _takes_the_place(study, stands, here),
            *(_beneath(one, up) for one in stands.under(study)),
            *(_partly(one, up) for one in stands.shared(study)),
        )
        if text
    )
    notes = Markup("").join(
        Markup('<p class="damage">{}</p>').format(_copied(one, up))
        for one in stands.beneath
        if one.study.place == study.place
    )
    if study.damage:
        notes += Markup('<p class="damage">Damaged, and counted nowhere: {}</p>').format(study.damage)
    return Markup(
        '<li id="study-{}" {} data-heat="{}" data-ph="{}" data-words="{}"><h2>{}</h2>{}{}{}</li>'
    ).format(study.place, data, heats, acids, words, _link(study, up), notes, lines, about)


def _beneath(one: Beneath, up: str) -> Markup:
    """Return what a study says of another one that does not count beside it."""
    if one.why == "copied":
        return Markup("The same measurements also stand here as {} (study {}), and count once.").format(
            _link(one.study, up), one.study.id
        )
    edition = f", revision {one.study.revision}" if one.study.revision else ""
    links = Markup(", ").join(Markup("{} ({})").format(_link(copy, up), copy.place) for copy in one.again)
    copies = Markup(" It stands here again as {}.").format(links) if links else ""
    return Markup("{} {} (study {}{}), which has been superseded and counts nowhere.{}").format(
        "Takes the place of" if one.why == "superseded" else "Is a later revision of",
        _link(one.study, up), one.study.id, edition, copies,
    )  # fmt: skip


def _copied(one: Beneath, up: str) -> Markup:
    """Return with which study a copy is counted, and what the two state differently."""
    other = told_otherwise(one)
    differs = f" The two state differently: {'; '.join(other)}." if other else ""
    return Markup("The measurements are those of {} (study {}), and count there.{}").format(
        _link(one.by, up), one.by.id, differs
    )


def _partly(one: Beneath, up: str) -> Markup:
    return Markup("The measurements of {} are those of {} (study {}), and count there.").format(
        listed(twin.other for twin in one.twins), _link(one.by, up), one.by.id
    )


def _clashes(clashes: Sequence[Clash], stands: Standing, up: str) -> Markup:
    rule = (
        "Lives of one type (particle, bonding, what stood ahead, buffer) clash where they are more "
        f"than {APART:g} times apart and no interval of one study reaches into those of the other, within "
        f"{NEAR_C:g} °C and {NEAR_PH:g} of pH; so do opposite orders of two types. Each study is told with "
        "the one that it is furthest from. Lives to another limit, of another marker or by another metric "
        "are other lives, and clash with nothing. "
        "Superseded studies clash with nothing."
    )
    if not clashes:
        told = Markup("<p>No two studies clash.</p><p>{}</p>").format(rule)
    else:
        told = Markup("<p>{}</p>{}").format(rule, _clash_list(clashes, up))
    return told + _two_ways(stands, up)


def _two_ways(stands: Standing, up: str) -> Markup:
    """Return the copies that state of the same columns something else than the study that counts."""
    odd = [one for one in (*stands.beneath, *stands.partly) if one.why == "copied" and told_otherwise(one)]
    if not odd:
        return Markup("")
    items = Markup("").join(
        Markup("<li>{} ({}) and {} ({}): {}.</li>").format(
            _link(one.by, up), one.by.id, _link(one.study, up), one.study.id, "; ".join(told_otherwise(one))
        )
        for one in odd
    )
    return Markup(
        "<h2>The same measurements, told in two ways</h2><p>These studies have the same exports and count "
        "once, as the first of each pair tells them. At most one of the two can be right in what they state "
        "differently.</p><ul>{}</ul>"
    ).format(items)


def _clash_list(clashes: Sequence[Clash], up: str) -> Markup:
    return Markup("<ul>{}</ul>").format(
        Markup("").join(
            Markup("<li>{}: {} ({}) and {} ({}): {}. {}.</li>").format(
                clash.about,
                _link(clash.one, up),
                clash.one.id,
                _link(clash.other, up),
                clash.other.id,
                clash.told,
                clash.weighed,
            )
            for clash in clashes
        ),
    )


def _types(groups: Mapping[Type, Sequence[tuple[Shelved, ColumnLife]]], named: Mapping[str, str]) -> Markup:
    rows = Markup("").join(
        Markup(
            '<tr><td><a href="types/{}.html">{}</a></td><td>{}</td><td>{}</td><td>{}</td><td>{}</td>'
            "<td>{}</td><td>{}</td></tr>"
        ).format(
            named[" ".join(key)], key[0], key[1] or "the column", metric_name(key[2]),
            limit_read(key[3], key[2]), key[4] or "not stated", len({study.place for study, _ in held}),
            len(held),
        )
        for key, held in groups.items()
    )  # fmt: skip
    head = (
        "<tr><th>Type</th><th>Marker</th><th>Metric</th><th>Limit</th><th>Buffer</th><th>Studies</th>"
        "<th>Columns</th></tr>"
    )
    return Markup('<div class="wide"><table>{}{}</table></div>').format(Markup(head), rows)


def _type(held: Sequence[tuple[Shelved, ColumnLife]], of_held: Sequence[str], up: str) -> Markup:
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
        settings = sorted({(heat_of(life), round(acid_of(life), 2)) for _, life in held})
        for heat, acid in settings:
            life = further_life(model, heat, acid)
            told.append(
                f"Indicated, not shown: a further column in a further laboratory at {heat:g} °C "
                f"and pH {acid:.1f} would last {_words(life, ' h')}."
            )
    told += of_held
    sentences = Markup("").join(Markup("<p>{}</p>").format(text) for text in told)
    charts = Markup("").join(
        _chart(held, up, value, words)
        for value, words in ((heat_of, "temperature, °C"), (acid_of, "pH at that temperature"))
    )
    # A study stands in the table once for each of its columns.
    links = {
        place: _link(study, up) + (" (invented)" if study.invented else "")
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


def _row(study: Shelved, life: ColumnLife, link: Markup) -> str:
    """Return a row of the table of lives as HTML; of thousands, formatted as plain text for its speed."""
    lasted = (
        f"{rounded(life.life_h)} h"
        if life.life_h is not None
        else f"{life.state}, at least {rounded(life.low_h or 0.0)} h"
    )
    cells = (
        life.lot or "not stated", study.asked_on[:4] or "not stated", link, conditions_of(life), lasted,
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


def _of_the_held(held: Sequence[tuple[Shelved, ColumnLife]], stands: Standing) -> Iterator[str]:
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
