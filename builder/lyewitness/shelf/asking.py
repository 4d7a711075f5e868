"""Which studies bear on a question in plain words, nearest first, and why.

In: words such as 'pyrrolidine pH 11, 40 to 50 °C, polymer, three days', the studies. Out: `Hit`s in order.
Words are ranked by full text; conditions are quantities. What was asked and is another in a study is said
with it, and so is what of the question nobody understood.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import exp, log

from lyewitness.chemistry.protolytes import buffer_named
from lyewitness.shelf.across import HOW_IT_HOLDS
from lyewitness.shelf.alike import AHEAD, foreseen
from lyewitness.shelf.closeness import ended, hot_of, is_apart, lasted, nearness, terms, untested
from lyewitness.shelf.ranges import Range
from lyewitness.shelf.records import ColumnLife, Shelved, behind
from lyewitness.shelf.standing import Beneath, Standing, standing, told_otherwise
from lyewitness.shelf.understanding import Asked, stem, understood
from lyewitness.shelf.vocabulary import Hearing, Index, Text, hear, stems
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.numbers import interval, with_unit
from lyewitness.words.phrases import counted, hours, listed, sentence, spelled

# Another type, buffer or marker is further off than another oven: e to the minus 0.7 is a half.
OTHER = 0.5
# Where any type will do, of studies alike in all else the one that lasted as asked stands first; two degrees
# further off bear on it more.
LASTED = 0.15


@dataclass(frozen=True, slots=True)
class Hit:
    """One study that bears on a question."""

    study: Shelved
    score: float
    why: tuple[str, ...]
    """Reasons, each a clause with its numbers."""
    answer: str
    """The study's answer in a line, with what it says of the span asked for."""
    but: tuple[str, ...] = ()
    """What was asked and is another here, each a clause: they stand among the reasons, too."""
    beneath: tuple[str, ...] = ()
    """What stands on the shelf in its stead no more, or again, a sentence each."""
    life_h: float = 0.0
    """Typical life of the nearest type by which its question was decided, hours; 0 where none is known."""
    measured_by: str = ""
    """Metric, marker and limit of that life."""
    apart: bool = False
    """Whether its conditions lie as far from those asked for as another experiment."""


def ask(question: str, studies: Sequence[Shelved], most: int | None = None) -> tuple[Hit, ...]:
    """Return the studies that bear on a question, nearest first; the longest or shortest lives where asked.

    Damaged, superseded and copied ones are no answers of their own.
    """
    known, stands, index, texts = _heard(question, studies)
    ranks = index.ranks(known.asked.words)
    hits = (
        _hit(known, study, texts[place], ranks.get(place, 0.0), stands)
        for place, study in enumerate(stands.counting)
    )
    bearing = sorted((hit for hit in hits if hit.why), key=lambda hit: (-hit.score, hit.study.id))
    if known.asked.order:
        sign = 1 if known.asked.order == "shortest" else -1
        # What is another thing than was asked, or was run elsewhere, comes last however long it lasts; so
        # does what has no life.
        bearing.sort(key=lambda hit: (bool(hit.but), hit.apart, not hit.life_h, sign * hit.life_h))
    return tuple(bearing[:most])


def _heard(question: str, studies: Sequence[Shelved]) -> tuple[Hearing, Standing, Index, list[Text]]:
    """Return a question as the shelf understands it, what counts there, and the words of that."""
    stands = standing(studies)
    texts = [_told(study, stands.under(study)) for study in stands.counting]
    index = Index(texts)
    return hear(question, stands.counting, index), stands, index, texts


def heard_words(question: str, studies: Sequence[Shelved]) -> str:
    """Return what of a question was understood and what was not, in a line."""
    return " ".join(_heard(question, studies)[0].told())


def mixed(hits: Sequence[Hit]) -> str:
    """Return a warning where lives that are put in order were measured by several metrics or limits."""
    if len({hit.measured_by for hit in hits if hit.measured_by}) < 2:
        return ""
    return (
        "Mind: these lives were not all measured by one marker, metric and limit. A looser limit makes a "
        "life longer: only lives of one limit are in an order."
    )


def nothing_found(question: str, studies: Sequence[Shelved]) -> str:
    """Return what was looked for in vain, and what the shelf has instead."""
    asked, counting = understood(question), standing(studies).counting
    if not asked.anything:
        return (
            "Nothing in that question tells one study from another: name a type of column, a buffer, a "
            "marker, a temperature, a pH, or a word of a study."
        )
    sought = [*asked.words, *(f"not {word}" for word in asked.without)]
    sought += [one.told(key) for key, one in asked.ranges]
    lives = [life for study in counting for life in study.lives]
    heats = sorted({one.temperature_C for one in lives if one.temperature_C is not None})
    span = f"{heats[0]:g}" if heats[:1] == heats[-1:] else f"{heats[0]:g} to {heats[-1]:g}" if heats else ""
    here = "; ".join(filter(None, (
        listed(sorted({one.kind for one in lives})),
        f"in {listed(sorted({one.buffer for one in lives if one.buffer}))}" if lives else "",
        f"at {with_unit(span, '°C')}" if span else "",
    )))  # fmt: skip
    return (
        f"No study on this shelf bears on that question (looked for: {', '.join(sought) or asked.order}). "
        f"Here {'is' if len(counting) == 1 else 'are'} {counted(len(counting), 'study', 'studies')}"
        f"{f' of {here}' if here else ''}."
    )


def _told(study: Shelved, beneath: Sequence[Beneath]) -> Text:
    """Return title and questions (those of copies, too), types, conditions, and all else that is said."""
    copies = [one.study for one in beneath if one.why == "copied"]
    titles = " ".join(
        " ".join((one.title, *(answer.question for answer in one.answers))) for one in (study, *copies)
    )
    kinds = {f"{one.kind} {one.group} {one.marker} {one.role}" for one in study.lives}
    conditions = {f"{one.buffer} {one.organic}" for one in study.lives}
    ids = (study.id, *(one.study.id for one in beneath))
    said = " ".join((*(one.short for one in study.answers), study.words, *study.keywords, *study.lots, *ids))
    return titles, " ".join(sorted(kinds)), " ".join(sorted(conditions)), said


def _hit(known: Hearing, study: Shelved, text: Text, rank: float, stands: Standing) -> Hit:
    """Return one study with its score and reasons."""
    asked = known.asked
    why: list[str] = []
    score = rank
    held = stems(" ".join(text))
    words = [word for word in asked.words if stem(word) in held]
    if asked.words:
        score += len(words) / len(asked.words)
    if words:
        lacks = [word for word in asked.words if word not in (*words, *known.types, *AHEAD)]
        has, rest = (listed(map(known.as_typed, one)) for one in (words, lacks))
        but_not = f", but not {rest}" if rest else ""
        why.append(f"has the {'word' if len(words) == 1 else 'words'} {has}{but_not}")
    near = max(study.lives, key=lambda one: _preferred(known, one, words), default=None)
    but: list[str] = []
    if near is not None:
        own = _deciding(study, near.kind, near)
        numbers = tuple(terms(asked, study, near, own))
        why += [one.told for one in numbers if one.fits]
        but = [*_otherwise(asked, study, known), *(one.told for one in numbers if not one.fits)]
        score += _nearness(known, near, words) + sum(one.bonus for one in numbers) - OTHER * len(but)
        if asked.span_h is not None and not known.types:
            score += LASTED * sum(lasted(one, asked.span_h.furthest) for one in own) / max(len(own), 1)
    life = _typical(study, near) if near is not None and asked.order else 0.0
    if why and life and near is not None:
        why.append(_lasted(study, near, life))
    under, shared = stands.under(study), stands.shared(study)
    beneath = (*_later_than(under), *_copies_told(under), *map(_shared_told, shared))
    return Hit(
        study, score, (*why, *but) if why else (), _answer(known, study, near), tuple(but), beneath, life,
        _measured_by(study, near) if life and near is not None else "",
        near is not None and is_apart(asked, near),
    )  # fmt: skip


def _named(study: Shelved) -> str:
    return f"‘{study.title}’ (study {study.id}, {study.place})"


def _later_than(under: Sequence[Beneath]) -> Iterator[str]:
    """Yield which studies one supersedes, and of which it is a later revision."""
    for one in under:
        if one.why == "superseded":
            yield f"It supersedes {_named(one.study)}, which is no answer any more{_again(one)}."
        elif one.why == "revised":
            edition = (
                f"revision {one.study.revision}" if one.study.revision else "the edition without a number"
            )
            named = f"{edition}, {_named(one.study)}"
            yield f"It is a later edition than {named}, which is no answer any more{_again(one)}."


def _again(one: Beneath) -> str:
    """Return in which other places a superseded study stands."""
    places = listed(copy.place for copy in one.again)
    return f", nor {'is its copy' if len(one.again) == 1 else 'are its copies'} ({places})" if places else ""


# Beyond three the list is longer than the answer; the page of contradictions has them all.
_MOST_COPIES = 3


def _copies_told(under: Sequence[Beneath]) -> Iterator[str]:
    """Yield under which other names the same measurements stand, and what is stated otherwise there."""
    copies = [one for one in under if one.why == "copied"]
    if len(copies) <= _MOST_COPIES:
        for one in copies:
            other = told_otherwise(one)
            differs = f" That one states otherwise: {'; '.join(other)}." if other else ""
            yield f"The same measurements stand here as {_named(one.study)}, and count once.{differs}"
        return
    names = ", ".join(f"{one.study.id}" for one in copies)
    odd = sum(bool(told_otherwise(one)) for one in copies)
    differs = f" {sentence(spelled(odd))[:-1]} of these state otherwise what was done." if odd else ""
    yield (
        f"The same measurements stand here under {spelled(len(copies))} other ids ({names}), and count once."
        f"{differs}"
    )


def _shared_told(one: Beneath) -> str:
    """Return which columns of a study count with another one, a sentence."""
    names = listed(twin.other for twin in one.twins)
    return f"Its measurements of {names} are those of study {one.by.id} ({one.by.place}), and count there."


def _deciding(study: Shelved, kind: str, near: ColumnLife) -> list[ColumnLife]:
    """Return the lives of a type that decided, one a column; by the nearest metric where none is known to."""
    own = [one for one in study.deciding_lives if one.kind == kind]
    pairs = {(one.marker, one.metric) for one in own}
    pair = (
        (near.marker, near.metric) if (near.marker, near.metric) in pairs else next(iter(sorted(pairs)), ())
    )
    return [one for one in own if (one.marker, one.metric) == pair]


def _typical(study: Shelved, near: ColumnLife) -> float:
    """Return the geometric mean of the deciding lives of a type, what was not reached as it lasted."""
    lives = _deciding(study, near.kind, near)
    known = [lasted for one in lives if (lasted := one.life_h if one.life_h is not None else one.low_h)]
    return exp(sum(map(log, known)) / len(known)) if known else 0.0


def _lasted(study: Shelved, near: ColumnLife, life_h: float) -> str:
    """Return how long the columns of a type lasted, a clause."""
    open_ = any(one.life_h is None for one in _deciding(study, near.kind, near))
    lasted_ = f"its columns of {near.kind} lasted {'at least' if open_ else 'about'} {hours(life_h)}"
    return f"{lasted_} ({_measured_by(study, near)})"


def _measured_by(study: Shelved, near: ColumnLife) -> str:
    """Return what a life was measured by: `plate number (half height) of toluene, at least 80 % of …`."""
    life = next(iter(_deciding(study, near.kind, near)), near)
    return f"{metric_of_marker(life.marker, life.metric)}, {limit_read(life.limit, life.metric)}"


def _preferred(known: Hearing, life: ColumnLife, words: Sequence[str]) -> tuple[float, bool]:
    """Return what makes a life the one that is told: nearest, and of those alike one that lasted as asked."""
    span = known.asked.span_h
    return _nearness(known, life, words), span is not None and lasted(life, span.furthest)


def _nearness(known: Hearing, life: ColumnLife, words: Sequence[str]) -> float:
    """Return 0 … about 2.3: a share for each condition asked for, and a little for the type that is named."""
    named = stems(f"{life.kind} {life.group} {life.buffer} {life.marker}")
    near = nearness(known.asked, life)
    near += 0.1 * (sum(stem(word) in named for word in words) + (bool(life.upstream) is known.ahead))
    return near - sum(stem(word) in named for word in known.asked.without)


def _otherwise(asked: Asked, study: Shelved, known: Hearing) -> Iterator[str]:
    """Yield type, buffer, marker and guard that were asked for and that the study has not."""
    lives = study.lives
    kinds = sorted({one.kind for one in lives})
    held = stems(" ".join((*(one.packing for one in lives), *(one.group for one in lives))))
    if missed := [word for word in known.types if stem(word) not in held]:
        yield f"{' '.join(missed)} was asked, this is {listed(kinds)}"
    here = {buffer.name if (buffer := buffer_named(one.buffer)) else one.buffer for one in lives}
    if asked.buffers and not here & set(asked.buffers):
        told = listed(sorted(here - {""})) or "a buffer that is not stated"
        yield f"{listed(asked.buffers, 'or')} was asked, this is in {told}"
    markers = {one.marker for one in lives if one.marker}
    if missed := [one for one in known.markers if one not in markers]:
        yield f"{listed(missed)} was asked, this follows {listed(sorted(markers)) or 'no marker'}"
    ahead = {behind(one.upstream).strip() for one in lives}
    if known.ahead and ahead == {""}:
        yield "something ahead of the column was asked, here nothing is told to have stood there"
    elif not known.ahead and "" not in ahead:
        yield f"all its columns stood {listed(sorted(ahead))}"
    for texts, this in ((kinds, f"is {listed(kinds)}"), (sorted(here), f"is in {listed(sorted(here))}")):
        held_by_all = [
            word for word in asked.without if texts and all(stem(word) in stems(one) for one in texts)
        ]
        if held_by_all:
            yield f"{listed(held_by_all)} was ruled out, this {this}"


def _answer(known: Hearing, study: Shelved, near: ColumnLife | None) -> str:
    """Return the first answer, and what the columns say of the time asked for: of the type that is named."""
    short = study.answers[0].short if study.answers else ""
    span = known.asked.span_h
    if span is None or near is None:
        return short
    kinds = dict.fromkeys((near.kind, *(one.kind for one in study.deciding_lives if not known.types)))
    types = [own for kind in kinds if (own := _deciding(study, kind, near))]
    told = "; ".join(_span_told(own, span) for own in types)
    if not told:
        return short
    by = metric_of_marker(types[0][0].marker, types[0][0].metric)
    return f"{short} By the {by} alone, {told}."


def _span_told(own: Sequence[ColumnLife], span: Range) -> str:
    """Return how many columns of a type lasted a time: `of two columns of polymer both lasted 80 h`."""
    span_h = span.furthest
    # By the ends of the intervals: what holds the span within it is not known to have lasted it, or not.
    held, gone, short = (sum(one(life, span_h) for life in own) for one in (lasted, ended, untested))
    parts = (
        (held, "lasted"),
        (gone, "did not last"),
        (short, f"{'was' if short == 1 else 'were'} not tested for"),
        (len(own) - held - gone - short, "may or may not have lasted"),
    )
    told = listed(f"{_of_all(number, len(own))} {what}" for number, what in parts if number)
    return f"of {counted(len(own), 'column')} of {own[0].kind} {told} {hours(span_h)}"


def _of_all(number: int, every: int) -> str:
    if number < every or every == 1:
        return spelled(number)
    return "both" if every == 2 else f"all {spelled(every)}"


def foreseen_words(question: str, studies: Sequence[Shelved]) -> str:
    """Return the life foreseen for the type and conditions of a question, or why none is; empty for neither.

    It is for a further column in a further laboratory, indicated at best, and says by how far the conditions
    lie outside what was tested. Of ranges it is told for the mildest and the harshest conditions.
    """
    known, stands, _, _ = _heard(question, studies)
    heat, acid = known.asked.temperature_C, known.asked.ph
    if heat is None or acid is None:
        return ""
    corners = [(heat.low, acid.low), (heat.high, acid.high)]
    closed = [(at, ph) for at, ph in dict.fromkeys(corners) if at is not None and ph is not None]
    if len(closed) < len(set(corners)):
        return (
            f"No life is foreseen for a range with an open end ({heat.told('temperature_C')}, "
            f"{acid.told('ph')}): name a temperature and a pH."
        )
    told = list(dict.fromkeys(_foreseen(known.asked, stands.counting, at, ph) for at, ph in closed))
    if any(one.startswith("Indicated") for one in told):
        told.append(HOW_IT_HOLDS)
    return " ".join(told)


def _foreseen(asked: Asked, counting: Sequence[Shelved], temperature_C: float, ph: float) -> str:
    """Return the life foreseen for one temperature and pH."""
    told = foreseen(
        counting, asked.words, asked.buffers, temperature_C, lambda life: hot_of(life, ph, temperature_C)
    )
    if told is None:
        kinds = sorted({life.packing for study in counting for life in study.lives if life.packing})
        here = f" ({listed(kinds, 'or')})" if kinds else ""
        return (
            f"No life is foreseen: name the type of a column as the shelf has it{here}, and a buffer whose "
            f"pH at {temperature_C:g} °C can be computed."
        )
    where = f"{told.kind} in {told.buffer or 'a buffer that is not stated'} at {temperature_C:g} °C"
    life = told.prediction.life_h
    if life.value is None:
        return f"No life is foreseen for {where}: {life.reason}."
    warnings = [told.prediction.outside] if told.prediction.outside else []
    if asked.buffers and not told.as_asked:
        warnings.append(f"{listed(asked.buffers, 'or')} was asked, and no study of that type is in it")
    outside = f" Mind: {'; '.join(warnings)}." if warnings else ""
    by = f"{spelled(told.studies)} studies of {told.columns} columns"
    return (
        f"Indicated, not shown, by {by}: a further column of {where} and pH {told.ph_hot:.1f} when hot, in a "
        f"further laboratory, lasts {interval(life, 'h')} until its "
        f"{metric_of_marker(told.marker, told.metric)} passes its limit "
        f"({limit_read(told.limit, told.metric)}).{outside}"
    )
