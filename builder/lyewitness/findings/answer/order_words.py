"""How an order of groups is said: who outlasts whom or, for a question about a metric, where it goes later.

In: a `Scope`, groups, whether the order is shown. Out: clauses. A question about the shape of peaks is not
after lives: whoever asks where a base tails earlier wants to hear of its tailing.
"""

from collections.abc import Iterable, Sequence

from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing
from lyewitness.findings.answer.reading_questions import EARLIER
from lyewitness.words.lives import bound_of, falls_past
from lyewitness.words.metrics import metric_name, the_metric
from lyewitness.words.phrases import CANNOT_TELL, columns_of, listed

BY_ANY = "by whichever limit is passed first"
AS_FAR = "as far as these data tell"


def passes(scope: Scope) -> str:
    """Return what happens at the limit: `aniline tails past a symmetry factor of 2`, `the k … falls …`."""
    marker, metric = scope.deciding
    limit = scope.limit
    if limit is None:
        return the_metric(marker, metric)
    if metric == "symmetry_factor" and limit.at_most is not None:
        return f"{marker} tails past a {metric_name(metric)} of {bound_of(limit)}"
    return f"{the_metric(marker, metric)} {falls_past(limit)}"


def longer(scope: Scope, first: str, others: Sequence[str], shown: bool) -> str:
    """Return that `first` outlasts the `others`, or that the named metric passes its limit later on it."""
    rest = [group for group in scope.groups if group != first]
    than = listed(columns_of(group) for group in others)
    if len(others) > 1 and set(others) == set(rest):
        than = "both others" if len(rest) == 2 else "all others"
    if scope.named:
        return f"{passes(scope)} later on {columns_of(first)} than on {than}{_surely(shown)}"
    return f"{columns_of(first)} {'outlast' if shown else 'seem to outlast'} {than}"


def earlier(scope: Scope, first: str, other: str, shown: bool) -> str:
    """Return that the named metric passes its limit earlier on `first` than on the other."""
    return f"{passes(scope)} earlier on {columns_of(first)} than on {columns_of(other)}{_surely(shown)}"


def longest(scope: Scope, group: str, others: Sequence[str], shown: bool) -> str:
    """Return that `group` lasts longest of all, or longer than the one other."""
    if scope.named:
        where = f"latest on {columns_of(group)}"
        if len(others) == 1:
            where = f"later on {columns_of(group)} than on {columns_of(others[0])}"
        return f"{passes(scope)} {where}{_surely(shown)} at these conditions"
    last = "last" if shown else "seem to last"
    if len(others) > 1:
        return f"{columns_of(group)} {last} longest at these conditions"
    return f"{columns_of(group)} {last} longer than {columns_of(others[0])} at these conditions"


def first_to_fail(scope: Scope, group: str, shown: bool) -> str:
    """Return that `group` fails first of all."""
    if scope.named:
        return f"{passes(scope)} earliest on {columns_of(group)}{_surely(shown)} at these conditions"
    return f"{columns_of(group)} {'fail' if shown else 'seem to fail'} first at these conditions"


def alike(scope: Scope, groups: str, margin: str = "", shown: bool = True) -> str:
    """Return that groups, told as `A and B`, last alike, within a `margin` where one is given."""
    within = f" within {margin}" if margin else ""
    if scope.named:
        return f"{passes(scope)} equally late on {groups}{within}{_surely(shown)}"
    return f"{groups} {'last' if shown else 'seem to last'} equally long{within}"


def open_between(scope: Scope, pairings: Iterable[Pairing]) -> str:
    """Return `we cannot tell whether A or B lasts longer, nor whether A or C does`."""
    pairs = [" or ".join(sorted(pairing.groups)) for pairing in pairings]
    first, rest = pairs[0], pairs[1:]
    if scope.named:
        more = "".join(f", nor whether on {pair}" for pair in rest)
        return f"{CANNOT_TELL} whether {passes(scope)} later on {first}{more}"
    return f"{CANNOT_TELL} whether {first} lasts longer" + "".join(f", nor whether {p} does" for p in rest)


def which(scope: Scope, many: bool, among: str = "") -> str:
    """Return `which lasts longest of A and B`, for more than two, or `on which of A and B … earliest`.

    Of a metric's course by the end that the question asks after: first or last.
    """
    if scope.named:
        early = EARLIER.search(scope.question.text) is not None
        when = ("earliest" if many else "earlier") if early else ("latest" if many else "later")
        return f"on which{f' of {among}' if among else ''} {passes(scope)} {when}"
    return f"which lasts {'longest' if many else 'longer'}{f' of {among}' if among else ''}"


def ratio_name(scope: Scope) -> str:
    """Return what the ratio of two groups' lives is called."""
    return "ratio of the times" if scope.named else "life ratio"


def _surely(shown: bool) -> str:
    return "" if shown else f", {AS_FAR},"
