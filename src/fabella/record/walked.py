"""A measured walk as findings: what the protocol's signs of walking ask for in a number, and no more.

A limp is seen and graded by an examiner; times of steps are no grade, and make no finding of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fabella.anatomy import Side
from fabella.measure.walking import Walking
from fabella.measure.walking_contacts import Foot
from fabella.measure.walking_pace import Estimate, Timing
from fabella.record.finding import Finding

TIMED_BY = {
    Timing.TAPS: "taps at heel strike",
    Timing.FILM: "events marked on a film",
    Timing.MARKERS: "markers on the walker",
    Timing.KNEES: "curves of the knees",
}
"""How contacts were timed, as it is written in the record."""
_CM = 100.0


def findings_of_walk(walking: Walking) -> tuple[Finding, ...]:
    """Return cadence, and as far as known walking speed, stride length and the stance share of each foot.

    Each has its unit, in ``method`` how it was taken, and in ``note`` its standard error; none is graded.
    """
    return tuple(_findings(walking))


def _findings(walking: Walking) -> Iterator[Finding]:
    pace = walking.pace
    method = TIMED_BY[pace.timing]
    yield _finding("cadence", pace.cadence_per_min, "steps/min", method, "steps", digits=1)
    if pace.stride_m is not None:
        yield _finding("stride_length", pace.stride_m, "cm", method, "strides", digits=0, times=_CM)
    if pace.speed_m_per_s is not None:
        yield _finding("gait_speed", pace.speed_m_per_s, "m/s", method, "steps", digits=2)
    for foot in Foot:
        if foot in walking.stance_pct:
            share = _finding("stance_share", walking.stance_pct[foot], "%", method, "strides", digits=1)
            yield replace(share, side=Side(foot))


def _finding(
    sign: str, one: Estimate, unit: str, method: str, counted: str, *, digits: int, times: float = 1.0
) -> Finding:
    error = f"{one.error * times:.{digits + 1}f}"
    note = f"standard error {error} {unit}, of {one.n} {counted}"
    value = round(one.value * times, digits) + 0.0  # no -0
    return Finding(sign=sign, value=value, unit=unit, method=method, note=note)
