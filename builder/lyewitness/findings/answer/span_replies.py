"""The reply to `do they last as long?`: yes or no first, in one sentence where all types can be told so.

In: `Held`s, the words of a question. Out: clauses.
"""

import re
from collections.abc import Mapping, Sequence, Set
from itertools import groupby
from types import MappingProxyType

from lyewitness.decline.deciding import key_of
from lyewitness.decline.usable_lives import UsableLife, failed_before, told_together
from lyewitness.findings.answer.reading_questions import (
    YES_OR_NO,
    wants_yes_or_no,
)
from lyewitness.findings.answer.use_claims import (
    NOT_RELIABLY,
    Elsewhere,
    Held,
    answers,
    by_limit,
    cut_short,
    end_words,
    held_words,
    kept_words,
    not_run_so_long,
    span_words,
    watched_less,
)
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    down,
    hours,
    kind_of,
    listed,
    share_of,
    spelled,
)

FAILING = re.compile(
    r"\b(fails?|tails?|dies?|die|collapses?|loses?|drops?|falls?|rises?|breaks?|wears?|goes? bad|"
    r"(be|need\w*) (replaced|replacing))\b"
    # Who reaches 500 injections lasts; who reaches 400 bar, or a limit, does not.
    r"|\b(?:bar|psi|MPa|limit)\b.*\b(?:get there|reach(?:es)?|hits?) ?(?:it|that|this)?\b"
    r"|\b(?:reach(?:es)?|hits?|exceeds?|(?:goes?|gets?|climbs?) (?:to|over|above|beyond|past))\b"
    r"[^.?!]*\b(?:bar|psi|MPa|limits?)\b",
    re.IGNORECASE | re.DOTALL,
)
"""How a question sounds that asks whether columns fail within a span, not whether they hold for it."""
LASTING_ON = re.compile(r"\b(without|not|no|never|\w+n['’]t|before)\b", re.IGNORECASE)
WHICH = re.compile(r"\b(which|what type)\b", re.IGNORECASE)
"""How a question sounds that wants one of several named that lasts a span."""
OF_THOSE_TESTED = "Yes, for the columns tested"
TURNED = {"Y": "No", "N": "Yes"}


def reply_words(
    found: Sequence[Held],
    asked: str = "",
    other: Elsewhere | None = None,
    levels: Mapping[str, str] = MappingProxyType({}),
) -> list[str]:
    """Return the answer to `do they last as long?`: yes or no first, where these data say so.

    Where `asked` is whether they fail within the span, yes and no change places. `other`: that the columns
    were tested at other conditions than the question is about. `levels`: with or without what a factor brings
    each group was tested, by group.
    """
    if whole := taken_together(found, asked, other, levels):
        return [whole, *_beside(found)]
    if len(found) > 1 and len({one.span for one in found}) == 1 and all(map(not_run_so_long, found)):
        # What is not known of any is told once.
        types = listed((columns_of(one.group) for one in found), "or")
        ran = hours(max(one.run_h for one in found))
        last = f"{types} last {span_words(found[0].span)}"
        return [f"{CANNOT_TELL} whether {last}: none was run for more than {ran}"]
    words = [answers(one) for one in found]
    if FAILING.search(asked) and not LASTING_ON.search(asked):
        # That no further one need hold is a no of those tested: what a further one may do stands behind it.
        words = [OF_THOSE_TESTED if word == NOT_RELIABLY else word for word in words]
        words = [re.sub("^(Yes|No)", lambda m: TURNED[m.group(0)[0]], word) for word in words]
        # Of most columns that is not so: it may be, and no more.
        few = [0 < 2 * one.failed <= len(one.lives) for one in found]
        words = ["Possibly" if word == "Yes" and one else word for word, one in zip(words, few, strict=True)]
    told = [held_words(one) for one in found]
    which = len(found) > 1 and WHICH.search(asked) and not YES_OR_NO.search(asked)
    if which and len(found) > MOST_EACH and other is None and len({one.span for one in found}) == 1:
        return _sorted_by_span(found)
    if other is not None:
        placed = [other.told(*one) for one in zip(found, words, told, strict=True)]
        words, told = [word for word, _ in placed], [seen for _, seen in placed]
    if len(found) == 1 or (len(set(words)) == 1 and not which):
        lead = f"{words[0]}: " if words[0] else ""
        return [f"{lead}{told[0]}", *told[1:], *_beside(found)]
    ordered = sorted(zip(words, found, told, strict=True), key=_in_order)
    said = _said_once(ordered) or [
        f"{_word_for(word, one)}: {_they(one, words_of)}" if word else words_of
        for word, one, words_of in ordered
    ]
    if not YES_OR_NO.search(asked):
        # `Which type holds for five days?` wants types, not yes or no.
        none = _none_words(found) if which else []
        if len(none) == 1 and len({one.span for one in found}) == 1:
            return [*_each_words(none[0], found, other), *_beside(found)]
        said = [*none, *(words_of for *_, words_of in ordered)]
    return [*said, *_beside(found)]


MOST_EACH = 3
"""Types of which each is told by itself how it stands to a span; more are sorted."""


def _sorted_by_span(found: Sequence[Held]) -> list[str]:
    """Return which of many types lasted a span, which did not, and of which that is not known.

    Of one limit that is asked about, those are set apart that another limit ended sooner.
    """
    did = [one for one in found if one.verdict in ("shown", "indicated")]
    gone = [one for one in found if one not in did and (one.failed or one.typical)]
    rest = [one for one in found if one not in did and one not in gone]
    span = span_words(found[0].span) + (" within every limit" if found[0].every_limit else "")
    said = []
    if did:
        number = sum(one.surely for one in did)
        every = "both" if number == 2 else f"all {spelled(number)}"
        said.append(f"{listed(one.group for one in did)}: {every} columns {kept_words(did[0], span)}")
    if gone:
        when = [_when(one, failed_before(one.lives, one.span.hours)) or one.typical for one in gone]
        each = [f"{one.group} ({told})" for one, told in zip(gone, when, strict=True)]
        said.append(f"not {listed(each)}")
    if rest:
        short = [words for one in rest for words in watched_less(one.lives, (), one.span.hours)]
        said.append(f"of {listed(one.group for one in rest)} {CANNOT_TELL}{_in_brackets(short)}")
    sound, sooner = [one for one in did if not one.sooner], [one for one in did if one.sooner]
    if sooner:
        only = f"; of these take {listed((one.group for one in sound), 'or')}" if sound else ""
        other = "; ".join(one.sooner.removeprefix("by another limit, ") for one in sooner)
        said[0] += only
        said.append(f"by another limit, {other}")
    return said


def _in_brackets(words: Sequence[str]) -> str:
    return f" ({'; '.join(words)})" if words else ""


def _said_once(ordered: Sequence[tuple[str, Held, str]]) -> list[str]:
    """Return the replies, where all columns tested of several types lasted the span these in one sentence.

    `No for those tested of A and B: both A columns and all three B columns …`; empty where none are alike.
    """
    alike = [
        (word, one)
        for word, one, _ in ordered
        if one.verdict == "indicated" and word.endswith(", for the columns tested")
    ]
    if len(alike) < 2 or len({(word, one.span) for word, one in alike}) > 1:
        return []
    word, first = alike[0]
    groups = [one for _, one in alike]
    every = listed(share_of(one.surely, len(one.lives), f"{kind_of(one.group)} column") for one in groups)
    kept = kept_words(first, span_words(first.span) + (" within every limit" if first.every_limit else ""))
    yes = word.partition(",")[0]
    together = f"{yes} for those tested of {listed(one.group for one in groups)}: {every} {kept}"
    said = []
    for each, one, told in ordered:
        if one not in groups:
            said.append(f"{_word_for(each, one)}: {_they(one, told)}" if each else told)
        elif together not in said:
            said.append(together)
    return said


def _in_order(one: tuple[str, Held, str]) -> tuple[bool, bool, bool]:
    """Return the place of a reply: yes, no, what seems so, and last of what nothing is known."""
    word, _, told = one
    return "Y" not in word, not word, told.startswith(CANNOT_TELL)


def _word_for(word: str, found: Held) -> str:
    """Return `Yes for the A columns`, `Yes for the A columns tested`."""
    plain, tested, _ = word.partition(", for the columns tested")
    return f"{plain} for {columns_of(found.group)}{' tested' if tested else ''}"


def _beside(found: Sequence[Held]) -> list[str]:
    return [words for one in found for words in one.beside]


def taken_together(
    found: Sequence[Held], asked: str, other: Elsewhere | None, levels: Mapping[str, str]
) -> str:
    """Return how all groups stand to a span in one sentence, where they can be told so; else nothing.

    Lives beside it would tell no more.
    """
    if other is not None or FAILING.search(asked):
        return ""
    by_level = _by_level(found, [answers(one) for one in found], levels)
    alike = ALIKE.search(asked) is not None
    told = by_level or (_only(found, levels, alike) if wants_yes_or_no(asked) else "")
    by = found[0].by if found else ""
    rest = told.removeprefix(NOT_ALIKE)
    lead = NOT_ALIKE if rest != told else ""
    if rest.startswith("only ") and any(one.margin for one in found):
        lead = "not safely: "
    return f"{lead}by {by}, {rest}" if told and by else f"{lead}{rest}"


NOT_ALIKE = "no, not in this test: "


# `As long as 72 h` and `the same column` hold no types against each other.
ALIKE = re.compile(r"\b(interchangeabl[ey]|equally|equals?|alike)\b", re.IGNORECASE)
"""How a question sounds that asks whether types stand to a span alike."""


def _by_level(found: Sequence[Held], words: Sequence[str], levels: Mapping[str, str]) -> str:
    """Return `not without the guard: both A columns (44 and 47 h) failed before 72 h; with the guard …`.

    Nothing where the groups of a level do not stand to the span alike, or several spans are asked about.
    """
    at: dict[str, list[tuple[Held, str]]] = {}
    for one, word in zip(found, words, strict=True):
        at.setdefault(levels.get(one.group, ""), []).append((one, word))
    if len(at) < 2 or "" in at or len({one.span for one in found}) != 1 or len(found) <= len(at):
        return ""
    told = [
        _at_one_level(level, [one for one, _ in own], {word for _, word in own}) for level, own in at.items()
    ]
    return "; ".join(sorted(told, key=lambda one: not one.startswith("not "))) if all(told) else ""


def _only(found: Sequence[Held], levels: Mapping[str, str], alike: bool) -> str:
    """Return `only the one A column lasted 72 h, and whether further ones do, we cannot tell; both B …`.

    Nothing where not every group stands on one side or the other, whole, or all on one. `alike`: whether it
    is asked if they stand to it alike: then it is no.
    """
    short = {one.group: watched_less(one.lives, (), one.span.hours) for one in found}
    lasting = [one for one in found if one.surely and _lasted_as_watched(one)]
    failing = [one for one in found if one.failed == len(one.lives)]
    sided = lasting and failing and len(lasting) + len(failing) == len(found)
    # Yes for these and no for those says more where it can be said.
    if (
        not sided
        or len({one.span for one in found}) > 1
        or (all(answers(one) for one in lasting) and not alike)
    ):
        return ""
    span = span_words(found[0].span) + (" within every limit" if found[0].every_limit else "")
    less = [words for one in lasting for words in short[one.group]]
    who = listed(
        share_of(one.surely, one.surely if less else len(one.lives), f"{kind_of(one.group)} column")
        for one in lasting
    )
    gone = [(one, failed_before(one.lives, one.span.hours)) for one in failing]
    each = listed(
        f"{share_of(len(own), len(one.lives), f'{kind_of(one.group)} column')} ({_when(one, own)})"
        for one, own in gone
    )
    no = NOT_ALIKE if alike else ""
    if less or alike:
        # `Only two of three lasted` of one that was taken off sound would count it among those that failed.
        as_long = f" that {'was' if sum(one.surely for one in lasting) == 1 else 'were'} watched as long"
        watched = f" ({'; '.join(less)})" if less else ""
        lasted = f"{who}{as_long if less else ''} lasted it{watched}"
        return f"{no}{each} failed before {span}; {lasted}; whether further ones do, {CANNOT_TELL}"
    own = {levels.get(one.group, "") for one in lasting}
    level = f" ({own.pop()})" if len(own) == 1 and all(own) else ""
    return (
        f"only {who}{level} lasted {span}, and whether further ones do, {CANNOT_TELL}; {each} failed before"
    )


def _when(found: Held, failed: Sequence[UsableLife]) -> str:
    """Return when columns failed, by which limit where several count and one ended them all."""
    metrics = {key_of(life.failed_by) for life in failed if life.failed_by is not None}
    return by_limit(failed) if found.every_limit and len(metrics) == 1 else told_together(failed)


def _lasted_as_watched(found: Held) -> bool:
    """Return whether every column lasted the span but those that were watched for less."""
    short = cut_short(found.lives, (), found.span.hours)
    return not found.failed and found.surely + len(short) == len(found.lives)


CAUTIOUS = ("", NOT_RELIABLY, "Yes, for the columns tested", "Yes")
"""What is said of columns that all lasted a span, the most cautious first."""


def _at_one_level(level: str, found: Sequence[Held], words: Set[str]) -> str:
    """Return how the groups at one level stand to a span, where they do so alike; else nothing."""
    span = span_words(found[0].span) + (" within every limit" if found[0].every_limit else "")
    every = [share_of(len(one.lives), len(one.lives), f"{kind_of(one.group)} column") for one in found]
    if words == {"No"} and all(one.failed for one in found):
        gone = [failed_before(one.lives, one.span.hours) for one in found]
        each = [
            f"{share_of(len(own), len(one.lives), f'{kind_of(one.group)} column')} ({_when(one, own)})"
            for one, own in zip(found, gone, strict=True)
        ]
        return f"not {level}: {listed(each)} failed before {end_words(found[0].span)}"
    if all(one.surely == len(one.lives) for one in found):
        # The most cautious of them is true of all.
        word = min(words, key=CAUTIOUS.index)
        if word == NOT_RELIABLY:
            return f"{level}, {listed(every)} lasted {span}, which a further one need not"
        if word:
            yes, comma, rest = word.partition(",")
            return f"{yes.lower()} {level}{comma}{rest}: {listed(every)} lasted {span}"
        with_reserve = listed(f"{which}{_reserve(one)}" for which, one in zip(every, found, strict=True))
        return f"{level}, {with_reserve} lasted {span}; of further columns {CANNOT_TELL}"
    return ""


def _reserve(found: Held) -> str:
    """Return ` (held for 96 h)` where columns held for longer than the span; empty where not by a tenth."""
    least = min(one.low for one in found.lives)
    return f" (held for {hours(down(least))})" if least >= RESERVE * found.span.hours else ""


RESERVE = 1.1
"""How many times a span columns must have held for that to be told: of less nobody plans anything."""


def _each_words(none: str, found: Sequence[Held], other: Elsewhere | None) -> list[str]:
    """Return that no group is known to last a span, and how each of them stands to it, the nearest first."""
    where = f"{other.than_asked}, " if other is not None else ""
    nearest = sorted(found, key=lambda one: (-one.surely / len(one.lives), one.failed / len(one.lives)))
    return [f"{where}{none}: {'; '.join(_stands(one) for one in nearest)}"]


def _stands(found: Held) -> str:
    """Return how many of how many columns lasted a span, and when the others failed.

    `Three of four A columns lasted 168 h, of one we cannot tell (158 h, too near 168 h)`.
    """
    columns, total = f"{kind_of(found.group)} column", len(found.lives)
    span, gone = hours(found.span.hours), failed_before(found.lives, found.span.hours)
    said = [f"{share_of(found.surely, total, columns)} lasted {span}"] if found.surely else []
    if gone:
        which = spelled(len(gone)) if said else share_of(len(gone), total, columns)
        said.append(f"{which} failed before ({_when(found, gone)})")
    unclear = total - found.surely - found.failed
    if unclear and said:
        seen = [one for one in found.lives if one not in gone and one.hours is not None]
        near = [one for one in seen if one.low < found.span.hours]
        why = [f"{_when(found, near)}, too near {span}"] if near else []
        why += watched_less(found.lives, gone, found.span.hours)
        because_of = f" ({'; '.join(why)})" if why else ""
        said.append(f"of {spelled(unclear)} {CANNOT_TELL}{because_of}")
    return ", ".join(said) if said else held_words(found)


def _none_words(found: Sequence[Held]) -> list[str]:
    """Return that no group is known to last a span, where that is so: who asks which does reads it first."""
    said = []
    for span, own in groupby(sorted(found, key=lambda one: one.span.hours), key=lambda one: one.span):
        held = list(own)
        if len(held) > 1 and not any(one.verdict in ("shown", "indicated") for one in held):
            none = "neither of the two" if len(held) == 2 else f"none of the {spelled(len(held))}"
            every = " within every limit" if any(one.every_limit for one in held) else ""
            known = "lasts" if all(one.verdict == "contradicted" for one in held) else "is known to last"
            said.append(f"{none} {known} {span_words(span)}{every}")
    return said


def _they(found: Held, words: str) -> str:
    """Return the words of a group that is named just before."""
    return words.replace(f"{columns_of(found.group)} last", "they last", 1)
