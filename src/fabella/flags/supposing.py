"""What a rule would say if what nobody told were told: which knee is complained of, how and when it began.

In a record without its story a danger is most easily overlooked, and one question settles it.
"""

from collections.abc import Mapping
from dataclasses import replace

from fabella.anatomy import Side
from fabella.flags.knee import Knee
from fabella.protocol import Protocol
from fabella.record import Context, Examination, Mechanism

_YESTERDAY_DAYS = 1


def if_complained_of(examination: Examination, *, protocol: Protocol) -> Mapping[Side, Knee]:
    """Return the knees as if both were complained of; none when it is known which one is."""
    knees = _knees(examination, protocol)
    if any(knee.complained_of is not None for knee in knees.values()):
        return {}
    return _knees(_with(examination, replace(examination.context, complaint=tuple(Side))), protocol)


def if_hurt_lately(examination: Examination, *, protocol: Protocol) -> Mapping[Side, Knee]:
    """Return the knees as if twisted yesterday, as far as neither cause nor time is on record; else none.

    A knee that is known not to be complained of is left out. A twist is supposed rather than a fall, of which
    the rules for fractures would ring at any age beyond 50.
    """
    told = examination.context
    supposed = replace(
        told,
        mechanism=told.mechanism or Mechanism.TWIST,
        onset_days=_YESTERDAY_DAYS if told.onset_days is None and told.acuity is None else told.onset_days,
    )
    if supposed == told:
        return {}
    knees = _knees(_with(examination, supposed), protocol)
    if all(knee.complained_of is None for knee in knees.values()):
        return _knees(_with(examination, replace(supposed, complaint=tuple(Side))), protocol)
    return {side: knee for side, knee in knees.items() if knee.complained_of is True}


def _with(examination: Examination, context: Context) -> Examination:
    return replace(examination, context=context)


def _knees(examination: Examination, protocol: Protocol) -> dict[Side, Knee]:
    return {side: Knee(examination, side, protocol) for side in Side}
