"""What the rules that are met ask for and forbid, and what is worth doing beside them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fabella.advise.result import Advice, NextStep, OrderedBy, Precedes
from fabella.anatomy import Side
from fabella.flags import Alarm, Urgency
from fabella.record import Examination

SERVED_FROM = 1 / 3
"""Probability from which a lesion has room beside what cannot wait today (judgement).

It is then one of the few that explain the knee, and what is found out about it serves today's decision; a
lower one waits until the matter is settled.
"""

MAGNET = ("mri", "spine_mri")
"""Images taken in a magnet, which an implant or metal may bar (common practice)."""

BARRED = "a pacemaker, implant or metal, until radiology has cleared it (CT or ultrasound in its place)"

_URGENCIES = list(Urgency)


@dataclass(frozen=True, slots=True, kw_only=True)
class ByRule:
    """What met rules say of one knee: the rule that asks for an image, the reason that withholds a deed."""

    orders: Mapping[str, Alarm]
    withheld: Mapping[str, str]


def by_rule(alarms: tuple[Alarm, ...], side: Side) -> ByRule:
    """Return what the met rules order and withhold on one side, the most urgent first.

    A deed that one rule orders and another withholds is withheld, unless the order is the more urgent: a
    bleeding tendency delays a needle, but not that into a septic joint (common practice).
    """
    orders: dict[str, Alarm] = {}
    withheld: dict[str, tuple[int, str]] = {}
    met = [each for each in alarms if each.is_met and each.side in (side, None)]
    for alarm in sorted(met, key=_urgency):
        for deed in alarm.withholds:
            withheld.setdefault(deed.deed, (_urgency(alarm), deed.why))
        for image in alarm.orders:
            orders.setdefault(image, alarm)
    stands = {
        deed: why
        for deed, (urgency, why) in withheld.items()
        if deed not in orders or urgency <= _urgency(orders[deed])
    }
    return ByRule(
        orders={image: alarm for image, alarm in orders.items() if image not in stands}, withheld=stands
    )


def cleared(rules: ByRule, examination: Examination) -> ByRule:
    """Return the same, with what must not be taken in a magnet withheld, whichever rule orders it."""
    if examination.history_item("unsafe_for_mri") is not True:
        return rules
    orders = {image: alarm for image, alarm in rules.orders.items() if image not in MAGNET}
    named = (image for image in MAGNET if image == "mri" or image in rules.orders)
    return ByRule(orders=orders, withheld=dict.fromkeys(named, BARRED) | dict(rules.withheld))


def worth_doing(advice: Advice, alarms: tuple[Alarm, ...]) -> Advice:
    """Return the advice worth following: at the bedside only what may change the plan.

    Beside a rule that is met for now only what such rules order; beside one for the same day what any rule
    orders, and what by itself speaks of a lesion from `SERVED_FROM` on: nobody asks about stairs while a vein
    is to be scanned. Rules that press and stay open are to be settled first, however little it tells of
    lesions.
    """
    still_open = (each for each in alarms if not each.is_met and each.unknown)
    advice = replace(advice, unsettled=any(each.urgency.presses for each in still_open))
    advice = replace(advice, bedside=tuple(each for each in advice.bedside if each.decides or each.joins))
    met = [each for each in alarms if each.is_met]
    if now := {OrderedBy(each.name) for each in met if each.urgency is Urgency.NOW}:
        first = tuple(each for each in advice.first if each.purpose in now)
        return replace(advice, first=first, bedside=(), images=(), deferred=True)
    if any(each.urgency is Urgency.SAME_DAY for each in met):
        alone = (each for each in advice.bedside if each.decides)
        images = _without_idle_films(tuple(filter(_serves, advice.images)))
        return replace(advice, bedside=tuple(filter(_serves, alone)), images=images, deferred=True)
    return advice


def _serves(step: NextStep) -> bool:
    return step.purpose is not None or any(each.now >= SERVED_FROM for each in step.outlooks)


def _without_idle_films(images: tuple[NextStep, ...]) -> tuple[NextStep, ...]:
    """Return the images but for films that precede one which has no room."""
    left = {(each.name, each.side) for each in images}
    return tuple(
        each
        for each in images
        if not isinstance(each.purpose, Precedes) or (each.purpose.image, each.side) in left
    )


def _urgency(alarm: Alarm) -> int:
    return _URGENCIES.index(alarm.urgency)
