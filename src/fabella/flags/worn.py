"""Osteoarthritis diagnosed without an image: nothing that cannot wait, but a rule that spares one."""

from fabella.anatomy import Side
from fabella.flags.joints import stiff_in_the_morning
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, given, negate
from fabella.flags.picture import hot, swollen
from fabella.flags.story import FRESH_DAYS, injured_within
from fabella.protocol import Protocol
from fabella.record import Examination

OSTEOARTHRITIS_YEARS = 45  # 45 itself counts
OA_SOURCE = "NICE NG226, 2022"


def oa_without_imaging(examination: Examination, side: Side, *, protocol: Protocol) -> Truth:
    """Say whether osteoarthritis of one knee may be diagnosed clinically; None while a criterion is unknown.

    All of: aged 45 or over, pain with activity, morning stiffness absent or at most 30 minutes; and no
    atypical feature is known: a recent injury, a hot swollen joint, worry about infection or malignancy.
    How fast it got worse is left to the examiner. Source: `OA_SOURCE`.
    """
    knee = Knee(examination, side, protocol)
    atypical = any_of(
        injured_within(knee, FRESH_DAYS),
        all_of(hot(knee), swollen(knee)),
        *map(knee.said, ("fever", "rigors_or_unwell", "active_cancer", "weight_loss", "night_pain")),
    )
    return all_of(
        given(knee.age_years, lambda years: years >= OSTEOARTHRITIS_YEARS),
        knee.said("activity_pain"),
        negate(stiff_in_the_morning(knee)),
        atypical is not True,
    )
