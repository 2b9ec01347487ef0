"""Images of one knee: what met rules order, what treatment rests on, and the rest by what it would tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from fabella.advise.by_rule import ByRule
from fabella.advise.expect import Outlooker, binary_information
from fabella.advise.film_first import FILM, film_first
from fabella.advise.result import Confirms, NextStep, OrderedBy, Outlook, Withheld
from fabella.anatomy import Side
from fabella.evidence.facts import Image
from fabella.infer import ANY_LEVEL, Model

PLAN_CHANGES_AT = 0.5
"""Probability at which a lesion becomes, or ceases to be, what one acts on (judgement: common practice)."""

LEAST_IMAGE_BITS = 0.05
"""Information below which an image tells next to nothing (judgement)."""

WORTH_A_TRY = 0.08
"""Chance of changing the plan below which a step, at the bedside or an image, is not worth it (judgement)."""

STANDING, LYING = "weight-bearing", "lying down, without load"
"""How the evidence says that an image is taken standing, and how it is taken of who must not stand."""

ON_DEMAND = frozenset({"ct"})
"""Images that are weighed once taken, and named only where a rule orders them.

Computed tomography follows plain films that show a fracture, or none where one is still suspected (ACR Acute
Trauma to the Knee, 2019), and never stands in their place for being quick.
"""

NOT_TAKEN_FOR = {
    "mri": frozenset(
        {
            "osteoarthritis",
            "patellar_fracture",
            "distal_femoral_fracture",
            "tibial_spine_avulsion",
            "quadriceps_tendon_rupture",
            "patellar_tendon_rupture",
            "popliteal_cyst",
            "prepatellar_bursitis",
        }
    )
}
"""What an image also shows, and nobody takes it to find: weighed once it was taken, else a reason for none.

Films and ultrasound come first for these (`first_images.csv`; ACR Chronic Knee Pain, 2018).
"""

_NAMED_FROM_BITS = 0.005  # what tells less of a lesion does not name its source


@dataclass(frozen=True, slots=True, kw_only=True)
class Images:
    """The images of one knee, a list for each reason to take them; ``recorded_as``: signs of those withheld.

    ``ordered``: by met rules, the most urgent first; ``confirming``: treatment rests on them, for the
    likeliest lesion first; ``telling``: by what they would tell, the most for its time first, as far as one
    has a fair chance of carrying any lesion across `PLAN_CHANGES_AT`. Films stand before magnetic resonance
    imaging, as confirming.
    """

    ordered: tuple[NextStep, ...]
    confirming: tuple[NextStep, ...]
    telling: tuple[NextStep, ...]
    withheld: tuple[Withheld, ...]
    recorded_as: frozenset[str]


def images_of(
    model: Model,
    outlooker: Outlooker,
    side: Side,
    *,
    rules: ByRule,
    done: frozenset[str],
    read: frozenset[str],
    unloaded: str,
    spared: Mapping[str, str],
) -> Images:
    """Return the images of one knee that are not recorded in ``done``, by their own id or that of their sign.

    ``read`` are the images that were read: what they tell at least as well is no reason for another.

    ``unloaded`` says why the patient must not stand on both legs, empty when nothing forbids it: what is
    taken standing is else taken lying down. ``spared`` holds the lesions that may be diagnosed without an
    image, with the source of the rule.
    """
    now = dict(zip(model.states.lesions, map(float, outlooker.now), strict=True))
    steps, names, signs, changing = {}, {}, {}, {}
    known = _best_of(model, read)
    for rows in _by_image(model):
        image = rows[0].image
        names[image], signs[image] = rows[0].name, rows[0].sign
        if image not in rules.withheld and done.isdisjoint({image, rows[0].sign}):
            told = [
                (row, *binary_information(now[row.lesion], row.sensitivity, row.specificity)) for row in rows
            ]
            steps[image] = _step(told, now, side)
            fresh = [each for each in told if _youden(each[0]) > known.get(each[0].lesion, 0)]
            chance = sum(_chance_of_a_change(row, now[row.lesion], shown) for row, _, shown in fresh)
            if image not in ON_DEMAND and chance >= WORTH_A_TRY:
                changing[image] = _step(fresh, now, side)
    ordered = {
        image: replace(steps[image], purpose=OrderedBy(alarm.name))
        for image, alarm in rules.orders.items()
        if image in steps
    }
    confirming = {
        image: replace(steps[image], purpose=purpose)
        for image, purpose in _rested_on(model, outlooker.chances, unloaded, spared).items()
        if image in steps
        and image not in ordered
        and (image == FILM or _tells_more(purpose, image, known, model))
    }
    telling = sorted(
        (
            step
            for image, step in changing.items()
            if image not in ordered and image not in confirming and step.bits >= LEAST_IMAGE_BITS
        ),
        key=lambda step: -step.bits_per_minute,
    )
    named = tuple(confirming.values()), tuple(telling)
    if FILM in steps and FILM not in ordered:
        named = film_first(*named, steps[FILM])
    withheld = [image for image in names if image in rules.withheld]
    return Images(
        ordered=tuple(ordered.values()),
        confirming=named[0],
        telling=named[1],
        withheld=tuple(
            Withheld(id=image, name=names[image], side=side, reasons=(rules.withheld[image],), kind="image")
            for image in withheld
        ),
        recorded_as=frozenset(signs[image] for image in withheld),
    )


def _youden(row: Image) -> float:
    """Return how much an image tells of one lesion in one number: sensitivity + specificity - 1."""
    return row.sensitivity + row.specificity - 1


def _best_of(model: Model, read: frozenset[str]) -> Mapping[str, float]:
    """Return how well the best of the images that were read tells each lesion (Youden's index)."""
    best: dict[str, float] = {}
    for image in read:
        for lesion, row in model.images.shown_by(image).items():
            best[lesion] = max(best.get(lesion, 0), _youden(row))
    return best


def _tells_more(purpose: Confirms, image: str, known: Mapping[str, float], model: Model) -> bool:
    """Say whether an image tells any lesion that treatment rests on better than those that were read."""
    can = model.images.shown_by(image)
    return any(lesion not in can or _youden(can[lesion]) > known.get(lesion, 0) for lesion in purpose.lesions)


def _by_image(model: Model) -> Iterable[tuple[Image, ...]]:
    """Return the rows that each image is taken for together, wherever they stand in the table."""
    rows: dict[str, tuple[Image, ...]] = {}
    for row in model.knowledge.images:
        if row.lesion not in NOT_TAKEN_FOR.get(row.image, ()):
            rows[row.image] = (*rows.get(row.image, ()), row)
    return rows.values()


def _rested_on(
    model: Model, chances: Mapping[tuple[str, str], float], unloaded: str, spared: Mapping[str, str]
) -> Mapping[str, Confirms]:
    """Return the images that treatment rests on; the likeliest lesion says how to take one.

    These are the images of lesions that are likelier than not (`PLAN_CHANGES_AT`): the plan is made for
    them, however little an image would change their probability.
    """
    likely = [
        (chance, row)
        for row in model.knowledge.first_images
        if (chance := chances[row.lesion, row.level or ANY_LEVEL]) >= PLAN_CHANGES_AT
    ]
    images: dict[str, Confirms] = {}
    for _, row in sorted(likely, key=lambda each: -each[0]):
        if row.image in images:
            images[row.image] = replace(images[row.image], lesions=(*images[row.image].lesions, row.lesion))
        else:
            how = f"{LYING} ({unloaded})" if unloaded and row.how == STANDING else row.how
            images[row.image] = Confirms((row.lesion,), how, spared.get(row.lesion, ""))
    return images


def _chance_of_a_change(row: Image, before: float, positive: float) -> float:
    """Return the chance that an image carries one lesion across `PLAN_CHANGES_AT`, either way.

    ``positive`` is the chance (0..1) that it shows the lesion.
    """
    shown, not_shown = _then(row, before, positive)
    acted_on = before >= PLAN_CHANGES_AT
    return sum(
        chance
        for chance, then in ((positive, shown), (1 - positive, not_shown))
        if (then >= PLAN_CHANGES_AT) is not acted_on
    )


def _then(row: Image, before: float, positive: float) -> tuple[float, float]:
    """Return how likely a lesion is once an image has shown it, and once it has not."""
    shown = before * row.sensitivity / max(positive, 1e-12)
    return shown, before * (1 - row.sensitivity) / max(1 - positive, 1e-12)


def _step(told: Sequence[tuple[Image, float, float]], now: Mapping[str, float], side: Side) -> NextStep:
    """Return one image; its bits add up over the lesions it can show, each taken by itself.

    ``told``: of each such lesion the row, the bits, and the chance that the image shows it.
    """
    bits = sum(information for _, information, _ in told)
    best, _, positive = max(told, key=lambda entry: entry[1])
    before = now[best.lesion]
    then_yes, then_no = _then(best, before, positive)
    return NextStep(
        kind="image",
        id=best.image,
        name=best.name,
        side=side,
        bits=bits,
        minutes=best.minutes,
        bits_per_minute=bits / best.minutes,
        hurts=0,
        outlooks=(
            Outlook(outcome="shown", chance=positive, lesion=best.lesion, now=before, then=then_yes),
            Outlook(outcome="not shown", chance=1 - positive, lesion=best.lesion, now=before, then=then_no),
        ),
        sources=tuple(
            dict.fromkeys(
                row.source for row, information, _ in told if information > _NAMED_FROM_BITS or row is best
            )
        ),
    )
