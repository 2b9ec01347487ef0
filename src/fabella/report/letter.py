"""The letter to the referring doctor: everything it may say, as one typed context."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from fabella.anatomy import Side, load_lesions
from fabella.errors import InputError
from fabella.protocol import load_protocol
from fabella.record import Examination, Origin
from fabella.report.cannot_wait import Urgent, unsettled_matters, urgent_matters
from fabella.report.conclusion_words import NAMED_FROM, KneeWords, knee_words
from fabella.report.findings import KneeFindings, knee_findings, normal_on_both, person_findings
from fabella.report.gather import readings_of
from fabella.report.imaging_words import ImageWords, image_words
from fabella.report.measurements import MeasurementRow, measurement_rows
from fabella.report.plan_words import Plan, plan_words
from fabella.report.readings import Readings
from fabella.report.reason_words import grounding_words
from fabella.report.since_words import SinceWords, all_since
from fabella.report.story import history_words, patient_words
from fabella.report.undone_words import UndoneWords, no_longer_told
from fabella.report.wording import written_date
from fabella.workup import Workup

CAUTION = (
    "This letter supports the clinician who examined the patient; local protocols and the judgement of "
    "licensed practice decide."
)
"""Said once in every letter."""


def said(what: str) -> dict[str, str]:
    """Return the metadata of a field of a context: the sentence that documents it."""
    return {"help": what}


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterContext:
    """Everything a letter says; the renderings add nothing and drop nothing."""

    written_on: date = field(metadata=said("Day of the letter, as given by whoever writes it."))
    addressee: str = field(metadata=said("To whom it goes; empty when no addressee was given."))
    standing: str = field(
        metadata=said(
            "A line that says the patient is not a real one, for practice; empty in a clinical letter."
        )
    )
    patient: str = field(metadata=said("Label, age, sex and identity of the patient, as far as known."))
    examined: str = field(metadata=said("When and where the knees were examined, and by whom."))
    urgent: tuple[Urgent, ...] = field(metadata=said("What cannot wait, the most urgent first."))
    unsettled: tuple[Urgent, ...] = field(
        metadata=said("Pressing matters that could not be excluded, with what would settle them.")
    )
    unsettled_more: int = field(metadata=said("How many further rules stay open for want of an answer."))
    history: str = field(metadata=said("The history in a line or two."))
    since: tuple[SinceWords, ...] = field(
        metadata=said(
            "What has changed since the last visit about the same knee, since one about the other knee "
            "after it, and since the trouble or its treatment began; empty without earlier visits."
        )
    )
    knees: tuple[KneeFindings, ...] = field(metadata=said("Findings, right knee before left."))
    both_normal: str = field(metadata=said("What was normal on both knees, in sentences."))
    person: str = field(metadata=said("Findings that belong to the person, not to a knee."))
    measurements: tuple[MeasurementRow, ...] = field(
        metadata=said("Every measurement, both sides, and their difference.")
    )
    imaging: tuple[ImageWords, ...] = field(
        metadata=said("Images that were there before the conclusion, and what they show.")
    )
    conclusions: tuple[KneeWords, ...] = field(
        metadata=said("What is concluded about each knee, right before left.")
    )
    weigh_both: tuple[UndoneWords, ...] = field(
        metadata=said(
            "What an earlier visit told as likely and this one does not, though it does not go away "
            "unnoticed; empty without any."
        )
    )
    no_conclusion: str = field(metadata=said("Why nothing is concluded; empty when something is."))
    grounding: str = field(
        metadata=said(
            "How much of the leading conclusion is published, derived, or judgement; empty without one."
        )
    )
    plan: Plan = field(metadata=said("The next step, the images, and what must not be done now."))
    failures: tuple[str, ...] = field(metadata=said("What the program could not work out."))
    readings: Readings = field(metadata=said("The readings from which the plate is drawn."))
    caution: str = field(metadata=said("The caution, in one sentence."))
    foot: str = field(
        metadata=said("Edition of the evidence, version of the program and identity of the examination.")
    )


def build_letter(
    workup: Workup,
    *,
    written_on: date,
    addressee: str = "",
    identity: str = "",
    earlier: Sequence[Workup | Examination] = (),
    practice: bool = False,
) -> LetterContext:
    """Return what a letter about this workup says.

    Parameters
    ----------
    workup
        The examination and what it came to.
    written_on
        Date of the letter.
    addressee
        To whom it goes; empty leaves the line out.
    identity
        By what the patient is told from all others, besides label, age and sex; empty when nothing is known.
    earlier
        Visits of the same patient on days before, of which it says what has changed since; of those that are
        workups also what they told as likely and this one does not, though it lasts.
    practice
        Marks the letter as an exercise; needed for a simulated patient.

    Raises
    ------
    InputError
        For a simulated patient when the letter is not marked as practice, and for an earlier examination
        that is of another patient, without a day or not earlier.
    """
    examination = workup.examination
    standing = standing_words(examination.origin, practice=practice)
    protocol, lesions = load_protocol(), load_lesions()
    readings = readings_of(workup)
    unsettled, unsettled_more = unsettled_matters(workup.alarms)
    conclusions = (
        ()
        if workup.conclusion is None
        else tuple(knee_words(workup.conclusion.knee(side), readings, lesions, protocol) for side in Side)
    )
    return LetterContext(
        written_on=written_on,
        addressee=addressee,
        standing=standing,
        patient=", ".join(filter(None, (patient_words(examination.patient), identity))),
        examined=_examined(workup),
        urgent=urgent_matters(workup.alarms),
        unsettled=unsettled,
        unsettled_more=unsettled_more,
        history=history_words(examination, protocol),
        since=all_since(workup, earlier),
        knees=tuple(knee_findings(readings, side, protocol) for side in Side),
        both_normal=normal_on_both(readings),
        person=person_findings(readings),
        measurements=measurement_rows(readings),
        imaging=image_words(examination, lesions, workup.conclusion),
        conclusions=conclusions,
        weigh_both=no_longer_told(workup, earlier),
        no_conclusion="" if conclusions or workup.failures else "No probabilities were worked out.",
        grounding=_grounding(workup),
        plan=plan_words(workup.advice, lesions, examined=any(map(readings.examined, Side))),
        failures=workup.failures,
        readings=readings,
        caution=CAUTION,
        foot=f"Evidence edition {workup.edition}; Fabella {workup.version}; examination {examination.id}.",
    )


def standing_words(origin: Origin, *, practice: bool) -> str:
    """Return the line that marks what is no clinical letter; refuse a simulated patient not so marked."""
    if origin is Origin.SIMULATED and not practice:
        says, remedy = (
            "is no patient, and gets no clinical letter",
            "ask for one marked as practice (--practice)",
        )
        raise InputError.of(place="origin", value=origin.value, says=says, remedy=remedy)
    if practice or origin is Origin.SIMULATED:
        return "Practice letter: not about a real patient, not for clinical use."
    if origin is Origin.INVENTED:
        return "Invented patient: not for clinical use."
    if origin is Origin.PUBLISHED:
        return "Published case: not for clinical use."
    return ""


def _examined(workup: Workup) -> str:
    examination = workup.examination
    parts = []
    if examination.examined_on is not None:
        parts.append(f"on {written_date(examination.examined_on)}")
    if examination.context.setting is not None:
        parts.append(f"in {_SETTINGS[examination.context.setting.value]}")
    if examination.examiner:
        parts.append(f"by {examination.examiner}")
    return f"Examined {' '.join(parts)}." if parts else ""


_SETTINGS = {
    "primary_care": "general practice",
    "emergency": "the emergency department",
    "sports_clinic": "the sports clinic",
    "specialist_clinic": "the knee clinic",
}


def _grounding(workup: Workup) -> str:
    """What the likeliest lesion rests on; empty when none is likely enough to be named."""
    if workup.conclusion is None:
        return ""
    entries = [entry for knee in workup.conclusion.knees if knee.findings for entry in knee.any_level()]
    leading = max(entries, key=lambda entry: entry.probability, default=None)
    if leading is None or leading.probability < NAMED_FROM:
        return ""
    return grounding_words(leading.grounding)
