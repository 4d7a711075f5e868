"""What the signs on each column say of each mechanism.

In: `Evidence` and the table of rules. Out: `Sign`s.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from lyewitness.findings.changes import Change
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Sign
from lyewitness.findings.signs.observations import OBSERVABLES, Observed
from lyewitness.findings.signs.rules import MECHANISMS, RULES, Direction, Rule
from lyewitness.words.phrases import percent, sentence

Verdict = Literal["speaks for", "speaks against", "cannot tell"]
VERDICTS: tuple[Verdict, ...] = ("speaks for", "cannot tell", "speaks against")
"""In the order in which a column's signs stand."""
Weighing = Literal["for", "against", "open"]


def read_signs(evidence: Evidence, rules: Sequence[Rule] = RULES) -> tuple[Sign, ...]:
    """Return what the signs say, for each column and mechanism."""
    return tuple(sign for column in evidence.study.columns for sign in signs_of(evidence, column.id, rules))


def signs_of(evidence: Evidence, column: str, rules: Sequence[Rule] = RULES) -> Iterator[Sign]:
    """Return what the signs on one column say of each mechanism, the best supported first."""
    observed = {name: OBSERVABLES[name](evidence, column) for name in {rule.observable for rule in rules}}
    by_mechanism = {m: [rule for rule in rules if rule.mechanism == m] for m in MECHANISMS}
    met = {rule: is_met(rule, observed[rule.observable]) for rule in rules}
    verdicts = {m: _verdict(own, met) for m, own in by_mechanism.items() if own}
    signs = []
    for mechanism, verdict in verdicts.items():
        own = by_mechanism[mechanism]
        reasons: dict[Weighing, list[str]] = {"for": [], "against": [], "open": []}
        for rule in own:
            told = _reason(rule, observed[rule.observable], met[rule])
            if told is not None:
                reasons[told[0]].append(told[1])
        others = _indistinct(mechanism, verdicts, by_mechanism, met) if verdict == "speaks for" else ()
        signs.append(
            Sign(
                column,
                mechanism,
                verdict,
                (*reasons["for"], *reasons["against"], *reasons["open"]),
                others,
                tuple(reasons["against"]),
                tuple(reasons["open"]),
                _support(own, met),
            )
        )
    yield from sorted(signs, key=lambda sign: (VERDICTS.index(sign.verdict), -sign.support))


def _support(rules: Sequence[Rule], met: Mapping[Rule, bool | None]) -> int:
    """Return the weight of the rules that are met, less that of those that are surely not."""
    known = [rule for rule in rules if _counts(rule, met[rule])]
    return sum(rule.weight if met[rule] else -max(rule.weight, 0) for rule in known)


def is_met(rule: Rule, observed: Observed) -> bool | None:
    """Return whether the observable surely does what the rule asks, surely does not, or None for neither."""
    if rule.direction in ("seen", "said"):
        return observed.seen
    change = observed.change
    if change is None:
        return None
    does, does_not = _compared(rule.direction, change, rule.threshold)
    return True if does else (False if does_not else None)


def _compared(direction: Direction, change: Change, threshold: float) -> tuple[bool, bool]:
    """Return (surely does, surely does not)."""
    falls, rises = change.falls_by(threshold), change.rises_by(threshold)
    holds = change.holds_within(threshold)
    return {
        "falls": (falls, change.low >= -threshold),
        "rises": (rises, change.high <= threshold),
        "moves": (falls or rises, holds),
        "holds": (holds, falls or rises),
    }[direction]


def _verdict(rules: Sequence[Rule], met: Mapping[Rule, bool | None]) -> Verdict:
    needed = [met[rule] for rule in rules if rule.needed]
    if any(met[rule] is False for rule in rules if rule.needed or rule.vetoes):
        return "speaks against"
    known = [rule for rule in rules if _counts(rule, met[rule])]
    speaking = sum(rule.weight for rule in known if met[rule])
    possible = sum(rule.weight for rule in known if rule.weight > 0)
    return "speaks for" if all(needed) and 2 * speaking > possible else "cannot tell"


def _counts(rule: Rule, met: bool | None) -> bool:
    """Return whether a rule weighs at all: what is merely not seen is no evidence, unless it is needed."""
    if met is None:
        return False
    speaks = rule.direction != "seen" and not rule.never_against
    return met or rule.needed or rule.vetoes or speaks


def _indistinct(
    mechanism: str,
    verdicts: Mapping[str, str],
    by_mechanism: Mapping[str, Sequence[Rule]],
    met: Mapping[Rule, bool | None],
) -> tuple[str, ...]:
    """Return the other mechanisms that explain a sign on which this one rests, with nothing against them.

    Mechanisms that rest on different signs may be at work together, and are told apart by these.
    """
    rests_on = {rule.observable for rule in by_mechanism[mechanism] if rule.needed and met[rule]}
    rivals = []
    for other, verdict in verdicts.items():
        rules = by_mechanism[other]
        shares = any(rule.observable in rests_on for rule in rules if rule.needed and met[rule])
        denied = any(met[rule] is False and _counts(rule, False) for rule in rules)
        if other != mechanism and shares and (verdict == "speaks for" or not denied):
            rivals.append(other)
    return tuple(rivals)


def _reason(rule: Rule, observed: Observed, met: bool | None) -> tuple[Weighing, str] | None:
    """Return how an observation weighs and in which words; None for what counts neither way."""
    if met is None:
        if rule.direction in ("seen", "said") and not rule.needed:
            return None
        state = f"{observed.words}, too near to {_asked(rule)} to tell" if observed.words else "not known"
        return "open", sentence(f"{rule.observable}: {state}")
    silent = (not met and not _counts(rule, met)) or (rule.weight < 0 and not met)
    if silent or (rule.weight == 0 and met):
        return None
    shown = observed.words or ("seen" if observed.seen else "not seen")
    if rule.direction == "seen":
        shown = ("yes" if observed.seen else "no") + (f" ({observed.words})" if observed.words else "")
    against = not met or rule.weight < 0
    lead = "For it:" if not against else "Against it:" if met else "Against it, for then"
    words = sentence(f"{rule.observable}: {shown}. {lead} {rule.words}")
    return ("against" if against else "for"), words


def _asked(rule: Rule) -> str:
    return percent(rule.threshold, 1 if rule.threshold < 10 else 2)
