"""What of the columns and injections behind an answer was not as its reader must take it to be.

In: the study, its doubtful injections, the groups that an answer is about. Out: sentences. Answer and letter
say them alike.
"""

from collections.abc import Sequence

from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.study.records import Column, Study
from lyewitness.study.setpoints import departure_words, departures
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, listed, sentence, spelled

MOST_NAMED = 3
"""Injections that are named; ‘lyewitness check’ names all."""


def reservations(
    study: Study, doubtful: Sequence[DoubtfulInjection], groups: Sequence[str]
) -> tuple[str, ...]:
    """Return which columns were left out of the comparison, which ran off the plan, and which injections are
    counted though they look wrong; a sentence each."""
    compared = [column for group in groups for column in under_one_stress(study, group)]
    others = [c for group in groups for c in study.replicates(group) if c not in compared]
    said = [
        *_left_out(study, others),
        *departure_words(tuple(departures(study.stress, compared, study.conditions))),
    ]
    said += _counted(study, doubtful, [column.id for column in compared])
    return tuple(sentence(one) for one in said)


def own_reservations(study: Study, column: Column) -> tuple[str, ...]:
    """Return of one column whether it was left out of the comparison or ran off the plan, a sentence each."""
    apart = [] if column in under_one_stress(study, column.group) else [column]
    off = departure_words(tuple(departures(study.stress, [column], study.conditions)))
    return tuple(sentence(one) for one in (*_left_out(study, apart), *off))


def _left_out(study: Study, columns: Sequence[Column]) -> list[str]:
    """Return `P2 is left out of the comparison: it ran at 58 °C`, columns under one stress together."""
    # What a design varies is compared, not left out.
    columns = [one for one in columns if not any(factor.level_of(one) for factor in study.factors)]
    alike: dict[str, list[str]] = {}
    for column in columns:
        alike.setdefault(_stress_words(study, column), []).append(column.id)
    return [
        f"{listed(own)} {'is' if len(own) == 1 else 'are'} left out of the comparison: "
        f"{'it' if len(own) == 1 else 'they'} ran at {words}"
        for words, own in alike.items()
    ]


def _stress_words(study: Study, column: Column) -> str:
    """Return in what a column's stress is its own; as the study has it where it states none."""
    ph = column.ph if column.ph is not None else study.stress.ph
    warm = column.temperature_C if column.temperature_C is not None else study.stress.temperature_C
    own = [f"pH {stated(column.ph)}"] if column.ph is not None else []
    own += [with_unit(stated(column.temperature_C), "°C")] if column.temperature_C is not None else []
    whole = [f"pH {stated(ph)}"] if ph is not None else []
    whole += [with_unit(stated(warm), "°C")] if warm is not None else []
    return listed(own or whole) or "the stress of the study"


def _counted(study: Study, doubtful: Sequence[DoubtfulInjection], columns: Sequence[str]) -> list[str]:
    """Return that injections are counted which may not be of their column, or not what they should be."""
    inside = {one.id for one in study.injections if one.column in columns}
    names = [one.injection for one in doubtful if one.injection in inside]
    if not names:
        return []
    left = len(names) - MOST_NAMED
    named = listed([*names[:MOST_NAMED], f"{spelled(left)} more"] if left > 0 else names)
    look = "looks wrong is" if len(names) == 1 else "look wrong are"
    return [f"{counted(len(names), 'injection')} that {look} counted ({named})"]
