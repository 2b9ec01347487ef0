"""Before the day: the cheapest exam that will do. Costs and times are the user's."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from fabella.assess.planning_outlook import Outlook, PassRule, Plan, Spreads, check_plans, outlook
from fabella.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What an exam costs, in any one currency, and how long its parts take.

    Parameters
    ----------
    station
        One station of one circuit: room, volunteer, equipment.
    examiner
        One examiner for the day.
    hour
        One circuit for one hour.
    station_min
        One candidate at one station with the change to the next [min].
    longest_h
        Longest day [h].
    """

    station: float
    examiner: float
    hour: float
    station_min: float
    longest_h: float = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """A plan with what it gives, costs and takes [h]."""

    plan: Plan
    outlook: Outlook
    cost: float
    hours: float


def cheapest(
    plans: Iterable[Plan], *, spreads: Spreads, rule: PassRule, costs: Costs, target: float
) -> tuple[Priced, ...]:
    """Return the plans that reach a target within the day, the cheapest first.

    Parameters
    ----------
    plans
        Plans to choose from, see `plans_between`.
    spreads, rule, costs
        Of the exam.
    target
        Wanted Phi at the pass mark [-], between 0 and 1.

    Returns
    -------
    tuple
        Empty when none does. Of equal cost, the more dependable comes first.
    """
    plans = list(plans)
    check_plans(plans, spreads)
    if not 0 < target < 1:
        remedy = "use a share between 0 and 1, such as 0.8"
        raise InputError.of(place="target", value=str(target), says="is out of range", remedy=remedy)
    priced = (_priced(plan, spreads, rule, costs) for plan in plans)
    good = [p for p in priced if p.outlook.phi >= target and p.hours <= costs.longest_h]
    return tuple(sorted(good, key=lambda p: (p.cost, -p.outlook.phi)))


def plans_between(
    *, candidates: int, stations: tuple[int, int], examiners: tuple[int, int], circuits: tuple[int, int]
) -> tuple[Plan, ...]:
    """Return every plan with numbers from the first to the second of each pair."""
    return tuple(
        Plan(candidates=candidates, stations=s, examiners=e, circuits=c)
        for s in range(stations[0], stations[1] + 1)
        for e in range(examiners[0], examiners[1] + 1)
        for c in range(circuits[0], circuits[1] + 1)
    )


def _priced(plan: Plan, spreads: Spreads, rule: PassRule, costs: Costs) -> Priced:
    # As many candidates as stations go round at a time; a round takes one slot for each station.
    rounds = ceil(plan.candidates / (plan.circuits * plan.stations))
    hours = rounds * plan.stations * costs.station_min / 60
    places = plan.circuits * plan.stations
    cost = places * (costs.station + plan.examiners * costs.examiner) + plan.circuits * hours * costs.hour
    return Priced(plan=plan, outlook=outlook(plan, spreads=spreads, rule=rule), cost=cost, hours=hours)
