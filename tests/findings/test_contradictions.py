"""Whatever a study looks like, its sentences and tables do not contradict each other."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from lyewitness.decline.first_limits import ANY
from lyewitness.decline.records import GroupLife
from lyewitness.findings.answer.question_scope import by_first_limits, scope_of
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.finding import find
from lyewitness.findings.records import Answer
from lyewitness.words.lives import tell
from lyewitness.words.phrases import SPELLED, columns_of, kind_of
from tests.findings.messy import messy, torn

pytestmark = pytest.mark.slow

NUMBER = r"(\d+(?:\.\d+)?)"
INTERVAL = re.compile(rf"(?<![\d.]){NUMBER}(?: (?:h|%))? \({NUMBER} to {NUMBER}\)")
COUNT = (
    r"(all|both|the one|none of the|"
    + "|".join(SPELLED[1:])
    + r")(?: of)?(?: the)?(?: ("
    + "|".join(SPELLED[1:])
    + "))?"
)
BAD = (
    r"columns columns", r"\bnan\b", r"\bNone\b", r"\.\.", r" ,", r"  ", r"\d\.\d{4,}", r"\b100\.0\d+ %",
    r"It cannot be computed", r"\(\)", r": \.", r"columns column\b", r"\bof unclear life",
)  # fmt: skip


def plain(text: str) -> str:
    """Return text with ordinary blanks and without the blanks that group digits."""
    return re.sub(r"(?<=\d)\u2009(?=\d{3})", "", text).replace("\u2009", " ")


def sentences_of(answer: Answer) -> list[str]:
    """Return everything that one answer says."""
    claims = [*answer.claims, *answer.recommendations, *answer.next_experiments]
    claims += [answer.expectation_verdict] if answer.expectation_verdict else []
    return [plain(text) for text in (answer.short, answer.how_sure, *(claim.text for claim in claims))]


@dataclass(frozen=True)
class Said:
    """How many columns of a group are said to have held, or to have failed before, so many hours."""

    number: int
    total: int
    hours: float
    words: str


def counts_in(text: str, group: str, tested: int, verb: str) -> Iterator[Said]:
    """Yield what `text` says of columns of `group` with that verb and hours behind it."""
    for match in re.finditer(
        rf"{COUNT} {re.escape(kind_of(group))} columns? {verb}[^.;]*?{NUMBER} h", text, re.IGNORECASE
    ):
        word = match.group(1).lower()
        number = (
            tested
            if word in ("all", "both", "the one")
            else 0
            if word == "none of the"
            else SPELLED.index(word)
        )
        yield Said(number, tested, float(match.group(3)), match.group(0))


def contradictions(evidence: Evidence, answer: Answer) -> Iterator[str]:
    """Yield every pair of sentences or numbers that cannot both be true."""
    said = sentences_of(answer)
    for text in said:
        for match in INTERVAL.finditer(text):
            value, low, high = map(float, match.groups())
            if not low <= value <= high:
                yield f"a value outside its interval: {match.group(0)}"
        for words in BAD:
            if re.search(words, text.replace("...", "")):
                yield f"odd words ({words}): {text}"
    by_any, _ = by_first_limits(evidence, scope_of(evidence, answer.question))
    for group in evidence.study.groups:
        life = evidence.group_life(group, *answer.deciding)
        if life is not None:
            yield from _of_group(evidence, said, life, by_any.group_life(group, *ANY))
    yield from _of_orders(answer, said)
    yield from _of_declines(evidence)


def _of_group(
    evidence: Evidence, said: list[str], life: GroupLife, by_any: GroupLife | None
) -> Iterator[str]:
    """Yield what cannot be true of one group; `by_any`: its life where the answer rests on any limit."""
    told = [plain(tell(one.life)) for one in (life, by_any) if one is not None]
    tested = len(evidence.study.replicates(life.group))
    held = [s for text in said for s in counts_in(text, life.group, tested, "(?:held|lasted)")]
    failed = [s for text in said for s in counts_in(text, life.group, tested, "failed before")]
    for one in held:
        for other in failed:
            if other.hours <= one.hours and one.number + other.number > tested:
                yield f"held and failed: {one.words} / {other.words}"
    for text in said:
        promised = re.search(
            rf"replace {re.escape(columns_of(life.group))} after {NUMBER} h", text, re.IGNORECASE
        )
        if promised and any(s.hours <= float(promised.group(1)) * 0.9 for s in failed):
            yield f"to be replaced after a column had failed: {text}"
        if f"typical {life.group} column lasts " in text and not any(one in text for one in told):
            yield f"another life than in the tables: {text}"
        if (
            re.search(r"all \w+ columns failed|both columns failed", text, re.IGNORECASE)
            and "stayed within the limit" in text
        ):
            yield f"all failed and some outlived: {text}"
        if (
            "stayed within the limit as long" in text
            and f"of {life.group} " in text
            and "not reached" not in life.states
        ):
            yield f"none outlived: {text}"
    value, shortest, longest = life.life.hours.value, life.shortest_h, life.longest_h
    if life.life.state == "reached" and value is not None and shortest and longest:
        inside = 0.99 * shortest <= value <= 1.01 * longest
        yield from () if inside else [f"a typical life outside those of its columns: {tell(life.life)}"]


def _of_orders(answer: Answer, said: list[str]) -> Iterator[str]:
    longer = set()
    for text in said:
        if "not contradict" in text or text.startswith("You expected") or " alone, " in text:
            # By one limit alone another type may last longer than by whichever comes first.
            continue
        for match in re.finditer(
            r"[Tt]he ([^.:;,]+?) columns? (?:seem to )?last longer than the ([^.:;,]+?) columns?\b", text
        ):
            longer.add((match.group(1), match.group(2)))
    for first, second in longer:
        if (second, first) in longer:
            yield f"each longer than the other: {first}, {second}"
    for claim in (*answer.claims, *answer.recommendations):
        if claim.strength == "shown" and "seem to" in claim.text:
            yield f"shown and seeming: {claim.text}"
        if claim.strength == "indicated" and "We cannot tell whether" in claim.text.split(".")[0]:
            yield f"indicated and open: {claim.text}"
    short = said[0]
    if short.startswith("Yes:") and "failed before" in short:
        yield f"yes, and failed: {short}"


def _of_declines(evidence: Evidence) -> Iterator[str]:
    for decline in evidence.judgement.declines:
        life, (within, past) = decline.life, decline.life.bracket_h
        if life.state != "reached":
            continue
        low, high, value = life.hours.low, life.hours.high, life.hours.value
        if low is not None and past is not None and low > past * 1.001:
            yield f"an interval behind its bracket: {decline.series.column} {tell(life)} {life.bracket_h}"
        if high is not None and within is not None and high < within * 0.999:
            yield f"an interval before its bracket: {decline.series.column} {tell(life)} {life.bracket_h}"
        if value is not None and decline.end_h is not None and value > decline.end_h * 1.001:
            yield f"reached after the end: {decline.series.column} {tell(life)}"


def read_all(evidence: Evidence) -> list[str]:
    """Return every contradiction in the answers of a study."""
    study = evidence.study
    findings = find(study, evidence.traces, evidence.measurements, evidence.judgement, evidence.problems)
    return [found for answer in findings.answers for found in contradictions(evidence, answer)]


@pytest.mark.parametrize("seed", range(20))
def test_no_two_sentences_contradict_each_other(seed: int) -> None:
    """Of messy studies, no value lies outside its interval, nothing held and failed, no order is turned."""
    assert read_all(messy(1000 + seed)) == []


@pytest.mark.parametrize("seed", range(6))
def test_types_that_fail_by_different_limits_are_told_without_contradiction(seed: int) -> None:
    """Where each type is ended by another limit, or some by none, sentences and table still agree."""
    assert read_all(torn(seed)) == []


@pytest.mark.parametrize("seed", [1010, 1022, 1026, 2035, 2042, 2050])
def test_no_curve_goes_where_no_injection_is(seed: int) -> None:
    """Of few injections, the last far off: what remains is never thousands of per cent."""
    for one in messy(seed).judgement.declines:
        if one.remaining.value is not None and one.series.exposure_h[-1] == one.end_h:
            reach = max(float(one.percent.max() - one.percent.min()), 10.0)
            assert one.percent.min() - reach < one.remaining.value < one.percent.max() + reach
            assert one.series.injections[-1] not in one.outlying
