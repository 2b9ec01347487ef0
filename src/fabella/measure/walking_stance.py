"""The share of each stride that a foot is on the ground, from when it meets the ground and when it leaves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from fabella.measure.walking_contacts import Contact, Foot, Steady
from fabella.measure.walking_pace import Estimate, mean_of

LATE_S = 0.033
"""SD of how much later leaving is timed than meeting throughout: two frames of 1/60 s, within which 89 %
of events of impaired walkers fell (Zeni 2008 Gait Posture 27:710-714); of taps and film judgement."""
_LEAST, _MOST = 0.3, 0.95  # of a stride: where the foot may leave (judgement)


def stance_shares(walk: Steady, leaving: Iterable[Contact]) -> Mapping[Foot, Estimate]:
    """Return the stance share in percent of the stride by foot, of each that leaves in at least two strides.

    Parameters
    ----------
    leaving
        When each foot leaves the ground, in any order; strides without just one such time do not count.

    Notes
    -----
    100 x (leaves - meets) / stride.
    """
    offs = {foot: sorted(each.at_s for each in leaving if each.foot is foot) for foot in Foot}
    shares: dict[Foot, Estimate] = {}
    for foot in Foot:
        strides = walk.strides(foot)
        found = []
        for begin, end in strides:
            low, high = (begin + share * (end - begin) for share in (_LEAST, _MOST))
            within = [at for at in offs[foot] if low <= at <= high]
            if len(within) == 1:
                found.append(100 * (within[0] - begin) / (end - begin))
        if len(found) >= 2:
            stride = sum(end - begin for begin, end in strides) / len(strides)
            shares[foot] = mean_of(found, systematic=100 * LATE_S / stride)
    return shares
