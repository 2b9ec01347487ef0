"""What cannot wait: every rule read on both knees, before and independently of any probability."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from enum import StrEnum

from fabella.anatomy import Side
from fabella.flags.asking import WHICH_KNEE, still_to_ask, what_concerns
from fabella.flags.decisions import DECISIONS, OF_THE_PERSON
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth
from fabella.flags.reading import Reading
from fabella.flags.rule import Criterion, Rule, Rules, Urgency, Withholding
from fabella.flags.rules import load_rules
from fabella.flags.supposing import if_complained_of, if_hurt_lately
from fabella.flags.timing import action_now, orders_now
from fabella.protocol import Protocol
from fabella.record import Examination


class Verdict(StrEnum):
    """Whether a rule is met, or relevant and still open."""

    MET = "met"
    CANNOT_BE_EXCLUDED = "cannot_be_excluded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """One rule that is met, or that what was not examined keeps open, on one side.

    Parameters
    ----------
    side
        The knee; None for a rule of the person.
    met, unknown, unmet
        The rule's criteria by their truth; each unknown one carries the question to ask.
    action
        What to do now, in our words, after the points of a rule that counts them; local protocols decide.
    source, doi_or_pmid
        Where the rule comes from; "common practice" when from no paper.
    recalled
        Whether the source was not re-read.
    contraindicates
        States of the patient in which some manoeuvres must not be done.
    orders, withholds
        Images that the rule asks for, and that must not be taken, while it is met.
    """

    rule: str
    name: str
    side: Side | None
    urgency: Urgency
    verdict: Verdict
    met: tuple[Criterion, ...]
    unknown: tuple[Criterion, ...]
    unmet: tuple[Criterion, ...]
    action: str
    source: str
    doi_or_pmid: str
    recalled: bool
    contraindicates: tuple[str, ...]
    orders: tuple[str, ...] = ()
    withholds: tuple[Withholding, ...] = ()

    @property
    def is_met(self) -> bool:
        """Whether the rule is met; else it could not be excluded."""
        return self.verdict is Verdict.MET


def cannot_wait(
    examination: Examination, *, protocol: Protocol, sides: Collection[Side] = tuple(Side)
) -> tuple[Alarm, ...]:
    """Return every alarm of these knees and of the person, met before open ones, the most urgent first.

    Depends on the examination, the protocol and the rules alone: no accuracy table, no prevalence, no
    probability. What was not examined, not asked or could not be tested is unknown, never false.
    """
    rules = load_rules()
    alarms = _unsettled(tuple(_alarms(examination, protocol, rules, sides)), rules)
    urgencies = list(Urgency)
    return tuple(sorted(alarms, key=lambda alarm: (not alarm.is_met, urgencies.index(alarm.urgency))))


def judged(reading: Reading) -> Verdict | None:
    """Return the verdict of a reading, or None when the rule has nothing to say.

    A rule met on a knee that it may not concern, or open on one that it does, cannot be excluded; open on a
    knee that nothing connects with it, it is silent.
    """
    if reading.rings:
        return Verdict.MET
    if reading.excluded or reading.relevant is False or reading.met is False:
        return None
    return Verdict.CANNOT_BE_EXCLUDED if reading.met or reading.relevant else None


def _unsettled(alarms: tuple[Alarm, ...], rules: Rules) -> Iterator[Alarm]:
    """Leave out what is open beside a met rule that already asks for the same."""
    met = {(alarm.rule, alarm.side) for alarm in alarms if alarm.is_met}
    for alarm in alarms:
        settled = any((rule, alarm.side) in met for rule in rules[alarm.rule].settled_by)
        if alarm.is_met or not settled:
            yield alarm


def _alarms(
    examination: Examination, protocol: Protocol, rules: Rules, sides: Collection[Side]
) -> Iterator[Alarm]:
    knees = [Knee(examination, side, protocol) for side in Side]
    unsided = if_complained_of(examination, protocol=protocol)
    untold = if_hurt_lately(examination, protocol=protocol)
    for rule_id, decision in DECISIONS.items():
        rule = rules[rule_id]
        for knee in knees:
            if knee.side not in sides and rule_id not in OF_THE_PERSON:
                continue
            if any(map(knee.has_read, rule.answered_by)):
                continue
            asks: tuple[Criterion, ...] = ()
            reading = knee.reading(decision)
            verdict = judged(reading)
            if verdict is None and knee.side in unsided:
                reading, asks = unsided[knee.side].reading(decision), (WHICH_KNEE,)
                verdict = _if_complained_of(reading, rule)
            if verdict is None and knee.side in untold and rule.urgency.presses:
                verdict = _if_told(untold[knee.side].reading(decision))
            if verdict is None:
                continue
            yield _alarm(rule, reading, verdict, knee, asks)
            if rule_id in OF_THE_PERSON:
                break


def _if_complained_of(reading: Reading, rule: Rule) -> Verdict | None:
    """Return that a rule stays open that this knee, complained of, would meet, or leave open for now."""
    then = judged(reading)
    asked = then is Verdict.MET or (then is not None and rule.urgency is Urgency.NOW)
    return Verdict.CANNOT_BE_EXCLUDED if asked else None


def _if_told(reading: Reading) -> Verdict | None:
    """Return that a rule stays open that this knee would meet, had it been hurt lately."""
    return Verdict.CANNOT_BE_EXCLUDED if judged(reading) is Verdict.MET else None


def _alarm(rule: Rule, reading: Reading, verdict: Verdict, knee: Knee, asks: tuple[Criterion, ...]) -> Alarm:
    by_truth: dict[Truth, list[Criterion]] = {True: [], None: [], False: []}
    for criterion in rule.criteria:
        by_truth[reading.criteria[criterion.id]].append(criterion)
    return Alarm(
        rule=rule.id,
        name=rule.name,
        side=None if rule.id in OF_THE_PERSON else knee.side,
        urgency=rule.urgency,
        verdict=verdict,
        met=tuple(by_truth[True]),
        unknown=(*asks, *(still_to_ask(each, knee) for each in by_truth[None]))
        or (() if verdict is Verdict.MET else what_concerns(knee)),
        unmet=tuple(by_truth[False]),
        action=" ".join(
            filter(None, (rule.total.format(**reading.total), action_now(rule, knee, reading.spares)))
        ),
        source=rule.source,
        doi_or_pmid=rule.doi_or_pmid,
        recalled=rule.recalled,
        contraindicates=rule.contraindicates,
        orders=orders_now(rule, knee, reading.spares),
        withholds=rule.withholds,
    )
