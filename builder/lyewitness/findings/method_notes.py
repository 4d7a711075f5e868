"""What the method page says of this stage: how strong a claim may be, and by which rules signs are read.

In: the study's choices and the tables of this stage. Out: headings and texts; rows of the table of rules.
"""

from lyewitness.decline.comparing import WANTED_POWER
from lyewitness.decline.deciding import LEAST_RETENTION_FACTOR
from lyewitness.findings.answer.next_experiments import SHARE
from lyewitness.findings.answer.recommending import AS_IF
from lyewitness.findings.answer.replacing import LITTLE
from lyewitness.findings.audit.repeatability import LARGEST_B_PERCENT
from lyewitness.findings.audit.results import HARMLESS
from lyewitness.findings.medium.common_steps import LEAST
from lyewitness.findings.signs.observations import ALIKE, MUCH_BETTER, UNTOUCHED
from lyewitness.findings.signs.weighing import RULES, Rule
from lyewitness.study.records import Choices
from lyewitness.words.lives import VAGUE
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import percent, run_together

RULE_HEADER = ("mechanism", "observable", "should", "threshold", "weight", "needed", "because")


def method_notes(choices: Choices) -> tuple[tuple[str, str], ...]:
    """Return (heading, text) of how the answer was drawn from the numbers."""
    return (
        ("How strong a claim may be", _strength(choices)),
        ("What the audit does to the answer", _audit()),
        ("Steps of all columns at an event", _by_steps()),
        ("Retention and the pH of the log", _by_ph()),
        ("Signs of failure", _signs()),
        ("When to replace a column", _promises(choices)),
        ("Expectations and spans of time", _reading()),
        ("Plans for the next experiment", _plans(choices)),
    )


def rule_rows() -> tuple[tuple[str, ...], ...]:
    """Return the table of rules with its header, as it is applied."""
    return (RULE_HEADER, *(_row(rule) for rule in RULES))


def _row(rule: Rule) -> tuple[str, ...]:
    threshold = "" if rule.direction in ("seen", "said") else with_unit(stated(rule.threshold), "%")
    needed = "yes" if rule.needed else ("where it is known" if rule.vetoes else "no")
    needed = "names it alone" if rule.suffices else "one of these" if rule.own else needed
    weight = stated(rule.weight) + (" where it is met" if rule.never_against else "")
    return (rule.mechanism, rule.observable, _should(rule), threshold, weight, needed, rule.words)


def _should(rule: Rule) -> str:
    return {
        "falls": "fall by more than",
        "rises": "rise by more than",
        "moves": "move by more than",
        "holds": "stay within",
        "seen": "be seen",
        "said": "be said in the caption",
    }[rule.direction]


def _strength(choices: Choices) -> str:
    alpha = with_unit(stated(100 * choices.alpha), "%")
    return run_together(
        [
            "two groups are ranked as shown where the comparison was tested, p, corrected "
            "after Holm, is at most "
            f"{alpha}, "
            "the interval of the life ratio leaves 1 out, at least two columns stand on each side, one "
            "group "
            "at least reached the limit, and nothing in the audit forbids it",
            "a ranking without a test is indicated; where one of the other conditions fails it is not "
            "settled",
            "two columns on a side, or one lot, allow no more than indicated; one column settles nothing",
            "lives are called equally long where their ratio lies surely within the margin of the study",
            f"an interval that reaches further than a factor of {stated(VAGUE)} from its value is "
            "told by its two ends",
        ]
    )


def _audit() -> str:
    return run_together(
        [
            "each point of the audit names the strongest claim that it still allows, for the pairs of "
            "groups and "
            "the groups that it touches; a claim is brought down to the weakest of them",
            "a difference in column volumes an hour, in temperature or in pH between groups is held "
            "against the "
            "ratio of lives: what could shorten a life by no more than a factor of "
            f"{stated(HARMLESS)} is left alone; what could explain the whole difference unsettles the "
            "ranking",
            "a life is taken to be at most halved by 10 °C, in inverse proportion to hydroxide and to "
            "the column "
            "volumes (common practice, meant as upper bounds)",
            "repeatability of the reference areas is held against the pharmacopoeia’s largest allowed RSD, "
            f"0.349 B √n ÷ t, with B = {with_unit(stated(LARGEST_B_PERCENT), '%')}",
            "what was left out is counted in once, and the lives and rankings that come of it are told",
        ]
    )


def _signs() -> str:
    return run_together(
        [
            "a change is that of the fitted curve from the reference to the end, as in the tables (where "
            "there is no curve, from the reference injections to as many last ones), with its 95 % interval; "
            "a rule is met or not met only where the whole interval says so",
            "a mechanism is named where all needed rules are met and the rules that speak for it carry "
            "more than "
            "half of the weight of those that are known; a needed rule that is surely not met speaks "
            "against it; where a mechanism has signs of its own, one at least must be met, and a rule "
            "that names it alone needs no other beside it",
            "a neutral’s peak is untouched where its symmetry stays within "
            f"{percent(UNTOUCHED)} and it neither splits nor fronts; that speaks against a disturbed bed",
            "mechanisms stand in the order of what speaks for them less what speaks against; of a group two "
            "at most are named, the others are told as not excluded",
            "mechanisms that rest on one sign, with nothing against either, are named together",
            f"columns move alike where all surely move one way and none more than {stated(ALIKE)} "
            "times as far "
            "as another",
            "a decline has a delay, or has none, where Akaike’s criterion says so by more than "
            f"{stated(MUCH_BETTER)}",
            "pictures count by the words of their captions, if taken in the second half of the exposure",
            "signs are never more than indicated: they are no proof of a cause",
        ]
    )


def _by_steps() -> str:
    return run_together(
        [
            "where retention or plates of nearly all columns step together at a stated event of one moment "
            "(a fresh mobile phase, a part exchanged), that step is no column’s decline, if larger than "
            f"{percent(100 * LEAST)} and than twice any such step elsewhere; what takes back an earlier "
            "movement is none, and beside a stop or a rinse the life as measured stays possible",
            "the step is the mean over the columns, each read over a line of its own; its error is that of "
            "the mean with how far the columns differ",
            "lives are judged again without it, at its value and both ends of its interval, and told from "
            "the lowest to the highest; life, curve, rate and what remains as measured stand beside them",
        ]
    )


def _by_ph() -> str:
    return run_together(
        [
            "a base or acid with a stated pKa follows the pH of the log, beyond such steps: at most its "
            "retention factor goes with the share that bears no charge (Horváth, Melander and Molnár 1977), "
            "the pKa carried to the temperature, at the end of its bounds that moves it most",
            "the pH between two readings is read off the line, never across a renewed bottle",
            "how much of that happens in this mobile phase is read off the injections: log k against a "
            "smooth course in time of each column and the log of that share, from nothing to all of it at "
            "95 %; what was injected about the same time counts as one (Liang and Zeger 1986)",
            "the life is judged again with k brought to the pH of the reference by the least, the middle "
            "and the greatest such share, and told from the lowest to the highest of these and of the life "
            "as measured: it is never told stronger, and the life as measured stands beside it",
        ]
    )


def _promises(choices: Choices) -> str:
    confidence = percent(100 * choices.confidence)
    return run_together(
        [
            "the time after which to replace the columns of a group is the lower prediction bound of one "
            f"further life, mean − t s √(1 + 1/n) of the log lives (one-sided {confidence}), never more than "
            "the lower end of the life of any column tested, and rounded down",
            "it rests on the deciding metric alone, on all limits where whichever came first decides",
            "it is not given where what decides was not measured on a "
            "column, its life is not known, the audit leaves it unsettled, one column alone was tested, or "
            f"the bound is below {percent(100 * LITTLE)} of the shortest life",
            "a life that was not reached stands at what was held",
            AS_IF,
        ]
    )


def _reading() -> str:
    return run_together(
        [
            "the metric that decides is the one that a question states (‘decides’) or names by its words; "
            "else the study’s: what fails first on most columns, by a marker with a retention factor of "
            f"{stated(LEAST_RETENTION_FACTOR)} at least where there is one, for a less retained peak takes "
            "its width from outside the bed as well",
            "where it is the study’s and columns surely passed another limit before, or without, its own, "
            "whichever limit came first decides: a column’s life then lies between the least that any limit "
            "was kept for and the earliest by which one was surely passed; not so in a study with factors",
            "expectations are free text: one plain sentence without a denial that names groups or a factor, "
            "and says longest, first to fail, outlasts, no difference, so many times as long, or a span of "
            "time, is held against the data; any other is left to the reader, with the lives beside it",
            "an expected ratio is borne out where the whole interval of the ratio lies within the margin of "
            "equivalence around it or beyond it, and contradicted where the interval does not hold it",
            "a question that wants yes or no, a span of time, a cost or a rate is answered in that form "
            "first; spans (hours, days, weeks, injections where the run time is stated) column by column",
            "a cost is the price of a column over its life, with the interval of the life; where no column "
            "failed it is a bound",
        ]
    )


def _plans(choices: Choices) -> str:
    return run_together(
        [
            f"numbers of columns are those of a two-sided t test on log lives with a power of "
            f"{percent(100 * WANTED_POWER)}, the error shared among the comparisons, for the spread that "
            "was "
            "seen and for its one-sided upper bound at 80 %",
            "that so many columns last a span is planned by the success-run theorem for "
            f"{percent(100 * SHARE)} of "
            f"columns at {percent(100 * choices.confidence)} confidence",
        ]
    )
