"""When a patient is to come at once: said on every page, and said otherwise of what is so already."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fabella.report.readings import Outcome, Readings
from fabella.workup import Alarm


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One reason to come at once.

    ``instead`` stands in its place where it is so already: one of ``signs`` is abnormal, or of ``rules`` met;
    ``feverish`` before either for whoever has a fever.
    """

    words: str
    signs: frozenset[str] = frozenset()
    rules: frozenset[str] = frozenset()
    instead: str = ""
    feverish: str = ""


SAFETY_NET = (
    Reason(
        words="Your knee gets hot, red or very sore, or you have a fever.",
        signs=frozenset({"warmth", "erythema", "motion_pain_any"}),
        instead="Your knee gets hotter, redder or more sore, or you have a fever or feel more ill.",
        feverish="Your knee gets hotter, redder or more sore, or you feel more ill.",
    ),
    Reason(
        words="Your foot gets cold, pale or numb, or you cannot move it.",
        signs=frozenset(
            {
                "distal_pulses", "cool_foot", "capillary_refill_s", "distal_neurovascular",
                "peroneal_sensation", "tibial_nerve_sensation", "foot_drop", "tibial_nerve_motor",
            }
        ),
        instead="Your foot gets colder, paler or more numb, or you can move it less.",
    ),
    Reason(
        words="Your calf swells and hurts.",
        signs=frozenset({"tenderness_calf", "whole_leg_swollen", "pitting_oedema", "compartment_tense"}),
        instead="Your calf swells or hurts more.",
    ),
    Reason(
        words="Your knee gets stuck.",
        rules=frozenset({"locked_knee", "block_that_stayed"}),
        instead="Your knee bends less than it does now.",
    ),
    Reason(
        words="You can no longer stand on the leg.",
        signs=frozenset({"unable_to_weight_bear"}),
        instead="Your leg hurts more, even when you rest it.",
    ),
    Reason(words="You have pain in the chest or find it hard to breathe: call an ambulance."),
)  # fmt: skip
"""When to come at once, whatever was found (common practice)."""

WOUND = Reason(
    words="Your wound opens, gets red or leaks.",
    signs=frozenset({"open_wound", "sinus"}),
    instead="Your wound opens more or leaks more.",
)


def come_at_once(
    readings: Readings, alarms: Iterable[Alarm] = (), *, wound: bool = False, fever: bool = False
) -> tuple[str, ...]:
    """Return when to come at once, in plain words that fit what was found.

    ``wound`` says that one still heals, ``fever`` that the patient told of one.
    """
    net = (WOUND, *SAFETY_NET) if wound else SAFETY_NET
    abnormal = {each.sign for each in readings.all if each.outcome is Outcome.ABNORMAL}
    met = {alarm.rule for alarm in alarms if alarm.is_met}
    feverish = fever or "body_temperature" in abnormal

    def said(reason: Reason) -> str:
        if feverish and reason.feverish:
            return reason.feverish
        return reason.instead if reason.signs & abnormal or reason.rules & met else reason.words

    return tuple(map(said, net))
