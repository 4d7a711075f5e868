"""What of the columns and injections behind an answer was not as its reader must take it to be.

In: the study, its doubtful injections, the groups that an answer is about, how columns ended that are left
out. Out: sentences. Answer and letter say them alike.
"""

from collections.abc import Mapping, Sequence

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.usable_lives import usable_life
from lyewitness.findings.answer.as_asked import NEUTRAL_PH
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.study.records import Column, Study
from lyewitness.study.setpoints import departure_words, departures
from lyewitness.words.lives import when
from lyewitness.words.metrics import metric_name, the_metric
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, hours, listed, sentence, spelled

MOST_NAMED = 3
"""Injections that are named; ‘lyewitness check’ names all."""


def reservations(
    study: Study,
    doubtful: Sequence[DoubtfulInjection],
    groups: Sequence[str],
    ends: Mapping[str, str] | None = None,
    change: str = "",
) -> tuple[str, ...]:
    """Return which columns were left out of the comparison, which ran off the plan, and which injections are
    counted though they look wrong; a sentence each. `ends` by column: how those that are left out ended.
    `change`: how little lives would move without these injections."""
    compared = [column for group in groups for column in under_one_stress(study, group)]
    others = [c for group in groups for c in study.replicates(group) if c not in compared]
    said = [
        *_left_out(study, others, ends or {}),
        *departure_words(tuple(departures(study.stress, compared, study.conditions))),
    ]
    said += _counted(study, doubtful, [column.id for column in compared], change)
    return tuple(sentence(one) for one in said)


def own_reservations(study: Study, column: Column) -> tuple[str, ...]:
    """Return of one column whether it was left out of the comparison or ran off the plan, a sentence each."""
    apart = [] if column in under_one_stress(study, column.group) else [column]
    off = departure_words(tuple(departures(study.stress, [column], study.conditions)))
    return tuple(sentence(one) for one in (*_left_out(study, apart, {}), *off))


def ends_of_left_out(evidence: Evidence, scope: Scope) -> dict[str, str]:
    """Return by column how those ended that are left out: `failed after 75 h (60 to 80) by the …`.

    By what decides the question; nothing of one of which that is not known.
    """
    ends = {}
    for group in scope.groups:
        compared = under_one_stress(evidence.study, group)
        for column in evidence.study.replicates(group):
            if column in compared:
                continue
            own = [
                decline
                for decline in evidence.judgement.declines
                if decline.series.column == column.id
                and scope.concerns(decline)
                and (scope.every_limit or scope.by_any or key_of(decline) == scope.deciding)
            ]
            life = usable_life(own)
            if life is not None and life.failed_by is not None:
                by = the_metric(*key_of(life.failed_by))
                ends[column.id] = f"failed {when(life.failed_by.life)} by {by}"
            elif life is not None and all(one.life.state != "unclear" for one in own):
                ends[column.id] = (
                    f"{'passed no' if len(own) > 1 else 'did not pass this'} limit in {hours(life.low)}"
                )
    return ends


def within_words(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that lives are told by the limits of the markers or metrics that a question names, where other
    limits ended columns first: another answer from the same study tells them otherwise."""
    question = scope.question
    if not question.markers and not question.metrics:
        return []
    groups = {one.id for group in scope.groups for one in evidence.study.replicates(group)}
    outside = any(
        first.column in groups
        and first.metric
        and (
            (question.markers and first.marker and first.marker not in question.markers)
            or (question.metrics and first.metric not in question.metrics)
        )
        for first in evidence.judgement.first_failures
    )
    of = [f"of {listed(question.markers)}"] if question.markers else []
    if question.metrics:
        of.insert(0, f"on the {listed(map(metric_name, question.metrics))}")
    return [sentence(f"lives here are by the limits {' '.join(of)} alone, as asked")] if outside else []


def _left_out(study: Study, columns: Sequence[Column], ends: Mapping[str, str]) -> list[str]:
    """Return `P2 is left out of the comparison: it ran at 58 °C, which is harder, and failed after …`.

    Columns under one stress that ended alike stand together. What failed under a milder stress, or held under
    a harder one, did so all the same: that is evidence, though no life to count.
    """
    # What a design varies is compared, not left out.
    columns = [one for one in columns if not any(factor.level_of(one) for factor in study.factors)]
    alike: dict[str, list[str]] = {}
    for column in columns:
        harder, end = _harder(study, column), ends.get(column.id, "")
        told = _stress_words(study, column) + (f", which is {harder}" if harder else "")
        if end:
            verb, _, rest = end.partition(" ")
            against = harder == ("milder" if verb == "failed" else "harder")
            told += f", and {verb}{' all the same' if against and verb == 'failed' else ''} {rest}"
            told += " all the same" if against and verb != "failed" else ""
        alike.setdefault(told, []).append(column.id)
    return [
        f"{listed(own)} {'is' if len(own) == 1 else 'are'} left out of the comparison: "
        f"{'it' if len(own) == 1 else 'they'} ran at {words}"
        for words, own in alike.items()
    ]


def _harder(study: Study, column: Column) -> str:
    """Return whether a column's own stress is `harder` or `milder` than that of those that are compared.

    Nothing where that is not known: both ways at once, or another pH in acid.
    """
    signs = set()
    compared = under_one_stress(study, column.group)
    for name, rising_from in (("temperature_C", 0.0), ("ph", NEUTRAL_PH)):
        plan = getattr(study.stress, name)
        own = getattr(column, name) if getattr(column, name) is not None else plan
        others = {plan if getattr(one, name) is None else getattr(one, name) for one in compared}
        if others == {own}:
            continue
        known = [value for value in (own, *others) if value is not None]
        if len(others) != 1 or len(known) < 2 or min(known) < rising_from:
            return ""
        signs.add(known[0] > known[1])
    return "" if len(signs) != 1 else "harder" if signs.pop() else "milder"


def _stress_words(study: Study, column: Column) -> str:
    """Return in what a column's stress is its own; as the study has it where it states none."""
    ph = column.ph if column.ph is not None else study.stress.ph
    warm = column.temperature_C if column.temperature_C is not None else study.stress.temperature_C
    own = [f"pH {stated(column.ph)}"] if column.ph is not None else []
    own += [with_unit(stated(column.temperature_C), "°C")] if column.temperature_C is not None else []
    whole = [f"pH {stated(ph)}"] if ph is not None else []
    whole += [with_unit(stated(warm), "°C")] if warm is not None else []
    return listed(own or whole) or "the stress of the study"


def _counted(
    study: Study, doubtful: Sequence[DoubtfulInjection], columns: Sequence[str], change: str
) -> list[str]:
    """Return that injections are counted which may not be of their column, or not what they should be."""
    inside = {one.id for one in study.injections if one.column in columns}
    names = [one.injection for one in doubtful if one.injection in inside]
    if not names:
        return []
    left = len(names) - MOST_NAMED
    named = listed([*names[:MOST_NAMED], f"{spelled(left)} more"] if left > 0 else names)
    look = "looks wrong is" if len(names) == 1 else "look wrong are"
    without = f"; without {'it' if len(names) == 1 else 'them'} {change}" if change else ""
    return [f"{counted(len(names), 'injection')} that {look} counted ({named}){without}"]
