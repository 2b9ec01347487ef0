"""The words for one sign, the same on every page that shows it."""

from __future__ import annotations

from fabella.anatomy import STRUCTURES
from fabella.protocol.signs import Direction, Position, Scale, SideRule, Sign, Unit

_SIDE_RULES = {
    SideRule.SOUND_SIDE_FIRST: "both knees, the sound one first",
    SideRule.TOGETHER: "both knees, compared in one look or hold",
    SideRule.THIS_MINUS_OTHER: "one reading: this side less the other",
    SideRule.COMPLAINT_SIDE: "the knee complained of",
    SideRule.WHEN_INDICATED: "only the knee that calls for it",
    SideRule.ONCE: "once: it belongs to the person",
}
_HURTS = ("not", "uncomfortable", "painful in an injured knee", "very painful in an injured knee")
_ABNORMAL = {
    Direction.ABOVE: "more is worse",
    Direction.BELOW: "less is worse",
    Direction.EITHER: "worse either way",
}
_UNITS = {
    Unit.DEGREES: "°",
    Unit.CELSIUS: "°C",
    Unit.RATIO: "(ratio)",
    Unit.KILOGRAMS_PER_SQUARE_METRE: "kg/m²",
}


def card(sign: Sign, position: Position) -> tuple[tuple[str, str], ...]:
    """Return everything there is to say about a sign, as (heading, text) pairs without the empty ones."""
    rows = (
        ("Ask" if sign.technique.endswith("?") else "Do", sign.technique),
        ("Caution", sign.caution),
        ("Normal", sign.normal),
        ("Record", record_words(sign.scale)),
        (
            "When",
            f"{position.name}, no. {sign.order}; {'in every knee' if sign.routine else 'when asked for'}",
        ),
        ("Knee bent", flexion_words(sign)),
        ("Sides", _SIDE_RULES[sign.side_rule]),
        ("Time", time_words(sign)),
        ("Hurts", _HURTS[sign.hurts]),
        ("Guarding", "can hide it" if sign.stress_test else ""),
        ("Not when", "\n".join(f"{each.name}: {each.why}" for each in sign.avoid_when)),
        ("Speaks of", ", ".join(STRUCTURES[structure] for structure in sign.structures)),
        ("Sums up", ", ".join(sign.summary_of)),
        ("Also called", ", ".join(sign.aliases)),
        ("Rests on", sign.provenance),
    )
    return tuple((heading, text) for heading, text in rows if text)


def record_words(scale: Scale) -> str:
    """Return how a sign is recorded: its levels from normal to worst, its reading, or both."""
    names = {level: level.id.replace("_", " ") for level in scale.levels}
    words = [name if name == level.words else f"{name} ({level.words})" for level, name in names.items()]
    parts = [" · ".join(words)] if words else []
    if measure := scale.measure:
        reading = (
            f"{_number(measure.low)} to {_number(measure.high)} {_UNITS.get(measure.unit, measure.unit)}"
        )
        meaning = f", positive: {measure.positive}" if measure.positive else ""
        parts.append(f"{reading} ({_ABNORMAL[measure.abnormal]}{meaning})")
    return "; ".join(parts)


def flexion_words(sign: Sign) -> str:
    """Return the angle of the knee, empty when it does not matter."""
    if sign.knee_flexion_deg is None:
        return ""
    low, high = sign.knee_flexion_deg
    return f"{low:g}°" if low == high else f"{low:g} to {high:g}°"


def time_words(sign: Sign) -> str:
    """Return the time a sign takes."""
    if sign.seconds == 0:
        return "none of its own"
    return f"{sign.seconds} s" + (" a side" if sign.side_rule.is_done_twice else "")


def _number(value: float) -> str:
    return f"{value:g}".replace("-", "\N{MINUS SIGN}")
