"""What an answer must not be read without, where it stands alone: when a life ends, and what else differs.

In: `Edition`, an answer. Out: its words; empty where there is nothing to say.
"""

from lyewitness.document.edition import Edition
from lyewitness.findings.audit.columns import apart_in
from lyewitness.findings.records import Answer
from lyewitness.study.records import Limit
from lyewitness.words.lives import is_lower, is_relative, level_of
from lyewitness.words.metrics import metric_name, metric_of_marker
from lyewitness.words.phrases import listed


def limit_words(edition: Edition, answer: Answer) -> str:
    """Return what counts as the end of a life, in a sentence."""
    if answer.ended:
        limits = edition.report.study.limits
        bounds = [
            f"{metric_name(one.metric)} {'at least' if is_lower(one) else 'at most'} {level_of(one)}"
            for one in limits
        ]
        start = edition.say("provisos.of_start") if any(map(is_relative, limits)) else ""
        return edition.say("provisos.any_limit", limits=listed(dict.fromkeys(bounds)), start=start)
    own = _limit(edition, answer)
    if own is None:
        return ""
    start = edition.say("provisos.its_start") if is_relative(own) else ""
    what = metric_of_marker(*_deciding(edition, answer))
    return edition.say("provisos.limit", what=what, passed=limit_passed(edition, answer), start=start)


def limit_passed(edition: Edition, answer: Answer) -> str:
    """Return `falls below 80 %`, as an answer tells when its lives end; empty where several limits do."""
    own = None if answer.ended else _limit(edition, answer)
    return f"{'falls below' if is_lower(own) else 'rises above'} {level_of(own)}" if own else ""


def _deciding(edition: Edition, answer: Answer) -> tuple[str, str]:
    return answer.deciding if any(answer.deciding) else edition.report.judgement.deciding


def _limit(edition: Edition, answer: Answer) -> Limit | None:
    """Return the limit that decides an answer; None where no life was judged by it."""
    deciding, lives = _deciding(edition, answer), edition.report.judgement.group_lives
    return next((life.limit for life in lives if (life.marker, life.metric) == deciding), None)


def _compared(edition: Edition, answer: Answer) -> tuple[str, ...]:
    """Return the groups that an answer holds against each other; none where it speaks of one alone."""
    known = edition.report.study.groups
    about = {group for span in answer.spans for group in span.groups} or {*(answer.question.groups or known)}
    return tuple(group for group in known if group in about) if len(about) > 1 else ()


def differing_words(edition: Edition, answer: Answer) -> str:
    """Return in what else than their type the compared columns differ, with the sizes, in a sentence."""
    found = apart_in(edition.report.study, _compared(edition, answer))
    told = [
        f"{name} ({listed(values)})" if values[0][:1].isdigit() else name for name, values in found.items()
    ]
    return edition.say("provisos.differing", what=listed(told)) if told else ""


def strength_meaning(edition: Edition, strength: str, answer: Answer) -> str:
    """Return what a word of strength means beside this answer.

    That nothing could overturn it is no word for columns that differ in more than their type: it holds of
    these columns, and not of what it was that made them differ.
    """
    if strength == "shown" and (found := apart_in(edition.report.study, _compared(edition, answer))):
        return edition.say("provisos.shown", what=listed(found, "or"))
    return edition.say(f"strength_means.{strength}")
