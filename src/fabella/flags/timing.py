"""What a rule asks for of this patient today: a passage whose time or age has passed is worded for now."""

from collections.abc import Collection, Iterator

from fabella.flags.knee import Knee
from fabella.flags.rule import Rule, Since, Window
from fabella.flags.story import child, operated_within, within_days
from fabella.record import ImageKind, Sex

_IMAGES = {
    ImageKind.RADIOGRAPH: "radiographs",
    ImageKind.MRI: "MRI",
    ImageKind.CT: "CT",
    ImageKind.VEIN_ULTRASOUND: "ultrasound of the veins",
    ImageKind.CT_ANGIOGRAM: "CT angiogram",
    ImageKind.HIP_RADIOGRAPH: "radiographs of the hips",
}


_RAYS_AT_THE_KNEE = frozenset({ImageKind.RADIOGRAPH, ImageKind.CT})
MAY_BE_PREGNANT_YEARS = (12, 55)
"""Ages at which X-ray departments ask about pregnancy before hips or belly are filmed (common practice)."""


def orders_now(rule: Rule, knee: Knee, spares: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """Return the images that a rule orders for this knee: none spared, nor films of a pregnant hip."""
    pregnant = {ImageKind.HIP_RADIOGRAPH.value} if knee.said("pregnancy") else set[str]()
    return tuple(each for each in rule.orders if each not in spares | pregnant)


def action_now(rule: Rule, knee: Knee, spares: frozenset[str] = frozenset()) -> str:
    """Return the action of a rule as it stands for this knee today, and what of its images is there already.

    A passage is replaced only when its time is known to have passed, and one for the young left out only for
    whoever is known to be older, or said alone to whoever is known to be younger; without day or age the
    action stands. Of what pregnancy means for the images in ``spares`` nothing is said.
    """
    action = rule.action
    for window in rule.windows:
        if _passed(window, knee):
            action = action.replace(window.within, window.late)
    for young in rule.of_the_young:
        is_young = child(knee, under_years=young.under_years)
        if is_young is False:
            action = action.replace(young.passage, "")
        elif is_young and young.whole:
            action = action.replace(young.whole, young.becomes)
    return " ".join((action, *_of_pregnancy(set(rule.orders) - spares, knee), *_there_already(rule, knee)))


def _of_pregnancy(orders: Collection[str], knee: Knee) -> Iterator[str]:
    """Yield what rays mean for a child that is carried, or may be: of a hip much, of a knee nothing."""
    pregnant, hip = knee.said("pregnancy"), ImageKind.HIP_RADIOGRAPH in orders
    female = knee.examination.patient.sex is Sex.FEMALE
    youngest, oldest = MAY_BE_PREGNANT_YEARS
    may_be = female and knee.age_years is not None and youngest <= knee.age_years <= oldest
    if hip and pregnant:
        yield (
            "Pregnant: MRI of the hip in place of its films, where it is to be had as soon; else the films, "
            "with the radiologist."
        )
    elif hip and pregnant is None and may_be:
        yield "Ask about pregnancy before the hip is filmed."
    elif pregnant and not _RAYS_AT_THE_KNEE.isdisjoint(orders):
        yield "Pregnant: rays at the knee hardly reach the child; what is needed is not put off."


def _there_already(rule: Rule, knee: Knee) -> Iterator[str]:
    """Yield which images that the rule asks for, or that would answer it, are there, unread and read."""
    asked = [image for image in _IMAGES if image in {*rule.orders, *rule.answered_by}]
    read = [_IMAGES[each] for each in asked if knee.has_read(each)]
    unread = [_IMAGES[each] for each in asked if knee.has_taken(each) and not knee.has_read(each)]
    if unread:
        yield f"Taken, and to be read now: {', '.join(unread)}."
    poor = [_IMAGES[each] for each in asked if knee.has_limited(each)]
    if poor:
        yield f"Read, and of limited value: {', '.join(poor)}."
    if read:
        yield f"Read already: {', '.join(read)}."


def _passed(window: Window, knee: Knee) -> bool:
    if window.since is Since.ONSET:
        return within_days(knee, window.days) is False
    dated = knee.examination.days_since_operation(knee.side) is not None
    return dated and not operated_within(knee, window.days)
