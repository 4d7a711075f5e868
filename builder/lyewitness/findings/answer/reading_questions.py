"""What a question asks and an expectation expects, where their words leave no doubt.

In: the text of a question. Out: `Asks`. What it names of the study is read by `study.questions`.

Of an expectation `Expected`, or None: then the reader is to compare for himself. Spans of time are read
from `48 h`, `two days`, `500 injections`.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Literal

from lyewitness.study.questions import named_factors, named_groups, words_of
from lyewitness.words.phrases import SPELLED

AUXILIARY = (
    r"(is|are|was|were|do|does|did|can|could|will|would|should|shall|has|have|had|may|might|must|isn['’]t|"
    r"aren['’]t|don['’]t|doesn['’]t)"
)
YES_OR_NO = re.compile(
    rf"(?:^|[.?!;:]\s+|\b(?:and|then|so),?\s+)(?:{AUXILIARY}\b|(?:true|right|correct)\s*\?)", re.IGNORECASE
)
COST = re.compile(
    r"\b(worth(?!\s+(?:having|using|fitting|the (?:trouble|effort)))|price|prices|priced|costs?|"
    # `Can we keep the cheap one?` asks for no costs.
    r"how cheap|cheap (?:to|enough)|"
    r"cheaper|cheapest|expensive|money|pays?|economical|afford)\b",
    re.IGNORECASE,
)
RATE = re.compile(
    r"\b((?<!flow )rates?|how (fast|quickly|rapidly)|faster|slower|fastest|slowest|per hour|an hour|speeds?|"
    r"slows?|slow(ed|ing) down|accelerates?|hastens?|retards?)\b",
    re.IGNORECASE,
)
EARLIER = re.compile(r"\b(earlier|sooner|first|before|faster|more|worse|stronger)\b", re.IGNORECASE)
CHOICE = re.compile(
    r"\b(which|what type|or|choose|prefer|recommend|buy|switch|move|change to|best|should we|longest|"
    r"cheapest|most stable|replace .* (with|by))\b",
    re.IGNORECASE,
)
LASTING = re.compile(
    r"\b(lasts?|li(fe|ves)|lifetimes?|how long|often|holds?|survives?|fits?|replaced?|change|endures?|when|"
    r"how many (injections|runs))\b",
    re.IGNORECASE,
)
EFFECT = re.compile(
    r"\b(helps?|protects?|prolongs?|extends?|improves?|matters?|longer|increases?|lengthens?|effect|"
    r"difference|changes?|good|use|better|worth)\b",
    re.IGNORECASE,
)


NEGATED = re.compile(r"\b(not|no|never|nor|neither|\w+n['’]t)\b", re.IGNORECASE)
"""What turns a statement round."""


SAY = re.compile(r"\byes or no\b", re.IGNORECASE)


def wants_yes_or_no(text: str) -> bool:
    """Return whether yes or no is asked for: `does it last?`, `are they alike, yes or no?`."""
    return YES_OR_NO.search(text) is not None or SAY.search(text) is not None


def parts_of(text: str) -> tuple[str, ...]:
    """Return what a question asks one after the other: `which to take, and does a guard help?` are two."""
    starts = [match.start() for match in YES_OR_NO.finditer(text)]
    ends = [0, *starts, len(text)]
    pieces = [text[a:b] for a, b in pairwise(ends)]
    return tuple(part for piece in pieces for part in re.split(r"(?<=[?.!])\s+", piece) if part.strip())


def asked_sentence(text: str) -> str:
    """Return the sentence that wants yes or no, as a statement would stand.

    Of `a colleague says that A lasts twice as long. Is he right?` it is the first that stands as one.
    """
    before = ""
    for part in re.split(r"(?<=[?.!])\s+", text):
        if YES_OR_NO.search(part):
            return before if before and RIGHT.search(part) else part.strip().rstrip("?")
        before = part.strip().rstrip(".")
    return text


RIGHT = re.compile(
    r"^(?:true|right|correct)\s*\?|"
    r"(?:^|[.?!]\s+)\W*(?:is|are|was) (?:he|she|they|it|that|this|(?:my|our|the) \w+) "
    r"(?:right|correct|true|so)\b|\bdo you agree\b|\bis (?:that|this|it) (?:true|right|correct|so)\b",
    re.IGNORECASE,
)
"""How a sentence sounds that asks whether the one before is true."""


@dataclass(frozen=True, slots=True)
class Asks:
    """What kind of answer a question wants; a question may want several."""

    yes_or_no: bool
    cost: bool
    rate: bool
    choice: bool
    """Whether it asks which to take."""
    lasting: bool
    """Whether it asks after how long something lasts."""
    effect: bool
    """Whether it asks what something does."""

    @property
    def narrow(self) -> bool:
        """Return whether it asks for something of its own, and not for the study's answer as a whole."""
        return self.yes_or_no or self.cost or self.rate or self.lasting


def read_question(text: str, groups: Sequence[str]) -> Asks:
    """Return what `text` asks. `Is A or B …?` wants one of them named, not yes or no."""
    plain = SAY.sub(" ", text)
    first = re.split(r",\s*or\b", plain, maxsplit=1)[0]
    alternative = re.search(r"\bor\b", first, re.IGNORECASE) and len(named_groups(first, groups)) > 1
    return Asks(
        wants_yes_or_no(text) and not alternative,
        bool(COST.search(text)),
        bool(RATE.search(text)),
        bool(CHOICE.search(plain)),
        bool(LASTING.search(text)),
        bool(EFFECT.search(text)),
    )


# "In two weeks" is a date and no length of use: it is passed over below.
HOURS = {"h": 1.0, "hr": 1.0, "hour": 1.0, "day": 24.0, "week": 168.0}
# Blanks group digits by threes (ISO 80000-1, 7.3.1); any others stand between two numbers.
NUMBER = r"\d{1,3}(?:[\u2009\u202f ]\d{3})+(?!\d)|\d+(?:[.,]\d+)*|" + "|".join(SPELLED[1:])
PH = re.compile(r"\bpH\s*(?:of\s*)?\d+(?:[.,]\d+)?", re.IGNORECASE)
"""A pH is no part of the number that follows it: `at pH 11 480 h` are 480 hours."""
NO_RATE = (
    r"(?!\s*(?:/\s*|(?:an?|per|each|every|(?:with)?in an?)\s+)"
    r"(?:h|hr|hour|day|night|week|month|year|shift)\b|\s+daily\b)"
)
"""`60 injections a day` say how fast, not how long."""
SPAN = re.compile(
    rf"(?<!\bin )\b({NUMBER})[\s\u2009\u202f-]*(h|hr|hour|day|week|injection|run)s?\b{NO_RATE}", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time as somebody put it."""

    words: str
    hours: float


A_SPAN = re.compile(r"\ba (day|week)\b", re.IGNORECASE)


def read_spans(text: str, run_time_min: float | None = None, with_article: bool = False) -> tuple[Span, ...]:
    """Return the spans that `text` names; injections and runs need the length of a run.

    `with_article` reads `a week` too, which in a question may as well say how often.
    """
    text = PH.sub("pH", text)
    found = [Span(m.group(0), HOURS[m.group(1).lower()]) for m in A_SPAN.finditer(text) if with_article]
    for match in SPAN.finditer(text):
        number, unit = _number(match.group(1)), match.group(2).lower()
        per_unit = HOURS.get(unit, run_time_min / 60 if run_time_min else None)
        # `What does one injection cost?` names no time that a column is to last.
        if number is not None and per_unit is not None and (number > 1 or unit in HOURS):
            found.append(Span(match.group(0), number * per_unit))
    return tuple(dict.fromkeys(found))


RUNS_IN = re.compile(
    r"\b(\d+) (?:injections|runs|samples|analyses)\b[^.?!]{0,40}?\b(?:a|per|each|every) (week|day)\b",
    re.IGNORECASE,
)


def own_span(span: Span, question: str, run_time_min: float | None) -> Span:
    """Return a span as long as the asker's own week or day is: of `400 injections of 12 min a week` 80 h."""
    found = RUNS_IN.search(question)
    if found is None or not run_time_min or not re.search(rf"\b{found[2]}$", span.words, re.IGNORECASE):
        return span
    if span.hours != HOURS[found[2].lower()]:
        return span
    return Span(span.words, float(found[1]) * run_time_min / 60)


def _number(text: str) -> float | None:
    """Return the number that digits or a word stand for; None where digits are grouped in a doubtful way."""
    word = text.lower()
    if word in SPELLED:
        return float(SPELLED.index(word))
    bare = re.sub(r"[\u2009\u202f ]", "", word)
    if re.fullmatch(r"\d{1,3}(,\d{3})+", bare):
        return float(bare.replace(",", ""))
    return float(bare) if re.fullmatch(r"\d+(\.\d+)?", bare) else None


Kind = Literal["shortest", "longest", "longer", "not shorter", "alike", "holds", "ratio"]

SOUNDS: tuple[tuple[Kind, str], ...] = (
    ("not shorter", r"\b(at least as (long|stable|good|well)|no (shorter|worse|less stable))\b"),
    (
        "alike",
        r"\b(no (meaningful )?difference|equally|alike|the same|as (long|stable|kind|gentle|mild) as)\b",
    ),
    (
        "longest",
        r"\b(longest|fails? last|last to fail|most stable|best|kindest|gentlest|mildest|"
        r"outlasts? (all|both|the others?|every))\b",
    ),
    (
        "shortest",
        r"\b(earlier|sooner|faster|(fails?|goes?|dies?) first|first to fail|shortest|least stable|worst|"
        r"hardest|harshest|roughest|fastest|soonest|quickest)\b",
    ),
    ("longer", r"\b(outlasts?|outlives?|longer than|more stable than|better than)\b"),
    (
        "holds",
        r"\b(holds?|lasts?|survives?|endures?|within the li(fe|ves)|good for|"
        r"(stays?|keeps?|remains?) (below|under|within)|(is|are) enough|suffices?)\b",
    ),
)
"""What each kind of expectation sounds like; the first that fits is taken."""
TIMES = "|".join((r"\d+(?:\.\d+)?", *SPELLED[1:]))
RATIOS: tuple[tuple[float, str], ...] = (
    (1.0, r"\b(does nothing|(has no|without) effect|changes nothing|makes no (meaningful )?difference)\b"),
    (1.5, r"\bhalf (as (long|much) again|again as (long|much))\b|\b(by|a) half (longer|more)\b"),
    (4 / 3, r"\b(a|one) third (longer|more|as long again)\b|\bby (a|one) third\b"),
    (1.25, r"\b(a|one) (quarter|fourth) (longer|more|as long again)\b|\bby (a|one) quarter\b"),
    (2.0, r"\b(doubles?|twice (as|the)|as long again|two ?-?fold)\b"),
    (3.0, r"\b(triples?|trebles?|thrice|three ?-?fold)\b"),
    (4.0, r"\b(quadruples?|four ?-?fold)\b"),
    (0.5, r"\b(halves|half (as|the))\b"),
)
"""By how much a life is expected to be multiplied."""
SO_MANY_TIMES = re.compile(
    rf"\b({TIMES})[ -]times (as (long|stable)|longer|the li(fe|ves)|li(fe|ves))\b", re.IGNORECASE
)
PER_CENT_LONGER = re.compile(r"(\d+(?:\.\d+)?)[ \u2009\u202f]?% (longer|more)\b", re.IGNORECASE)
OF_RATES = re.compile(r"\b((?<!flow )rates?|pace|speed|loss|losses|decline|decay)\b", re.IGNORECASE)
"""What is multiplied where a ratio is not one of lives: `halves the rate of loss`."""
AGAINST = re.compile(r"\b(as|than|against|over|compared|versus|vs)\b", re.IGNORECASE)
"""What stands between a ratio and the two groups that are held against each other, where both follow it."""
REVERSED = (
    r"\b((earlier|sooner|faster) .*\bthan|shorter than|less stable than|worse than|fails? before|"
    r"(sooner|earlier|faster) than)\b"
)
"""The second group is expected to last longer than the first."""
UPPER = (
    r"\b(less than|at most|no more than|up to|fails? (within|by|in)|"
    r"(?<!stay )(?<!stays )(?<!keep )(?<!keeps )under)\b"
)
"""A span that is an upper bound."""
EVERY = r"\b(every|each|all|both|any)\b"
EVERY_TYPE = (
    r"\b(every|each|all|any|both)( of)?( the)?( \w+)? (buffers?|types?|groups?|phases?|columns|lots?|pHs?)\b"
)
"""Of what a span is expected on which no type is named."""
NEGATION = r"\b(not|never|neither|nor|unlikely|doubt|hardly|cannot|\w+n['’]t)\b"


@dataclass(frozen=True, slots=True)
class Expected:
    """An expectation that could be read."""

    kind: Kind
    groups: tuple[str, ...]
    """In the order in which they stand; for `longer` and `not shorter` the longer-lived first."""
    span: Span | None = None
    """For `holds`."""
    every: bool = False
    """For `holds`: whether it is said of every column."""
    at_most: bool = False
    """For `holds`: whether the span is an upper bound."""
    ratio: float | None = None
    """For `ratio`: the life of the first ÷ that of the second."""
    factor: str = ""
    """For `ratio`: the factor that multiplies life, where no group is."""
    of_rates: bool = False
    """For `ratio`: whether rates of decline are meant, and not lives."""


def read_expectation(
    text: str,
    groups: Sequence[str],
    run_time_min: float | None = None,
    factors: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> Expected | None:
    """Return what `text` expects of `groups`; None where it is not one plain sentence of a known kind.

    `factors`: the groups at the level that a factor brings, by its name: `a column behind a sacrificial one`.
    """
    sentences = [part for part in re.split(r"[.;!?](?:\s|$)", text.strip()) if part.strip()]
    if len(sentences) != 1 or re.search(NEGATION, text, re.IGNORECASE):
        return None
    named = named_groups(text, groups)
    if (ratio := read_ratio(text)) is not None:
        return _multiplied(text, ratio, groups, factors)
    if re.search(REVERSED, text, re.IGNORECASE):
        return Expected("longer", named[::-1]) if len(named) == 2 else None
    for kind, pattern in SOUNDS:
        if re.search(pattern, text, re.IGNORECASE):
            by_factor = [g for name in named_factors(text, list(factors)) for g in factors[name]]
            meant = tuple(by_factor) if kind == "holds" and not named else named
            return _fitting(kind, meant, groups, text, run_time_min)
    return None


PRONOUN = re.compile(r"^\s*(it|this|that)\b", re.IGNORECASE)


AGREED = re.compile(r"^\s*(yes|no(?! problem)|surely|probably)\b[\s,;:.]*", re.IGNORECASE)
AGREEING = re.compile(
    r"^\s*(yes|sure|of course|certainly|easily|no problem|fine"
    r"|(it |they |that )?should (be (fine|ok|okay)|do))\b",
    re.IGNORECASE,
)
"""How colleagues say yes: `should be fine, they always did`."""
REASONED = re.compile(r"(?:[,;]|\s)\s?(since|because|as it|for it)\b.*$", re.IGNORECASE | re.DOTALL)
"""A reason that follows what is expected."""
FEW_WORDS = 5
"""Words of an answer that only names a type: `the coated silica`, `probably the core-shell one`."""
VERB = re.compile(
    rf"\b({AUXILIARY}|be|fails?|lasts?|holds?|survives?|endures?|outlasts?|dies|ends?|stays?|keeps?|loses?|"
    r"tails?|falls?|rises?|works?|goes|gets?|wins?)\b",
    re.IGNORECASE,
)
"""What a statement of its own has, and a name alone has not."""


def in_full(text: str, question: str, groups: Sequence[str]) -> str:
    """Return an expectation that leans on the words of its question as a statement of its own.

    `Yes` is what the question asks; `The polymer, since it is sold for it` to a question that asks which to
    take, or which fails first, is the polymer's doing so. Anything else comes back as it is.
    """
    if AGREEING.match(text) and YES_OR_NO.search(question):
        return f"{asked_sentence(question)}, every column"
    bare = REASONED.sub("", AGREED.sub("", text)).strip().rstrip(".!,;")
    head, _, reason = bare.partition(",")
    if named_groups(head, groups) and set(named_groups(reason, groups)) <= set(named_groups(head, groups)):
        # `The hybrid, hybrid is always better`: what follows a name alone is why.
        bare = head if not VERB.search(head) else bare
    if len(words_of(bare)) > FEW_WORDS or VERB.search(bare) or YES_OR_NO.search(question):
        return text
    if len(named_groups(bare, groups)) != 1:
        return text
    sounds = next((kind for kind, words in SOUNDS if re.search(words, question, re.IGNORECASE)), None)
    if sounds == "shortest" or LOST_FIRST.search(question):
        return f"{bare} fails first"
    return f"{bare} lasts longest" if sounds == "longest" or CHOICE.search(question) else text


LOST_FIRST = re.compile(r"\b(loses?|tails?|falls?|rises?|declines?)\b.*\bfirst\b", re.IGNORECASE)


def with_subject(text: str, factor: str) -> str:
    """Return a statement with the factor that the question is about in the place of its pronoun."""
    return PRONOUN.sub(f"The {factor}", text)


CLAUSES = re.compile(
    r"\s*[,;]\s*(?:and|but|while|whereas)?\s+|\s+(?:and|but|while|whereas)\s+", re.IGNORECASE
)
"""What parts two statements of one sentence."""


REASONING = re.compile(
    r"\s*[,;.]\s*(?:and|but|so|then|hence|thus|therefore)?\s+|\s+(?:and|but|so)\s+", re.IGNORECASE
)
"""What parts a statement from what is concluded of it: `it does not tail, so it is worth it`."""


@dataclass(frozen=True, slots=True)
class Clause:
    """One statement of an expectation."""

    words: str
    expected: Expected | None
    """None where it could not be read."""


def read_clauses(
    text: str,
    groups: Sequence[str],
    run_time_min: float | None = None,
    factors: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> tuple[Clause, ...]:
    """Return what each statement of `text` expects: `hybrid longest; core-shell fails first` are two.

    A sentence is parted further only where each of its parts can be read by itself.
    """
    found: list[Clause] = []
    for whole in re.split(r"[.;!?](?:\s+|$)", text.strip()):
        if not whole.strip():
            continue
        read = read_expectation(whole, groups, run_time_min, factors)
        parts = [
            Clause(p.strip(), read_expectation(p, groups, run_time_min, factors))
            for p in CLAUSES.split(whole)
        ]
        carried = [_carried(part, parts[:place]) for place, part in enumerate(parts)]
        # What the whole sounds like may be what its second half says alone.
        kinds = {part.expected.kind for part in carried if part.expected is not None}
        types = {part.expected.groups for part in carried if part.expected is not None}
        own = read is None or len(kinds) > 1 or len(types) > 1 or carried != parts
        several = len(parts) > 1 and all(part.expected for part in carried) and own
        parts = carried if several else parts
        found += parts if several else [Clause(whole.strip(), read)]
    return tuple(found)


OF_THE_SAME = re.compile(r"^\s*(its|their|it|they)\b.*\b(sooner|earlier|faster)\b", re.IGNORECASE)
"""`Its base tails sooner`, said of the type before, against the one it was held against."""


def _carried(part: Clause, before: Sequence[Clause]) -> Clause:
    """Return a statement on the type that the one before names as the worse of two, with both types."""
    last = before[-1].expected if before else None
    if last is None or last.kind != "longer" or not OF_THE_SAME.search(part.words):
        return part
    return replace(part, expected=last) if part.expected is None else part


def _fitting(
    kind: Kind, named: tuple[str, ...], groups: Sequence[str], text: str, run_time_min: float | None
) -> Expected | None:
    """Return the expectation where the number of named groups and spans suits its kind."""
    if kind == "alike":
        return Expected(kind, named or tuple(groups)) if len(named) != 1 else None
    if kind in ("longer", "not shorter"):
        return Expected(kind, named) if len(named) == 2 else None
    if kind == "holds" and not named and (len(groups) == 1 or re.search(EVERY_TYPE, text, re.IGNORECASE)):
        named = tuple(groups)
    if len(named) != 1 and (kind != "holds" or not named):
        return None
    if kind != "holds":
        return Expected(kind, named)
    spans = read_spans(text, run_time_min, with_article=True)
    if len(spans) != 1:
        return None
    every, at_most = (bool(re.search(words, text, re.IGNORECASE)) for words in (EVERY, UPPER))
    return Expected(kind, named, spans[0], every, at_most)


@dataclass(frozen=True, slots=True)
class Times:
    """By how much a text says that a life is multiplied."""

    ratio: float
    begins: int
    """Where its words begin in the text."""


def read_ratio(text: str) -> Times | None:
    """Return by how much `text` says that a life is multiplied; None where it says nothing of the kind."""
    if found := SO_MANY_TIMES.search(text):
        word = found.group(1).lower()
        return Times(float(SPELLED.index(word)) if word in SPELLED else float(word), found.start())
    if found := PER_CENT_LONGER.search(text):
        return Times(1 + float(found.group(1)) / 100, found.start())
    told = ((ratio, re.search(words, text, re.IGNORECASE)) for ratio, words in RATIOS)
    return next((Times(ratio, found.start()) for ratio, found in told if found), None)


def _multiplied(text: str, times: Times, groups: Sequence[str], factors: Iterable[str]) -> Expected | None:
    """Return the expected ratio: of a factor that is named, of two groups, or of a group and what it adds to.

    What multiplies stands before the ratio: `the guard doubles the life of A and B` compares no A with B.
    `Silica + part` lasts so many times as long: as the group of which its name holds every word.
    """
    subject = text[: times.begins]
    doing = _named_shortly(subject, list(factors)) if not named_groups(subject, groups) else ()
    by_factor = named_factors(subject, list(factors)) or doing or named_factors(text, list(factors))
    named = named_groups(text, groups)
    if len(by_factor) == 1:
        of_rates = OF_RATES.search(text[times.begins :]) is not None
        return Expected("ratio", named, ratio=times.ratio, factor=by_factor[0], of_rates=of_rates)
    if not named_groups(subject, groups) and (len(named) > 1 and not AGAINST.search(text[times.begins :])):
        return None
    if len(named) == 1:
        own = set(words_of(named[0]))
        held = [group for group in groups if set(words_of(group)) < own]
        others = [group for group in groups if group != named[0]]
        named = (*named, *held) if len(held) == 1 else (*named, *others)
    return Expected("ratio", named, ratio=times.ratio) if len(named) == 2 else None


def _named_shortly(text: str, factors: Sequence[str]) -> tuple[str, ...]:
    """Return the factors of which `text` has the first word, where no other has it: `the guard` doubles."""
    tokens, firsts = words_of(text), [words_of(name)[:1] for name in factors]
    own = zip(factors, firsts, strict=True)
    return tuple(name for name, first in own if first and first[0] in tokens and firsts.count(first) == 1)


SIGNS = {"€": "EUR", "$": "USD", "£": "GBP"}
"""What stands for a currency beside an amount."""
_NUMBER = r"\d+(?:[.,]\d{1,2})?"
_AMOUNT = re.compile(rf"([€$£])\s?({_NUMBER})\b|\b({_NUMBER})\s?([€$£]|[A-Z]{{3}}\b)")


def asked_price(text: str, currency: str) -> float | None:
    """Return the one amount that a question names in the currency of the study; None for none or several."""
    found = [
        (SIGNS.get(sign, sign), float(number.replace(",", ".")))
        for before, after_sign, after, behind in _AMOUNT.findall(text)
        for sign, number in [(before or behind, after_sign or after)]
    ]
    own = [amount for sign, amount in found if not currency or sign == SIGNS.get(currency, currency)]
    return own[0] if len(own) == len(found) == 1 else None


def asked_currency(text: str) -> str:
    """Return the currency of the first amount that a question names; empty for none."""
    found = _AMOUNT.search(text)
    sign = (found[1] or found[4]) if found else ""
    return SIGNS.get(sign, sign)
