"""What the story says about one knee: whether it was injured, and how long ago.

Known days stand for themselves; without them the examiner's word for acuity stands in (judgement).
"""

from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, agreed, all_of, given, hint, negate
from fabella.record import NO_INJURY, Acuity, Mechanism, Setting

RECENT_DAYS = 42  # judgement: ligaments and tendons still count as freshly injured for six weeks
FRESH_DAYS = 14  # judgement: long enough for a haemarthrosis to explain a warm, swollen knee
PERSISTENT_DAYS = 28  # judgement
WOUND_DAYS = 84  # judgement: an infection of the operation itself, and a wound that leaks, show by then
HEALS_DAYS = 182  # judgement: half a year, as in the model

_UNDECIDED = frozenset({Mechanism.SQUAT_OR_KNEEL})
TOLD = (
    "fall_or_blunt_trauma",
    "dislocation_reported",
    "patella_seen_displaced",
    "penetrating_injury",
    "unable_to_weight_bear_at_injury",
)
_ACUTE_MEANS_DAYS = 14  # "acute" without a number of days
_SUBACUTE_MEANS_DAYS = (7, 84)  # "subacute" without a number of days


def injured(knee: Knee) -> Truth:
    """Say whether this knee was injured, ever so long ago."""
    return knee.settled(_injured)


def _injured(knee: Knee) -> Truth:
    mechanism = knee.context.mechanism
    told = None if mechanism is None or mechanism in _UNDECIDED else mechanism not in NO_INJURY
    return all_of(knee.complained_of, agreed(told, *(hint(knee.said(item)) for item in TOLD)))


def within_days(knee: Knee, days: float) -> Truth:
    """Say whether the complaint began at most ``days`` ago."""
    onset, judged = knee.context.onset_days, _judged_within(knee, days)
    if onset is None:
        return judged
    return all_of(onset <= days, None if judged is False else True)


def injured_within(knee: Knee, days: float) -> Truth:
    """Say whether this knee was injured at most ``days`` ago, and not operated on since.

    An operation has seen to the injury before it, and what the knee shows then has rules of its own.
    """
    return all_of(injured(knee), within_days(knee, days), not operated_since(knee))


def operated_within(knee: Knee, days: float) -> bool:
    """Say whether the record has an operation on this knee at most ``days`` before the examination."""
    since = knee.examination.days_since_operation(knee.side)
    return since is not None and since <= days


def operated_since(knee: Knee) -> bool:
    """Say whether the record has an operation on this knee on or after the day its complaint began."""
    return knee.examination.operated_since_onset(knee.side) is True


def began_after_operation(knee: Knee) -> bool:
    """Say whether it is known that the complaint began after the operation on record."""
    return knee.examination.operated_since_onset(knee.side) is False


def operated_lately(knee: Knee) -> bool:
    """Say whether this knee was operated on so lately, and since it began to trouble, that own rules hold.

    What began after the operation is a complaint of its own; without days the operation is what is known.
    """
    return operated_within(knee, WOUND_DAYS) and not began_after_operation(knee)


def heals(knee: Knee) -> bool:
    """Say whether an operation on this knee is so recent that pain at rest and of cut bone is usual."""
    return operated_within(knee, HEALS_DAYS)


def recent_injury(knee: Knee) -> Truth:
    """Say whether this knee was injured within the last six weeks."""
    return injured_within(knee, RECENT_DAYS)


def persistent(knee: Knee, days: float = PERSISTENT_DAYS) -> Truth:
    """Say whether the complaint has lasted for ``days`` or more."""
    if knee.context.onset_days is not None:
        return knee.context.onset_days >= days
    return (
        {Acuity.CHRONIC: True, Acuity.ACUTE: False}.get(knee.context.acuity) if knee.context.acuity else None
    )


def child(knee: Knee, *, under_years: int) -> Truth:
    """Say whether the patient is younger than a number of completed years."""
    return given(knee.age_years, lambda years: years < under_years)


def not_injured(knee: Knee) -> Truth:
    """Say whether it is known that no injury explains the complaint."""
    return negate(injured(knee))


def _judged_within(knee: Knee, days: float) -> Truth:
    acuity = knee.context.acuity
    if acuity is Acuity.ACUTE:
        fresh = days >= _ACUTE_MEANS_DAYS or knee.context.setting is Setting.EMERGENCY
        return True if fresh else None
    if acuity is Acuity.SUBACUTE:
        shortest, longest = _SUBACUTE_MEANS_DAYS
        return False if days <= shortest else True if days >= longest else None
    return None if acuity is None else False
