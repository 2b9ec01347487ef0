"""From one table of a data file to one sign, with what must hold within a sign."""

from __future__ import annotations

from collections.abc import Mapping

from fabella.anatomy import Structure
from fabella.protocol.fields import Fields
from fabella.protocol.signs import (
    Contraindication,
    Direction,
    Kind,
    Level,
    Measure,
    Position,
    Scale,
    SideRule,
    Sides,
    Sign,
    TellsOf,
    Unit,
)

_KINDS = {each.value: each for each in Kind}
_SIDES = {each.value: each for each in Sides}
_SIDE_RULES = {each.value: each for each in SideRule}
_TELLS_OF = {each.value: each for each in TellsOf}
_UNITS = {each.value: each for each in Unit}
_DIRECTIONS = {each.value: each for each in Direction}
_STRUCTURES = {each.value: each for each in Structure}

_LONGEST_SECONDS = 600
_PAINFUL = 2  # from here on a sign needs a contraindication or a caution
_GROUNDS = ("judgement: ", "published: ")


def read_contraindication(fields: Fields) -> Contraindication:
    """Return one contraindication."""
    read = Contraindication(id=fields.text("id"), name=fields.text("name"), why=fields.text("why"))
    fields.finish()
    return read


def read_position(fields: Fields, *, number: int, position_id: str) -> Position:
    """Return one position; the file's own name decides its id and number."""
    if (written := fields.text("id")) != position_id:
        fields.complain("id", written, "is not the name of the file", f"write '{position_id}'")
    return Position(
        id=position_id,
        name=fields.text("name"),
        number=number,
        patient=fields.text("patient"),
        seconds=fields.whole("seconds", low=0, high=_LONGEST_SECONDS),
    )


def read_sign(
    fields: Fields, *, position: str, order: int, contraindications: Mapping[str, Contraindication]
) -> Sign:
    """Return one sign; its problems are added to those of ``fields``."""
    name = fields.text("name")
    sign = Sign(
        id=fields.text("id"),
        name=name,
        deed=fields.text("deed", default=name),
        aliases=fields.texts("aliases"),
        kind=fields.choice("kind", _KINDS),
        position=position,
        order=order,
        routine=fields.flag("routine"),
        sides=fields.choice("sides", _SIDES),
        side_rule=fields.choice("side_rule", _SIDE_RULES),
        technique=fields.text("technique"),
        caution=fields.text("caution", default=""),
        knee_flexion_deg=fields.pair("knee_flexion_deg", low=0, high=160),
        normal=fields.text("normal"),
        scale=_scale(fields),
        seconds=fields.whole("seconds", low=0, high=_LONGEST_SECONDS),
        hurts=fields.whole("hurts", low=0, high=3),
        avoid_when=fields.choices("avoid_when", contraindications, optional=True),
        structures=fields.choices("structures", _STRUCTURES),
        stress_test=fields.flag("stress_test", default=False),
        summary_of=fields.texts("summary_of", optional=True),
        tells_of=fields.choice("tells_of", _TELLS_OF) if fields.has("tells_of") else TellsOf.TODAY,
        provenance=fields.text("provenance"),
    )
    fields.finish()
    _check(sign, fields)
    return sign


def _scale(fields: Fields) -> Scale:
    ids = fields.texts("levels")
    words = fields.texts("words", optional=True) or ids
    if len(ids) == 1:
        fields.complain("levels", ids[0], "is the only level", "write at least two, the normal one first")
    if len(words) != len(ids):
        fields.complain("words", list(words), "do not match the levels", f"write {len(ids)} of them")
    measure = _measure(fields.table("measure"))
    if not ids and not fields.has("measure"):
        fields.complain("levels", "", "are missing", "write levels, a measure or both")
    pairs = zip(ids, words, strict=False)  # an unequal number has been complained of
    return Scale(
        levels=tuple(Level(id=name, words=said, rank=rank) for rank, (name, said) in enumerate(pairs)),
        measure=measure,
    )


def _measure(fields: Fields | None) -> Measure | None:
    if fields is None:
        return None
    measure = Measure(
        unit=fields.choice("unit", _UNITS),
        low=fields.number("low"),
        high=fields.number("high"),
        abnormal=fields.choice("abnormal", _DIRECTIONS),
        positive=fields.text("positive", default=""),
    )
    fields.finish()
    if measure.low >= measure.high:
        fields.complain("high", measure.high, f"is not above {measure.low:g}", "let low be below high")
    if measure.low < 0 and not measure.positive:
        fields.complain("positive", "", "is missing", "say what a positive reading means")
    return measure


def _check(sign: Sign, fields: Fields) -> None:
    """Complain about what cannot be true of one sign."""
    if (sign.sides is Sides.PERSON) is not (sign.side_rule is SideRule.ONCE):
        remedy = "'once' goes with 'person', and only with it"
        fields.complain("side_rule", sign.side_rule.value, f"does not fit '{sign.sides}'", remedy)
    if sign.tells_of is not TellsOf.TODAY and not sign.is_history:
        fields.complain("tells_of", sign.tells_of.value, "is for what is asked", "leave it out")
    if not sign.structures:
        fields.complain("structures", "", "is empty", "name at least one structure")
    if sign.seconds == 0 and not sign.is_summary:
        fields.complain("seconds", sign.seconds, "is no time", "only a sign with summary_of takes none")
    if sign.hurts >= _PAINFUL and not sign.avoid_when and not sign.caution:
        remedy = "a painful sign needs avoid_when or a caution"
        fields.complain("avoid_when", "", "is missing", remedy)
    if not sign.provenance.startswith(_GROUNDS):
        remedy = f"begin with {' or '.join(repr(ground) for ground in _GROUNDS)}"
        fields.complain("provenance", sign.provenance, "does not say what it rests on", remedy)
