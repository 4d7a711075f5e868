"""What may be said of a life at conditions that were not tested, or that one column alone saw.

In: `Evidence`, a `Scope`. Out: a reply. Of a law along pH or temperature nothing is assumed but its direction
(common practice): what is milder lets columns last longer.
"""

from dataclasses import replace

from lyewitness.findings.answer.as_asked import READ, elsewhere
from lyewitness.findings.answer.lives_words import lives_words, longest_first
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.answer.use_claims import asked_spans
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Column
from lyewitness.study.set_on_purpose import setting_of
from lyewitness.words.lives import lasting
from lyewitness.words.phrases import CANNOT_TELL, kind_of, listed


def untested_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that a life is asked about at a pH or temperature that was not tested, with what was seen at the
    one tested; or what the columns lasted that did run there, where most did not.

    Nothing for a question of a span, an order or costs: what was tested stands beside these answers.
    """
    asks = read_question(scope.question.text, evidence.study.groups)
    if not asks.lasting or asks.choice or asks.cost or asked_spans(evidence, scope) or scope.named:
        return []
    if there := _ran_there(evidence, scope):
        return there
    other = elsewhere(evidence, scope)
    if other is None:
        return []
    lives = longest_first(evidence, scope)
    if not lives:
        return []
    seen = lives_words(evidence, lives, scope)
    more = "" if other.harder is None else f"they should last {'longer' if other.harder else 'less long'}, "
    return [
        f"we did not test {other.asked}: at {other.tested}{other.way}, {seen}",
        f"at {other.asked} {more}but by how much only a test tells"
        if more
        else f"how long they last at {other.asked} {CANNOT_TELL}",
    ]


def ran_elsewhere(evidence: Evidence, scope: Scope) -> bool:
    """Return whether a life is asked about at conditions that few columns ran at: no time of the others is
    advised beside it."""
    asks = read_question(scope.question.text, evidence.study.groups)
    return asks.lasting and bool(untested_replies(evidence, scope)) and bool(_ran_there(evidence, scope))


def _ran_there(evidence: Evidence, scope: Scope) -> list[str]:
    """Return what the columns lasted that ran at the pH or temperature asked about, where few of all did."""
    text, study = scope.question.text, evidence.study
    wanted: dict[str, float] = {}
    for name, (asked, _, _) in READ.items():
        values = {float(number.replace(",", ".")) for number in asked.findall(text)}
        if len(values) == 1:
            wanted[name] = values.pop()
    columns = [one for one in study.columns if all(_near(evidence, one, *item) for item in wanted.items())]
    own = {column.id for group in scope.asked or scope.groups for column in study.replicates(group)}
    there = {one.id for one in columns}
    if not wanted or not there or own <= there or 2 * len(there) > len(study.columns):
        return []
    said = [words for one in columns if (words := _lasted(evidence, scope, one))]
    if not said:
        return []
    lone = "; one column says little of the next" if len(columns) == 1 else ""
    at = {setting_of(study, study.column(name), one) for name in own - there for one in wanted}
    lives = [
        life
        for group in scope.asked
        if (life := evidence.group_life(group, *scope.deciding)) is not None and len(at) == len(wanted) == 1
    ]
    plan = READ[next(iter(wanted))][2](at.pop() or 0.0) if lives else ""
    return [
        f"{listed(said)}{lone}",
        *([f"at {plan}, {lives_words(evidence, lives, scope)}"] if lives else []),
    ]


def _near(evidence: Evidence, column: Column, name: str, wanted: float) -> bool:
    value = setting_of(evidence.study, column, name)
    return value is not None and abs(value - wanted) < READ[name][1]


def _lasted(evidence: Evidence, scope: Scope, column: Column) -> str:
    """Return `R1 (returned), which ran at 53.8 °C, lasted 44 h (33 to 45)`."""
    lives = replace(scope, groups=(column.group,)).usable_lives(evidence, column.group, scope.by_any)
    own = next((life for life in lives if life.column == column.id), None)
    decline = evidence.decline(column.id, *scope.deciding) or (own.decline if own is not None else None)
    if decline is None:
        return ""
    at = listed(
        READ[name][2](value)
        for name in READ
        if getattr(column, name) is not None
        and (value := setting_of(evidence.study, column, name)) is not None
    )
    where = f", which ran at {at}," if at else ""
    return f"{column.id} ({kind_of(column.group)}){where} {lasting(decline.life)}"
