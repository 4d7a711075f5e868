"""What the failure signs of a group say together.

In: the signs of every column. Out: `Claim`s, never more than indicated: signs are no proof of a cause.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import fmean

from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, ChemistryFact, Claim, Sign
from lyewitness.findings.signs.observations import PICTURES, late_pictures
from lyewitness.findings.signs.rules import RULES, SKIN, VOID
from lyewitness.words.names import joined
from lyewitness.words.phrases import CANNOT_TELL, columns_of, kind_of, listed, run_together, share_of

DISSOLVING = {VOID, SKIN}
"""Mechanisms that need silica to have gone into solution."""


MOST_NAMED = 2
"""Mechanisms that are named for a group at most; the others are told as not excluded."""


def sign_claims(
    evidence: Evidence, scope: Scope, signs: Sequence[Sign], facts: Sequence[ChemistryFact] = ()
) -> Iterator[Claim]:
    """Say for each group which mechanisms are best supported on more than half of its columns."""
    for group in scope.groups:
        columns = [column.id for column in evidence.study.replicates(group)]
        found = _favoured(columns, signs)
        failed = [f.column for f in evidence.judgement.first_failures if f.group == group and f.metric]
        if found:
            ranked = sorted(found, key=lambda m: (-len(found[m]), -_support(m, found[m], signs)))
            named = {mechanism: found[mechanism] for mechanism in ranked[:MOST_NAMED]}
            parcels = _told_together(named, signs)
            left = _not_excluded(named, ranked, signs)
            for together in parcels:
                rest = left if together is parcels[-1] else ()
                claim = _for(scope, group, together, len(columns), rest)
                links = _chemistry(group, facts) if DISSOLVING & set(together) else ()
                pictures = _pictures(evidence, columns, together)
                yield replace(claim, because=claim.because + pictures + links)
        elif failed:
            text = f"{CANNOT_TELL} from these data why {columns_of(group)} declined"
            links = tuple(Because("sign", column, f"signs on {column}") for column in failed)
            yield Claim(scope.claim_id("signs", group), run_together([text]), "not settled", links)


def _support(mechanism: str, on: Sequence[str], signs: Sequence[Sign]) -> float:
    """Return the mean support of a mechanism over the columns on which it is favoured."""
    return fmean(sign.support for sign in signs if sign.mechanism == mechanism and sign.column in on)


def _not_excluded(
    named: Mapping[str, Sequence[str]], ranked: Sequence[str], signs: Sequence[Sign]
) -> tuple[str, ...]:
    """Return the favoured mechanisms that are not named, and those that cannot be told from named ones."""
    rivals = [
        other
        for sign in signs
        if sign.mechanism in named and sign.column in named[sign.mechanism]
        for other in sign.indistinct_from
    ]
    return tuple(other for other in dict.fromkeys((*ranked, *rivals)) if other not in named)


def _pictures(
    evidence: Evidence, columns: Sequence[str], together: Mapping[str, object]
) -> tuple[Because, ...]:
    """Return links to the pictures whose captions speak of these mechanisms."""
    names = {rule.observable for rule in RULES if rule.direction == "said" and rule.mechanism in together}
    images = {
        image.id: image
        for column in columns
        for name in sorted(names)
        for image in late_pictures(evidence, column, PICTURES[name])
    }
    return tuple(Because("image", image.id, image.caption) for image in images.values())


def _chemistry(group: str, facts: Sequence[ChemistryFact]) -> tuple[Because, ...]:
    """Return the link to how much of the group's beds could have dissolved at all, where it was computed."""
    wanted = joined("dissolution", group)
    return tuple(Because("chemistry", fact.id, fact.name) for fact in facts if fact.id == wanted)


def _favoured(columns: Sequence[str], signs: Sequence[Sign]) -> dict[str, list[str]]:
    """Return the columns by mechanism that is favoured on more than half of them."""
    by_mechanism: dict[str, list[str]] = {}
    for sign in signs:
        if sign.column in columns and sign.verdict == "speaks for":
            by_mechanism.setdefault(sign.mechanism, []).append(sign.column)
    return {m: on for m, on in by_mechanism.items() if 2 * len(on) > len(columns)}


def _told_together(found: dict[str, list[str]], signs: Sequence[Sign]) -> list[dict[str, list[str]]]:
    """Return the favoured mechanisms, those in one parcel that the data cannot tell apart."""
    parcels: list[dict[str, list[str]]] = []
    for mechanism, on in found.items():
        rivals = {
            o
            for sign in signs
            if sign.column in on and sign.mechanism == mechanism
            for o in sign.indistinct_from
        }
        parcel = next((p for p in parcels if rivals & set(p)), None)
        if parcel is None:
            parcels.append({mechanism: on})
        else:
            parcel[mechanism] = on
    return parcels


def _for(scope: Scope, group: str, together: dict[str, list[str]], total: int, left: Sequence[str]) -> Claim:
    """Return the claim for mechanisms that are named together, with those that are not excluded."""
    on = list(dict.fromkeys(column for columns in together.values() for column in columns))
    where = f"on {share_of(len(on), total, f'{kind_of(group)} column')}"
    apart = ", which these data cannot tell apart" if len(together) > 1 else ""
    text = f"{where} the signs point to {listed(together, 'or')}{apart}"
    others = f"not excluded: {listed(left)}" if left else ""
    links = tuple(
        Because("sign", f"{column}/{mechanism}", f"{mechanism}, {column}")
        for mechanism, columns in together.items()
        for column in columns
    )
    identity = scope.claim_id("signs", group, next(iter(together)))
    return Claim(identity, run_together([text, others]), "indicated", links)
