"""The page for the patient: what was found, what it may mean, what comes next, when to come at once.

Written for a reading age of about 12: short words, short sentences, no term that is not explained.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from fabella.anatomy import Side
from fabella.record import Examination
from fabella.report.for_parents import speaks_to_parents, voice
from fabella.report.gather import readings_of
from fabella.report.letter import said, standing_words
from fabella.report.looked_for import looked_for
from fabella.report.meaning import checked_first, may_mean
from fabella.report.phrases import load_phrases
from fabella.report.plain_alarms import plain_alarms
from fabella.report.plain_changes import PlainChanges, plain_changes
from fabella.report.plain_imaging import pictures
from fabella.report.readings import Outcome, Readings
from fabella.report.safety_net import come_at_once
from fabella.report.undone_words import no_longer_told
from fabella.workup import WOUND_DAYS, Advice, Verdict, Workup

CAUTION = "This page does not replace the advice of the people who treat you."
"""Said once on every page."""

_IMAGES = {
    "aspiration": "Taking a little fluid from the joint with a needle may tell us more.",
    "ct_angiogram": "A scan of the arteries in the leg may tell us more.",
    "hip_radiograph": "An X-ray of the hips may tell us more.",
    "mri": "A scan of the knee in a magnet (MRI) may tell us more. It does not use X-rays.",
    "radiograph": "An X-ray of the knee may tell us more.",
    "spine_mri": "A scan of the lower back in a magnet (MRI) may tell us more.",
    "ultrasound": "A scan of the knee with sound waves may tell us more.",
    "vein_ultrasound": "A scan of the veins in the leg with sound waves may tell us more.",
}

_MOST_FOUND, _MOST_WELL = 8, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryContext:
    """Everything the patient's page says."""

    written_on: date = field(metadata=said("Day of the page, as given by whoever writes it."))
    standing: str = field(
        metadata=said("A line that says the patient is not a real one; empty for a patient.")
    )
    parents: bool = field(
        metadata=said("Whether the page speaks to the parents, as it does about a child under 12.")
    )
    patient: str = field(metadata=said("Label and identity of the patient; empty when there is none."))
    urgent: tuple[str, ...] = field(metadata=said("What cannot wait, in plain words, the most urgent first."))
    checked_first: str = field(
        metadata=said("That more is checked before the patient goes; empty while nothing for now is open.")
    )
    looked_for: tuple[str, ...] = field(
        metadata=said("What was done, which knee was not examined, and which pictures were looked at.")
    )
    found: tuple[tuple[Side, tuple[str, ...]], ...] = field(
        metadata=said("What was found on each knee, right before left.")
    )
    since: PlainChanges | None = field(
        metadata=said(
            "What has truly changed since the last visit about the same knee; None when that is nothing."
        )
    )
    may_mean: tuple[str, ...] = field(metadata=said("What it may mean, never as certain."))
    comes_next: tuple[str, ...] = field(metadata=said("What happens next."))
    come_at_once: tuple[str, ...] = field(metadata=said("When to come back at once; common practice."))
    readings: Readings = field(metadata=said("The readings from which the drawing is made."))
    caution: str = field(metadata=said("The caution, in one sentence."))
    foot: str = field(metadata=said("Edition, version and examination, and what is common practice."))


def build_summary(
    workup: Workup,
    *,
    written_on: date,
    identity: str = "",
    earlier: Sequence[Workup | Examination] = (),
    practice: bool = False,
) -> SummaryContext:
    """Return what the patient's page about this workup says.

    ``identity`` stands behind the patient's label: number and day of birth, empty when neither is known;
    ``earlier`` are visits of the same patient on days before, of which it says what has changed since.
    Raises `InputError` for a simulated patient when the page is not marked as practice, and for an earlier
    examination that is of another patient, without a day or not earlier.
    """
    examination = workup.examination
    readings, (urgent, routine) = readings_of(workup), plain_alarms(workup)
    parents = speaks_to_parents(examination.patient)
    usual = {
        side: {g.sign for g in workup.graded if g.side is side and g.verdict is Verdict.WITHIN_NORMAL_LIMITS}
        for side in Side
    }
    say, changes, checks = voice(parents=parents), plain_changes(workup, earlier), checked_first(workup)
    meant = may_mean(workup, urgent=bool(urgent), weigh_both=bool(no_longer_told(workup, earlier)))
    return SummaryContext(
        written_on=written_on,
        standing=standing_words(examination.origin, practice=practice),
        parents=parents,
        patient=", ".join(filter(None, (examination.patient.label or "", identity))),
        urgent=tuple(map(say, urgent)),
        checked_first=say(checks),
        looked_for=tuple(map(say, (*looked_for(readings), *pictures(examination)))),
        found=tuple((side, tuple(map(say, _found(readings, side, usual[side])))) for side in Side),
        since=changes and replace(changes, told=tuple(map(say, changes.told))),
        may_mean=tuple(map(say, meant)),
        comes_next=tuple(
            map(
                say,
                _comes_next(
                    workup.advice if any(map(readings.tested, Side)) else None,
                    routine=routine,
                    urgent=bool(urgent),
                    told=bool(checks),
                ),
            )
        ),
        come_at_once=tuple(map(say, _come_at_once(workup, readings))),
        readings=readings,
        caution=say(CAUTION),
        foot=f"Evidence edition {workup.edition}; Fabella {workup.version}; examination {examination.id}. "
        "When to come at once: common practice.",
    )


def _come_at_once(workup: Workup, readings: Readings) -> tuple[str, ...]:
    examination = workup.examination
    since = map(examination.days_since_operation, Side)
    wound = any(days is not None and days <= WOUND_DAYS for days in since)
    fever = examination.history.get("fever") is True
    return come_at_once(readings, workup.alarms, wound=wound, fever=fever)


def _found(readings: Readings, side: Side, usual: Collection[str]) -> Iterator[str]:
    """Plain sentences about one knee: what was abnormal, what was plainly well, what could not be done.

    What the grading calls ``usual``, such as slightly knocked knees alike on both sides, is no finding here.
    """
    if not readings.examined(side):
        yield "We did not examine this knee."
        return
    if not readings.tested(side):
        yield "We could not test this knee today."
        return
    abnormal = {each.sign for each in readings.with_outcome(Outcome.ABNORMAL, side)}.difference(usual)
    normal = {each.sign for each in readings.with_outcome(Outcome.NORMAL, side)}
    untested = {each.sign for each in readings.with_outcome(Outcome.COULD_NOT_BE_TESTED, side)}
    groups, plain = load_phrases().groups, load_phrases().plain
    troubled = tuple(
        dict.fromkeys(
            plain.get(sign, group.patient)
            for group in groups
            for sign in (*group.no, *group.well)
            if sign in abnormal
        )
    )
    yield from troubled[:_MOST_FOUND]
    if len(troubled) > _MOST_FOUND:
        yield "We found some more. We will go through it with you."
    if not troubled:
        yield (
            "We found nothing wrong in what we tested."
            if normal or usual
            else "We measured this knee. We cannot say yet what that means."
        )
    well = [
        group.patient_well
        for group in groups
        if group.patient_well and set(group.core) <= normal and not (abnormal | untested) & group.signs
    ]
    yield from well[:_MOST_WELL]
    if untested:
        yield "Some tests could not be done today."


def _comes_next(
    advice: Advice | None, *, routine: tuple[str, ...], urgent: bool, told: bool
) -> tuple[str, ...]:
    """What is not urgent but must not be missed has its place here, without alarm.

    ``told``: that more is to be checked stands on the page already.
    """
    if urgent:
        return (
            "First comes what must not wait, at the top of this page.",
            *routine,
            "Then we will talk with you about what can help.",
        )
    unsettled = advice is not None and advice.unsettled
    checks = f"First {'come the checks at the top' if told else 'we want to check a few more things'}."
    first = (checks,) if unsettled else ()
    if routine:
        return (*first, *routine, "Then we will talk with you about what can help.")
    images = () if advice is None else (*advice.first, *advice.images)
    if not images:
        return (*first, "We will talk with you about the next step.")
    step = _IMAGES.get(images[0].id, "A picture may tell us more.")
    if {each.side for each in images if each.id == images[0].id} == set(Side):
        step = step.replace("of the knee", "of both knees")
    return (*first, step, "We will talk with you about what it shows and what can help.")
