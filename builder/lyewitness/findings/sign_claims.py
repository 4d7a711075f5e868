"""What the failure signs of a group say together.

In: the signs of every column. Out: `Claim`s, never more than indicated: signs are no proof of a cause.
"""

from collections.abc import Iterator, Sequence

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim, Sign
from lyewitness.findings.scope import Scope
from lyewitness.findings.wording import CANNOT_TELL, columns_of, counted, listed, run_together, slug


def sign_claims(evidence: Evidence, scope: Scope, signs: Sequence[Sign]) -> Iterator[Claim]:
    """Say for each group which mechanisms the signs speak for on more than half of its columns."""
    for group in scope.groups:
        columns = [column.id for column in evidence.study.replicates(group)]
        found = _favoured(columns, signs)
        failed = [f.column for f in evidence.judgement.first_failures if f.group == group and f.metric]
        if found:
            for mechanism, on in found.items():
                yield _for(scope, group, mechanism, on, len(columns), signs)
        elif failed:
            text = f"what failed on {columns_of(group)} {CANNOT_TELL} from these signs"
            links = tuple(Because("sign", column, f"signs on {column}") for column in failed)
            yield Claim(scope.claim_id("signs", slug(group)), run_together([text]), "not settled", links)


def _favoured(columns: Sequence[str], signs: Sequence[Sign]) -> dict[str, list[str]]:
    """Return the columns by mechanism that is favoured on more than half of them."""
    by_mechanism: dict[str, list[str]] = {}
    for sign in signs:
        if sign.column in columns and sign.verdict == "speaks for":
            by_mechanism.setdefault(sign.mechanism, []).append(sign.column)
    return {m: on for m, on in by_mechanism.items() if 2 * len(on) > len(columns)}


def _for(
    scope: Scope, group: str, mechanism: str, on: Sequence[str], total: int, signs: Sequence[Sign]
) -> Claim:
    others = dict.fromkeys(
        other
        for sign in signs
        if sign.column in on and sign.mechanism == mechanism
        for other in sign.indistinct_from
    )
    text = f"on {len(on)} of {counted(total, f'{group} column')} the signs speak for {mechanism}"
    tied = f"these data cannot tell it from {listed(others, 'or')}" if others else ""
    links = tuple(Because("sign", column, f"signs on {column}") for column in on)
    identity = scope.claim_id("signs", slug(group), slug(mechanism))
    return Claim(identity, run_together([text, tied]), "indicated", links)
