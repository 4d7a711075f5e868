"""A shelf as a static site that opens from the disk.

In: a `Shelf`. Out: files by path: all studies with filters and search, one page a type of column (lives over
temperature and pH, each dot its study, and what the studies say together), contradictions, and what is wrong.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from jinja2 import Environment, Template
from markupsafe import Markup

from lyewitness.shelf.alike import Type, acid_of, alike, conditions_of, heat_of
from lyewitness.shelf.contradictions import APART, NEAR_C, NEAR_PH, Clash, contradictions
from lyewitness.shelf.gathering import Shelf
from lyewitness.shelf.records import ColumnLife, Shelved
from lyewitness.shelf.standing import Beneath, Standing, standing, told_otherwise
from lyewitness.shelf.type_page import link, of_the_held, type_body
from lyewitness.store import code_digest
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_name, metric_of_marker
from lyewitness.words.names import slugs
from lyewitness.words.phrases import counted, listed, sentence

MEMORY = "data/shelf.json"
SHELF_ID = "shelf"
_HERE = Path(__file__)
_PAGES = Environment(autoescape=True, trim_blocks=True)


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
        of_held = tuple(of_the_held(held, stands))
        made_of = _made_of(shelf, key, held, (up, *of_held))
        page = earlier.page(name, made_of) if earlier else None
        files[name] = page or _page(
            f"{key[0]} in {key[4] or 'a buffer that is not stated'}: {metric_of_marker(key[1], key[2])}",
            type_body(held, of_held, f"../{up}"),
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
    source = (code_digest(), _frame_words(), key, columns, sorted(prints.items()), more)
    return hashlib.sha256(json.dumps(source).encode("utf-8")).hexdigest()


@cache
def _frame_words() -> str:
    return _HERE.with_name("page.html").read_text(encoding="utf-8")


@cache
def _frame() -> Template:
    """Return the frame of all pages, compiled once."""
    return _PAGES.from_string(_frame_words())


def _page(title: str, body: Markup, up: str = "", script: bool = False) -> bytes:
    return _frame().render(title=title, body=body, up=up, script=script).encode("utf-8")


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
    ).format(study.place, data, heats, acids, words, link(study, up), notes, lines, about)


def _beneath(one: Beneath, up: str) -> Markup:
    """Return what a study says of another one that does not count beside it."""
    if one.why == "copied":
        return Markup("The same measurements also stand here as {} (study {}), and count once.").format(
            link(one.study, up), one.study.id
        )
    edition = f", revision {one.study.revision}" if one.study.revision else ""
    links = Markup(", ").join(Markup("{} ({})").format(link(copy, up), copy.place) for copy in one.again)
    copies = Markup(" It stands here again as {}.").format(links) if links else ""
    return Markup("{} {} (study {}{}), which has been superseded and counts nowhere.{}").format(
        "Takes the place of" if one.why == "superseded" else "Is a later revision of",
        link(one.study, up), one.study.id, edition, copies,
    )  # fmt: skip


def _copied(one: Beneath, up: str) -> Markup:
    """Return with which study a copy is counted, and what the two state differently."""
    other = told_otherwise(one)
    differs = f" The two state differently: {'; '.join(other)}." if other else ""
    return Markup("The measurements are those of {} (study {}), and count there.{}").format(
        link(one.by, up), one.by.id, differs
    )


def _partly(one: Beneath, up: str) -> Markup:
    return Markup("The measurements of {} are those of {} (study {}), and count there.").format(
        listed(twin.other for twin in one.twins), link(one.by, up), one.by.id
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
            link(one.by, up), one.by.id, link(one.study, up), one.study.id, "; ".join(told_otherwise(one))
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
                link(clash.one, up),
                clash.one.id,
                link(clash.other, up),
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
