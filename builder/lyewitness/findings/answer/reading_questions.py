"""What a question asks, where its words leave no doubt.

In: the text of a question, and the study. Out: `Asks`, and the metric that it names.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lyewitness.findings.answer.group_names import named_groups, words_of
from lyewitness.study.records import Study

AUXILIARY = (
    r"(is|are|was|were|do|does|did|can|could|will|would|should|shall|has|have|had|may|might|must|isn['’]t|"
    r"aren['’]t|don['’]t|doesn['’]t)"
)
YES_OR_NO = re.compile(rf"(?:^|[.?!;:]\s+|\b(?:and|then|so),?\s+){AUXILIARY}\b", re.IGNORECASE)
COST = re.compile(
    r"\b(worth|price|prices|priced|costs?|cheap|cheaper|cheapest|expensive|money|pays?|economical|afford)\b",
    re.IGNORECASE,
)
RATE = re.compile(
    r"\b(rates?|how (fast|quickly|rapidly)|faster|slower|fastest|slowest|per hour|an hour|speed)\b",
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
METRIC_WORDS = (
    ("symmetry_factor", r"\b(tail(s|ed|ing)?|symmetry|asymmetr\w+|peak shapes?|fronts?|fronting)\b"),
    ("retention_factor", r"\b(retention|retain(s|ed)?)\b"),
    ("plate_number_half_height", r"\b(plates?|plate numbers?|efficienc(y|ies))\b"),
    ("pressure_bar", r"\b(back ?pressure|pressure)\b"),
    ("resolution", r"\bresolution\b"),
)
"""How a question names a metric; of a study that limits another one of its kind, that one is meant."""
ROLE_WORDS = (
    ("base", r"\b(bases?|basic|amines?)\b"),
    ("neutral", r"\bneutrals?\b"),
    ("acid", r"\b(acids?|acidic)\b"),
)


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
    first = re.split(r",\s*or\b", text, maxsplit=1)[0]
    alternative = re.search(r"\bor\b", first, re.IGNORECASE) and len(named_groups(first, groups)) > 1
    return Asks(
        bool(YES_OR_NO.search(text)) and not alternative,
        bool(COST.search(text)),
        bool(RATE.search(text)),
        bool(CHOICE.search(text)),
        bool(LASTING.search(text)),
        bool(EFFECT.search(text)),
    )


def asked_metric(text: str, study: Study) -> Iterator[tuple[str, str]]:
    """Yield the (marker, metric) that `text` names, likeliest first, from `the base tails`."""
    metrics = [metric for metric, words in METRIC_WORDS if re.search(words, text, re.IGNORECASE)]
    tokens = words_of(text)
    own = [m.id for m in study.markers if words_of(m.id) and all(word in tokens for word in words_of(m.id))]
    roles = [role for role, words in ROLE_WORDS if re.search(words, text, re.IGNORECASE)]
    by_role = [marker.id for marker in study.markers if marker.role in roles]
    retained = [marker.id for marker in study.markers if marker.role != "void"]
    limited = [limit.metric for limit in study.limits]
    for metric in metrics:
        kind = metric.split("_")[0]
        meant = [name for name in dict.fromkeys((metric, *limited)) if name.split("_")[0] == kind]
        for name in meant:
            for marker in (own or by_role or retained) if name != "pressure_bar" else [""]:
                yield marker, name


def named_factors(text: str, names: Sequence[str]) -> tuple[str, ...]:
    """Return the factors of which `text` has every word: `a sacrificial silica column` names that column."""
    tokens = words_of(text)
    return tuple(name for name in names if words_of(name) and all(word in tokens for word in words_of(name)))
