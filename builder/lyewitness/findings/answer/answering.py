"""The answer to each question from the same evidence.

In: `Evidence`, the audit's `Point`s, the failure signs. Out: `Answer`s.

What the failure signs of a group say together is never more than indicated: signs are no proof of a cause.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import fmean

from lyewitness.decline.first_limits import ANY
from lyewitness.decline.judging import under_one_stress
from lyewitness.findings.answer.as_asked import asks_within_types
from lyewitness.findings.answer.bed_claims import bed_claim, beds_that_gave_way
from lyewitness.findings.answer.claims import (
    accelerated_claims,
    any_limit_claims,
    corrected_words,
    doubt_claims,
    first_failure_claims,
    left_out_claims,
    life_claims,
    metric_claims,
    pair_claims,
    ratio_words,
)
from lyewitness.findings.answer.cost_claims import cost_claims
from lyewitness.findings.answer.course_replies import course_claims, without_limit
from lyewitness.findings.answer.expectation import expectation_verdict
from lyewitness.findings.answer.factor_claims import factor_claims, factor_verdicts, numbers_words, told_p
from lyewitness.findings.answer.headline import headline
from lyewitness.findings.answer.next_experiments import next_experiments, planned_groups
from lyewitness.findings.answer.question_scope import (
    Scope,
    beside_what_decides,
    by_first_limits,
    drawn_metric,
    ended_columns,
    scope_of,
    without_single_metric,
)
from lyewitness.findings.answer.ranking import Ranking, rank, why_words, with_any_limit
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.answer.recommending import advice, recommendations
from lyewitness.findings.answer.reservations import ends_of_left_out, reservations, within_words
from lyewitness.findings.answer.treatments import asks_treatment
from lyewitness.findings.answer.use_claims import asked_spans, concerned, span_claims, spans_of
from lyewitness.findings.answer.without_doubtful import UNMOVED, change_words
from lyewitness.findings.audit.auditing import audit
from lyewitness.findings.audit.columns import POOLED
from lyewitness.findings.audit.points import Point, bearing_on, brief, in_short
from lyewitness.findings.audit.sensitivity import hanging_on_unplanned
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Answer, Because, Check, ChemistryFact, Claim, Sign
from lyewitness.findings.signs.observations import PICTURES, late_pictures
from lyewitness.findings.signs.weighing import GAVE_WAY, PH, RULES, SKIN, VOID
from lyewitness.study.records import Question
from lyewitness.words.metrics import the_metric
from lyewitness.words.names import joined
from lyewitness.words.numbers import p_value, stated, with_unit
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    counted,
    hours,
    kind_of,
    listed,
    mid_sentence,
    run_together,
    sentence,
    share_of,
    spelled,
)

DISSOLVING = {VOID, SKIN}
"""Mechanisms that need silica to have gone into solution."""
OF_THE_BOTTLE = (PH,)
"""Mechanisms of the mobile phase, which all columns share."""


MOST_NAMED = 2
"""Mechanisms that are named for a group at most; the others are told as not excluded."""


def sign_claims(
    evidence: Evidence, scope: Scope, signs: Sequence[Sign], facts: Sequence[ChemistryFact] = ()
) -> Iterator[Claim]:
    """Say for each group which mechanisms are best supported on more than half of its columns.

    What one bottle does to the columns of all types is told once, and of a type by itself only where it can
    explain why its columns failed.
    """
    shared = _of_the_bottle(evidence, signs)
    gave_way = beds_that_gave_way(signs)
    for group in scope.groups:
        columns = [column.id for column in evidence.study.replicates(group)]
        found = _favoured(columns, signs)
        found.pop(GAVE_WAY, None)
        given = [column for column in gave_way if column in columns]
        if given:
            yield bed_claim(evidence, scope, group, given, signs)
        failed = [f.column for f in evidence.judgement.first_failures if f.group == group and f.metric]
        for mechanism in shared:
            on = [column for column in found.get(mechanism, ()) if column in failed]
            if 2 * _explained(mechanism, on, signs) <= len(failed) or not failed:
                found.pop(mechanism, None)
        if found:
            causes = {m: _explained(m, found[m], signs) for m in found}
            ranked = sorted(found, key=lambda m: (-causes[m], -len(found[m]), -_support(m, found[m], signs)))
            opened = _unexplained(evidence, scope, group, found, signs, given)
            yield from opened
            named, elsewhere = _without_others({m: found[m] for m in ranked[:MOST_NAMED]}, signs)
            parcels = _told_together(named, signs)
            left = _not_excluded(named, ranked, signs)
            for place, together in enumerate(parcels):
                rest = left if together is parcels[-1] else ()
                claim = pointing(
                    scope,
                    group,
                    together,
                    len(columns),
                    rest,
                    also=place > 0 or bool(opened) or bool(given),
                    against=against_words(together, signs),
                    elsewhere={m: on for one in together for m, on in elsewhere.get(one, {}).items()},
                )
                links = _chemistry(group, facts) if DISSOLVING & set(together) else ()
                pictures = _pictures(evidence, columns, together)
                yield replace(claim, because=claim.because + pictures + links)
        elif failed and not given:
            text = f"{CANNOT_TELL} from these data why {columns_of(group)} declined"
            links = tuple(Because("sign", column, f"signs on {column}") for column in failed)
            yield Claim(scope.claim_id("signs", group), run_together([text]), "not settled", links)
    for mechanism, on in shared.items():
        where = share_of(len(on), len(evidence.study.columns), "column")
        text = f"on {where}, of every type, the signs point to {mechanism}: one bottle moves all of them"
        links = tuple(Because("sign", f"{column}/{mechanism}", f"{mechanism}, {column}") for column in on)
        yield Claim(scope.claim_id("signs", "all", mechanism), run_together([text]), "indicated", links)


def _of_the_bottle(evidence: Evidence, signs: Sequence[Sign]) -> dict[str, list[str]]:
    """Return the mechanisms of the mobile phase that are favoured in every one of several groups."""
    study = evidence.study
    each = [_favoured([column.id for column in study.replicates(group)], signs) for group in study.groups]
    return {
        mechanism: [column for own in each for column in own[mechanism]]
        for mechanism in OF_THE_BOTTLE
        if len(each) > 1 and all(mechanism in own for own in each)
    }


def _explained(mechanism: str, on: Sequence[str], signs: Sequence[Sign]) -> int:
    """Return on how many of these columns a mechanism can explain what failed first."""
    return sum(sign.explains for sign in signs if sign.mechanism == mechanism and sign.column in on)


def _unexplained(
    evidence: Evidence,
    scope: Scope,
    group: str,
    found: Mapping[str, Sequence[str]],
    signs: Sequence[Sign],
    given: Sequence[str] = (),
) -> list[Claim]:
    """Return that the signs do not tell why the columns failed, where none that is favoured explains it.

    A cause of something else would stand there as that of the failure.
    """
    inside = {column.id for column in under_one_stress(evidence.study, group)}
    firsts = [f for f in evidence.judgement.first_failures if f.column in inside and f.metric]
    failed = [f.column for f in firsts]
    explained = {s.column for s in signs if s.explains and s.column in found.get(s.mechanism, ())} | {*given}
    if not failed or 2 * len(explained & set(failed)) >= len(failed):
        return []
    (first, count), *_ = Counter((f.marker, f.metric) for f in firsts).most_common(1)
    what = the_metric(*first) if count == len(firsts) else f"{the_metric(*first)} and others"
    may = Counter(
        s.mechanism for s in signs if s.explains and s.column in failed and s.verdict == "cannot tell"
    )
    left = [mechanism for mechanism, on in may.most_common() if 2 * on > len(failed)]
    text = f"the signs do not tell why {columns_of(group)} failed first by {what}"
    others = f"not excluded: {', or '.join(left)}" if left else ""
    links = tuple(Because("sign", column, f"signs on {column}") for column in failed)
    return [Claim(scope.claim_id("signs", group), run_together([text, others]), "not settled", links)]


def against_words(together: Mapping[str, Sequence[str]], signs: Sequence[Sign]) -> str:
    """Return `retention of bases (H1) speaks against uncovered silanols`: what does not fit."""
    said = []
    for mechanism, on in together.items():
        found: dict[str, list[str]] = {}
        for sign in signs:
            if sign.mechanism == mechanism and sign.column in on:
                for reason in sign.reasons_against:
                    found.setdefault(mid_sentence(reason.partition(":")[0]), []).append(sign.column)
        names = [n if len(own) == len(on) else f"{n} ({listed(own)})" for n, own in found.items()]
        if names:
            several = len(names) > 1 or any(word.endswith("s") for word in names[0].split()[:2])
            said.append(f"{listed(names)} {'speak' if several else 'speaks'} against {mechanism}")
    return "; ".join(said)


def _without_others(
    named: Mapping[str, list[str]], signs: Sequence[Sign]
) -> tuple[dict[str, list[str]], dict[str, dict[str, list[str]]]]:
    """Return the columns of each mechanism that is named, without those on which another stands before it.

    Where something speaks against a mechanism on a column and more for another, that column is the other's.
    With them, by mechanism that is named: what stands before it, and on which columns. None is taken away
    where more than half would go.
    """
    kept: dict[str, list[str]] = {}
    elsewhere: dict[str, dict[str, list[str]]] = {}
    for mechanism, on in named.items():
        first = {column: _first_before(mechanism, column, signs) for column in on}
        own = [column for column in on if not first[column]]
        kept[mechanism] = own if 2 * len(own) > len(on) else on
        for column in on:
            if column not in kept[mechanism] and first[column] not in named:
                elsewhere.setdefault(mechanism, {}).setdefault(first[column], []).append(column)
    return kept, elsewhere


def _first_before(mechanism: str, column: str, signs: Sequence[Sign]) -> str:
    """Return the mechanism best supported on a column where one that has something against it is not."""
    favoured = [s for s in signs if s.column == column and s.verdict == "speaks for"]
    own = next((s for s in favoured if s.mechanism == mechanism), None)
    best = max(favoured, key=lambda s: s.support, default=None)
    if own is None or best is None or not own.reasons_against or best.support <= own.support:
        return ""
    return best.mechanism


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


def pointing(
    scope: Scope,
    group: str,
    together: dict[str, list[str]],
    total: int,
    left: Sequence[str],
    also: bool,
    against: str = "",
    elsewhere: Mapping[str, Sequence[str]] | None = None,
) -> Claim:
    """Return the claim for mechanisms named together, what speaks against them, and what is not excluded.

    `elsewhere`: columns of the type by the mechanism that their own signs point to rather.
    """
    on = list(dict.fromkeys(column for columns in together.values() for column in columns))
    where = f"on {share_of(len(on), total, f'{kind_of(group)} column')}"
    apart = ", which these data cannot tell apart" if len(together) > 1 else ""
    text = f"{where} the signs {'also ' if also else ''}point to {listed(together, 'or')}{apart}"
    for mechanism, columns in (elsewhere or {}).items():
        text += f"; on {listed(columns)} rather to {mechanism}"
    # Names of mechanisms hold an `and` of their own.
    others = f"not excluded: {', or '.join(left)}" if left else ""
    links = tuple(
        Because("sign", f"{column}/{mechanism}", f"{mechanism}, {column}")
        for mechanism, columns in (*together.items(), *(elsewhere or {}).items())
        for column in columns
    )
    identity = scope.claim_id("signs", group, next(iter(together)))
    return Claim(identity, run_together([text, against, others]), "indicated", links)


def answer(
    evidence: Evidence,
    points: Sequence[Point],
    signs: Sequence[Sign],
    question: Question,
    facts: Sequence[ChemistryFact] = (),
) -> Answer:
    """Answer one question."""
    alone, plain = evidence, scope_of(evidence, question)
    evidence, scope = by_first_limits(evidence, plain)
    by_metric = tuple(points)
    if scope.by_any:
        points = without_single_metric(points)
    # What the groups' lives say is no answer to a question about a metric that has no limit and so no life.
    by_rate = without_limit(evidence, scope) is not None
    ranking = Ranking(scope.groups, ()) if by_rate else rank(evidence, points, scope)
    beside = beside_what_decides(evidence, scope) if ranking.open_pairs else None
    if beside is not None:
        ranking = with_any_limit(ranking, _rank_beside(*beside))
    told_by_signs = tuple(sign_claims(evidence, scope, signs, facts))
    claims = (
        *(
            factor_claims(alone, plain, factor_verdicts(alone, by_metric, plain))
            if scope.by_any and not ranking.factors
            else factor_claims(evidence, scope, ranking.factors)
        ),
        *course_claims(evidence, points, scope),
        *pair_claims(evidence, scope, ranking),
        *(any_limit_claims(beside[0], scope, ranking) if beside is not None else ()),
        *life_claims(evidence, points, scope),
        *(metric_claims(alone, by_metric, plain) if scope.by_any else ()),
        *left_out_claims(evidence, scope),
        *doubt_claims(evidence, scope),
        *cost_claims(evidence, points, scope),
        *([] if by_rate else span_claims(evidence, points, scope)),
        *first_failure_claims(evidence, points, scope),
        *told_by_signs,
        *accelerated_claims(alone, points, plain),
    )
    reserved = (
        *within_words(evidence, scope),
        *reservations(
            evidence.study,
            evidence.doubtful,
            scope.groups,
            ends_of_left_out(evidence, scope),
            change_words(evidence, scope),
        ),
        *_hanging(evidence, scope, ranking),
    )
    ended = ended_columns(evidence, scope)
    by_any = [evidence.group_life(group, *ANY) for group in scope.groups] if scope.by_any else []
    return Answer(
        question,
        so_far(evidence, headline(evidence, points, scope, ranking, told_by_signs)),
        how_sure(evidence, points, scope, ranking, reserved),
        claims,
        recommendations(evidence, points, scope, ranking, claims, planned_groups(evidence, scope, ranking)),
        next_experiments(evidence, points, scope, ranking, claims),
        expectation_verdict(evidence, points, scope, ranking, claims),
        drawn_metric(scope, ended),
        advice(evidence, points, scope, ranking),
        spans_of(evidence, scope),
        reserved,
        tuple(life for life in by_any if life is not None),
        ended,
    )


def _rank_beside(evidence: Evidence, scope: Scope) -> Ranking:
    """Return the ranking by whichever limit comes first, where another metric is to decide.

    How much each treatment can have shortened these lives is weighed against these lives.
    """
    asked = replace(evidence, judgement=replace(evidence.judgement, deciding=scope.single))
    return rank(evidence, without_single_metric(audit(asked)), scope)


def so_far(evidence: Evidence, told: str) -> str:
    """Return the head of the answer, which says of a study that still runs how far it has come."""
    standing = evidence.standing
    if not standing.running:
        return told
    of = f" of {hours(standing.ends_h)}" if standing.ends_h is not None else ""
    return f"The test is running: {hours(standing.reached_h)}{of}. So far: {mid_sentence(told)}"


OF_TYPES = ("replicates", "different-lots")
"""Checks of how many columns stand for a type."""


def how_sure(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    reserved: Sequence[str] = (),
) -> str:
    """Say in two or three sentences what the answer rests on: what weakens it most comes first."""
    if asks_within_types(evidence, scope):
        # That types hold both levels is how what a part does is found, and no fault of that answer.
        points = [point for point in points if not point.check.id.startswith(POOLED.id)]
    if asks_treatment(scope):
        # What befell one column rests on no number of columns of a type.
        points = [one for one in points if not one.check.id.startswith(OF_TYPES)]
    light = [one for one in reserved if UNMOVED in one]
    heavy = [one for one in reserved if one not in light]
    return run_together([*heavy, _resting(evidence, points, scope, ranking, heavy), *light])


def _hanging(evidence: Evidence, scope: Scope, ranking: Ranking) -> Iterator[str]:
    """Yield that the answer settles what is not settled without the columns that ran off their plan."""
    told = {pairing.groups for pairing in ranking.untold if pairing.verdict != "open"}
    pairs = [
        f"{one.group_a} and {one.group_b}"
        for one in hanging_on_unplanned(evidence, scope.deciding)
        if {one.group_a, one.group_b} in told
    ]
    if pairs:
        yield sentence(
            f"without {listed(evidence.unplanned)} the lives of {'; of '.join(pairs)} could not be told apart"
        )


def _resting(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    reserved: Sequence[str],
) -> str:
    """Return what the answer rests on, and what the audit has against it."""
    basis = f"this rests on {_columns_words(evidence, scope)}{_tests_words(evidence, scope, ranking)}"
    if not scope.deciding[1]:
        basis = _bare_words(evidence, points, scope)
    unsettled = _unsettled(evidence, scope, ranking)
    weakened, audit_said = _audit_words(evidence, points, scope, ranking, reserved)
    if weakened:
        same = unsettled and (unsettled in mid_sentence(audit_said) or "says nothing of" in unsettled)
        return run_together([audit_said, "" if same else unsettled, basis])
    return run_together([unsettled, basis, audit_said])


def _compares(evidence: Evidence, scope: Scope) -> bool:
    """Return whether the question sets groups against each other, and not one against a span or alone."""
    alone = len(scope.asked) == 1 and not read_question(scope.question.text, evidence.study.groups).cost
    return len(scope.groups) > 1 and not alone and not asked_spans(evidence, scope)


def _unsettled(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return why groups cannot be told apart, where the question sets them against each other.

    Of several open pairs it is told where it is the same of all: of one of them nobody asked.
    """
    if not _compares(evidence, scope) or read_question(scope.question.text, evidence.study.groups).cost:
        # Whoever asks what use costs has heard that it cannot be told.
        return ""
    pairs = [one for one in ranking.of_use.open_pairs if one.groups <= set(scope.compared)]
    reasons = dict.fromkeys(why_words([pairing]) for pairing in pairs)
    return next(iter(reasons)) if len(reasons) == 1 else ""


def _bare_words(evidence: Evidence, points: Sequence[Point], scope: Scope) -> str:
    """Return `one column, no limit, three injections: six checks of 17 could not be made`."""
    columns = [column.id for group in scope.groups for column in evidence.study.replicates(group)]
    injections = sum(len(evidence.used(column)) for column in columns)
    limit = "no limited metric measured" if evidence.study.limits else "no limit"
    held = f"{counted(len(columns), 'column')}, {limit}, {counted(injections, 'injection')}"
    return f"{held}: {_not_made(points)}"


def _not_made(points: Sequence[Point]) -> str:
    checks = {point.check for point in points}
    undone = sum(check.result == "not possible" for check in checks)
    return f"{spelled(undone)} of {spelled(len(checks))} checks could not be made"


def _columns_words(evidence: Evidence, scope: Scope) -> str:
    # What a question of one type is answered by is that type's columns.
    groups = concerned(evidence, scope) if len(scope.asked) == 1 else scope.groups
    numbers = [len(under_one_stress(evidence.study, group)) for group in groups]
    parts = [f"{spelled(number)} {kind_of(group)}" for number, group in zip(numbers, groups, strict=True)]
    last = numbers[-1] if numbers else 0
    return f"{listed(parts)} column{'' if last == 1 else 's'}{_lots_words(evidence, scope)}"


def _lots_words(evidence: Evidence, scope: Scope) -> str:
    """Return that the columns of the one type that is asked about are of one lot, or of lots nobody stated.

    Of several types the audit says so, where it weakens their comparison.
    """
    if len(scope.groups) != 1:
        return ""
    lots = [column.lot.strip() for column in under_one_stress(evidence.study, scope.groups[0])]
    if len(lots) < 2 or len(set(lots) - {""}) > 1:
        return ""
    if all(lots):
        return f" of one lot ({lots[0]})"
    return f", whose lots are not{' all' if any(lots) else ''} stated"


def _tests_words(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return the confidence of intervals, and the p values of what is settled; of a single one its ratio.

    What the factors of the design tell is told by them alone: a pair has another interval of the same ratio.
    """
    effects = {
        f"for the {one.effect.factor}, {words}": p
        for one in ranking.factors
        if (p := told_p(one)) and (words := numbers_words(one))
    }
    alone = len(concerned(evidence, scope)) == 1
    settled = [p for p in ranking.untold if p.verdict != "open"] if not alone else []
    tested = [p.comparison for p in settled if p.comparison and p.comparison.p_adjusted is not None]
    confidence = with_unit(stated(100 * evidence.study.choices.confidence), "%")
    said = [f"intervals are at {confidence} confidence"]
    if len(settled) == 1 and tested and not effects:
        said.append(ratio_words(settled[0], scope).removeprefix(": "))
    elif len(effects) == 1 and not settled:
        said += effects
    elif tested or effects:
        by_family: dict[str, list[float]] = {}
        found = [(one.p_adjusted or 0.0, corrected_words(one, scope)) for one in tested]
        for p_adjusted, corrected in [*effects.values(), *found]:
            by_family.setdefault(corrected, []).append(p_adjusted)
        worst = p_value(max(max(own) for own in by_family.values())).replace("=", "≤")
        # Of several families each reason says its own: three in one sentence nobody reads.
        words = f"({next(iter(by_family))})" if len(by_family) == 1 else "after correction"
        some = f"of the {spelled(len(tested) + len(effects))} settled differences "
        # Beside pairs that are open, a reader takes `each difference` for all of them.
        said.append(f"each {some if ranking.open_pairs else 'difference '}has {worst} {words}")
    return f"; {'; '.join(said)}"


def _by_name(checks: Iterable[Check]) -> dict[Check, None]:
    """Return the checks, the first of those that bear one name: a reader counts what is named."""
    first: dict[str, Check] = {}
    for check in checks:
        first.setdefault(brief(check), check)
    return dict.fromkeys(first.values())


def _named(lead: str, checks: Sequence[Check], worst: Check) -> str:
    """Return `; the others concern lots and log of pH`: each check that is counted by what it is about."""
    names = list(dict.fromkeys(name for check in checks if (name := brief(check)) != brief(worst)))
    if not names:
        return ""
    head = f"{lead}s concern " if lead and len(names) > 1 else f"{lead} concerns " if lead else ": "
    return head + listed(names[:MOST_BRIEF] + (["others"] if len(names) > MOST_BRIEF else []))


def _others(points: Sequence[Point], worst: Check, evidence: Evidence, scope: Scope) -> str:
    """Return `; the other: all hybrid columns are from lot 7`: what is, as far as a sentence holds it."""
    told: dict[Check, str] = {}
    for point in points:
        told.setdefault(point.check, in_short(point, concerned(evidence, scope)))
    if len(told) > MOST_TOLD or (len(told) > 1 and sum(map(len, told.values())) > MOST_TOLD * LONG_CLAUSE):
        return _named("; the other", list(told), worst)
    own = [words for check, words in told.items() if brief(check) != brief(worst)]
    return f"; the other{'s' if len(own) > 1 else ''}: {'; '.join(own)}" if own else ""


MOST_TOLD = 2
"""Further points that an answer tells in a clause; of more it says what they are about."""
LONG_CLAUSE = 90
"""Letters of a clause on average, beyond which two of them are more than a sentence holds."""
MOST_BRIEF = 5
"""Points of the audit that the answer names in a word; its page has all."""


def _audit_words(
    evidence: Evidence,
    points: Sequence[Point],
    scope: Scope,
    ranking: Ranking,
    reserved: Sequence[str],
) -> tuple[bool, str]:
    """Return whether the audit weakens the answer, and what it has to say in a sentence."""
    heavy = [
        *bearing_on(points, concerned(evidence, scope)),
        *(p for p in points if not p.pairs and not p.groups and p.check.subject not in evidence.left_out),
    ]
    bounding = _by_name(p.check for p in heavy if p.bound != "shown" and p.check.result != "good")
    faults = _by_name((*bounding, *(p.check for p in heavy if p.check.result in ("problem", "caution"))))
    undone = sum(check.result == "not possible" for check in {point.check for point in points})
    not_made = _not_made(points)
    if not faults:
        return False, f"the audit found no fault{'; ' + not_made if undone else ''}"
    worst = next(iter(bounding), None) or max(faults, key=lambda check: check.result == "problem")
    told = in_short(next(point for point in heavy if point.check == worst), concerned(evidence, scope))
    problems = [check for check in faults if check.result == "problem"]
    serious = bool(bounding) or bool(problems)
    number = len(bounding or problems or faults)
    if serious:
        verb = "weakens" if number == 1 else "weaken"
        what = "comparison" if _compares(evidence, scope) else "answer"
        lead = f"{counted(number, 'point')} {verb} the {what}"
    else:
        settled = ranking.pairings and not ranking.open_pairs
        # What the sentences before have named, a reader holds to be serious.
        harmless = not (reserved or _lots_words(evidence, scope))
        harm = "; none changes the ranking" if settled else "; none is serious" if harmless else ""
        every = len({point.check for point in points if point.check.result in ("problem", "caution")})
        raised = f"raised cautions{harm}" if number > 1 else "raised a caution"
        lead = f"{counted(number, 'check')} of the audit {raised}"
        if every > number:
            # A reader who counts them in the audit finds those that bear on another question, too.
            bear = f"bear on this{harm}" if number > 1 else "bears on this"
            lead = f"of {spelled(every)} checks of the audit that raised cautions {spelled(number)} {bear}"
    most = ": " if number == 1 else "; the most serious: " if serious else ". The most important: "
    weighing = bounding or dict.fromkeys(problems) or faults
    others = _others(
        [p for p in heavy if p.check in weighing and p.check is not worst], worst, evidence, scope
    )
    if others:
        # Behind its numbers nobody would find where the list goes on.
        told = told.partition("; ")[0] + others
    if more := len(faults) - number:
        told += f". {spelled(more).capitalize()} more should be kept in mind"
        told += _named("", [check for check in faults if check not in weighing], worst)
    many_undone = f"; {not_made}" if scope.deciding[1] and 4 * undone > len({p.check for p in points}) else ""
    return serious, f"{lead}{most}{told}{many_undone}"
