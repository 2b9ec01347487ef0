"""A measured walk in words and rows: each number with its standard error, sides beside each other."""

from __future__ import annotations

from collections.abc import Iterator

from fabella.measure.walking import Walking
from fabella.measure.walking_contacts import Foot
from fabella.measure.walking_knees import healthy_boys
from fabella.measure.walking_pace import Estimate, Timing
from fabella.record.walked import TIMED_BY
from fabella.report.wording import counted

CAUTION = "What is measured informs an examiner who has seen the walk; it does not replace looking."

HEADER = ("", "right", "left", "right less left")
_READ = (
    ("peak_deg", "Most bent in swing"),
    ("loaded_deg", "Most bent taking weight"),
    ("range_deg", "Range over the stride"),
)


def with_error(one: Estimate | None, unit: str, *, digits: int, signed: bool = False) -> str:
    """Return a value with its standard error, ``106.1 ± 0.8 steps/min``; nothing of None."""
    if one is None:
        return ""
    rounded = round(one.value, digits) + 0.0  # no -0
    value = f"{rounded:+.{digits}f}" if signed else f"{rounded:.{digits}f}"
    parting = "" if unit == "°" else " "
    return f"{value.replace('-', '−')} ± {max(one.error, 10.0**-digits):.{digits}f}{parting}{unit}"


def timed_words(walking: Walking) -> str:
    """Return how the walk was timed, ``timed by taps at heel strike``."""
    return f"timed by {TIMED_BY[walking.pace.timing]}"


def person_rows(walking: Walking) -> Iterator[tuple[str, str]]:
    """Yield what is of the whole walk, name and value."""
    pace = walking.pace
    yield "Cadence", with_error(pace.cadence_per_min, "steps/min", digits=1)
    yield "Stride", with_error(pace.stride_s, "s", digits=3)
    if pace.speed_m_per_s is not None:
        yield "Walking speed", with_error(pace.speed_m_per_s, "m/s", digits=2)
    if pace.stride_m is not None:
        yield "Stride length", with_error(pace.stride_m, "m", digits=2)
    yield "Strides vary by (SD)", with_error(pace.variation_s, "s", digits=3)
    if pace.timing in {Timing.TAPS, Timing.FILM}:
        yield "of which the timing (SD)", f"{pace.jitter_s:.3f} s"
    yield "Steps counted", str(pace.cadence_per_min.n)


def side_rows(walking: Walking) -> Iterator[tuple[str, str, str, str]]:
    """Yield what is of each side: name, right, left, right less left."""
    pace, stance = walking.pace, walking.stance_pct
    yield (
        "Step",
        with_error(pace.right_step_s, "s", digits=3),
        with_error(pace.left_step_s, "s", digits=3),
        with_error(pace.difference_s, "s", digits=3, signed=True),
    )
    if stance:
        right, left = (with_error(stance.get(foot), "%", digits=1) for foot in Foot)
        between = with_error(walking.stance_difference_pct, "%", digits=1, signed=True)
        yield "Stance share", right, left, between
    if walking.knees is None:
        return
    curves = walking.knees.curves
    for name, says in _READ:
        right, left = (
            with_error(getattr(curves[foot], name), "°", digits=1) if foot in curves else "" for foot in Foot
        )
        apart = (walking.knees.differences or {}).get(name)
        yield says, right, left, with_error(apart, "°", digits=1, signed=True)


def asymmetry_words(walking: Walking) -> str:
    """Return in a sentence whether the two steps differ beyond their error, and what that looks like."""
    pace = walking.pace
    percent = with_error(pace.asymmetry_pct, "%", digits=1, signed=True)
    if pace.difference_s.low <= 0 <= pace.difference_s.high:
        return f"Right and left step last alike within the error ({percent} of their mean)."
    sooner, leg = ("left", "right") if pace.difference_s.value > 0 else ("right", "left")
    by = abs(pace.difference_s.value)
    return (
        f"The {sooner} step comes sooner by {by:.2f} s ({percent} of their mean), as it does when little "
        f"weight is trusted to the {leg} leg; whether that is a limp is for the eye to say."
    )


def knee_words(walking: Walking) -> Iterator[str]:
    """Yield what the knees' curves are compared with, and how little that says of angles as such."""
    if walking.knees is None:
        return
    strides = " and ".join(
        f"{counted(curve.strides, 'stride')} of the {foot}" for foot, curve in walking.knees.curves.items()
    )
    peak = max(mean for _, mean, _ in healthy_boys())
    yield f"The curves are means of {strides} knee."
    yield (
        f"Published curves peak at 60° in one laboratory and {peak:.0f}° in another: laboratories differ by "
        "more than healthy people do, so compare the two knees and the shape before the angle itself."
    )
