"""What every sign of the protocol shows on both knees, with readings where it is measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fabella.anatomy import Side, other
from fabella.grade.thresholds import load_thresholds
from fabella.grade.weights import level_of
from fabella.infer.states import Slot
from fabella.protocol import Kind, Protocol, Sign
from fabella.teach.dice import Dice
from fabella.teach.hidden import Outcome
from fabella.teach.knees import DrawnKnee
from fabella.teach.measuring import (
    Measured,
    Tape,
    heel_height_cm,
    heel_to_buttock_cm,
    standard_error,
    usual_readings,
)
from fabella.teach.person import Person
from fabella.teach.together import settle
from fabella.teach.unmodelled import rates, shown_level

Place = tuple[str, Side | None]
Levels = dict[Place, tuple[int, int]]

_SLOW = {0: 0.05, 1: 0.5, 2: 0.95}
"""Chance that somebody walks more slowly than is usual, by the degree of the limp (judgement)."""
_TURNED_OUT_DEG = (10.0, 20.0)
"""How much further outwards a foot points whose hip turns out by itself (judgement: common practice)."""
_GAIT = ("cadence", "gait_speed", "stride_length")


def draw_outcomes(
    person: Person,
    drawn: Mapping[Side, DrawnKnee],
    lesions: Mapping[Side, tuple[Slot, ...]],
    dice: Dice,
    *,
    protocol: Protocol,
) -> Mapping[Place, Outcome]:
    """Return the outcome of every sign that is examined, on each side it has."""
    levels: Levels = {}
    for sign in protocol.signs:
        if sign.kind in (Kind.HISTORY, Kind.COURTESY):
            continue
        for side in _sides(sign):
            knee = drawn[side or person.side]
            if sign.id in knee.relaxed:
                levels[sign.id, side] = (knee.relaxed[sign.id], knee.guarded[sign.id])
            elif sign.id in rates()["signs"]:
                shown = shown_level(
                    sign.id,
                    rates()["signs"][sign.id],
                    side=side,
                    lesions=lesions[side or person.side],
                    mechanism=None if side is other(person.side) else person.context.mechanism,
                    shown=[name for name, level in knee.relaxed.items() if level],
                    dice=dice,
                )
                levels[sign.id, side] = (shown, shown)
    _settle(levels)
    measured = dict(_measured(levels, person, dice, protocol))
    measured |= dict(_angles(levels, measured, person, dice, protocol))
    tape = Tape(person.patient, dice)
    return {
        place: _outcome(place, levels, measured, tape, protocol.sign(place[0]))
        for place in {**levels, **measured}
    }


def _sides(sign: Sign) -> tuple[Side | None, ...]:
    return (None,) if sign.is_person else tuple(Side)


def _settle(levels: Levels) -> None:
    for side in Side:
        own = [name for name, where in levels if where is side]
        relaxed, guarded = ({name: levels[name, side][tight] for name in own} for tight in (0, 1))
        settle(relaxed)
        settle(guarded)
        levels.update({(name, side): (relaxed[name], guarded[name]) for name in own})


def _measured(
    levels: Levels, person: Person, dice: Dice, protocol: Protocol
) -> Iterator[tuple[Place, Measured]]:
    """Yield the readings that stand for themselves, and fill in the levels of those that follow another."""
    tape = Tape(person.patient, dice)
    for name, usual in usual_readings().items():
        sign = protocol.sign(name)
        if sign.is_history:
            continue
        for side in _sides(sign):
            if usual.follows:
                levels[name, side] = levels[usual.follows, side]
            elif name in _GAIT:
                limp = max(levels["antalgic_gait", each][0] for each in Side)
                levels[name, side] = (int(dice.happens(_SLOW[limp], "slow")),) * 2
            level = levels.setdefault((name, side), (0, 0))[0]
            if name == "leg_length_difference":
                continue
            yield (name, side), tape.measure(sign, side, level)


def _angles(
    levels: Levels, measured: Mapping[Place, Measured], person: Person, dice: Dice, protocol: Protocol
) -> Iterator[tuple[Place, Measured]]:
    """Yield what is the same thing measured in another way, so that figure and findings agree."""
    tape = Tape(person.patient, dice)
    extension: dict[Side, Measured] = {}
    for side in Side:
        straight = measured["passive_extension", side]
        if levels["recurvatum", side][0]:
            back = dice.between(10.5, 15.0, "recurvatum", side)
            straight = tape.blurred(protocol.sign("passive_extension"), side, back)
        extension[side] = straight
    for side in Side:
        one, two = extension[side], extension[other(side)]
        yield ("passive_extension", side), one
        short = levels["passive_extension", side]
        levels["fixed_flexion", side] = levels["heel_height_difference", side] = short
        yield ("fixed_flexion", side), Measured(max(0.0, -one.value), max(0.0, -one.read), one.sem)
        error = standard_error(protocol.sign("heel_height_difference"))
        true, read = heel_height_cm(-one.value, -two.value), heel_height_cm(-one.read, -two.read)
        yield ("heel_height_difference", side), Measured(true, read, error)
        bend = measured["passive_flexion", side]
        levels["active_flexion", side] = levels["heel_to_buttock", side] = levels["passive_flexion", side]
        less = dice.between(2.0, 4.0, "active", side)
        yield (
            ("active_flexion", side),
            Measured(bend.value - less, bend.read - less, standard_error(protocol.sign("active_flexion"))),
        )
        error = standard_error(protocol.sign("heel_to_buttock"))
        yield (
            ("heel_to_buttock", side),
            Measured(heel_to_buttock_cm(bend.value), heel_to_buttock_cm(bend.read), error),
        )
    longer = (
        dice.between(1.1, 2.5, "leg length") if dice.happens(0.05, "unequal") else 0.2 * dice.normal("legs")
    )
    for side, sign in ((Side.RIGHT, 1), (Side.LEFT, -1)):
        levels["leg_length_difference", side] = (int(abs(longer)),) * 2
        yield (
            ("leg_length_difference", side),
            tape.blurred(protocol.sign("leg_length_difference"), None, sign * longer),
        )
    yield from _alignment(levels, tape, protocol)
    yield from _turned_feet(levels, measured, tape, dice, protocol)


def _turned_feet(
    levels: Levels, measured: Mapping[Place, Measured], tape: Tape, dice: Dice, protocol: Protocol
) -> Iterator[tuple[Place, Measured]]:
    """Yield where the foot points of a leg whose hip turns outwards by itself as it bends: outwards."""
    for side in Side:
        if levels["obligate_external_rotation", side][0]:
            usual = measured["foot_progression_angle", side].value
            out = usual + dice.between(*_TURNED_OUT_DEG, "turned out", side)
            sign = protocol.sign("foot_progression_angle")
            yield (sign.id, side), tape.blurred(sign, side, out, value=out)


def _alignment(levels: Levels, tape: Tape, protocol: Protocol) -> Iterator[tuple[Place, Measured]]:
    sign = protocol.sign("tibiofemoral_angle")
    angle: dict[Side, Measured] = {}
    for side in Side:
        varus, valgus = levels["varus_alignment", side][0], levels["valgus_alignment", side][0]
        levels[sign.id, side] = (max(varus, valgus),) * 2
        angle[side] = tape.bowed(sign, side, valgus - varus)
        yield (sign.id, side), angle[side]
    for name, way in (("intercondylar_distance", -1), ("intermalleolar_distance", 1)):
        gap = sum(max(0.0, way * (each.value - 5.0) - 1.0) for each in angle.values()) * 0.6
        read = tape.blurred(protocol.sign(name), None, gap, value=gap)
        reading = load_thresholds().readings[name]
        starts = reading.alone.starts if reading.alone is not None else ()
        levels[name, None] = (level_of(read.read, starts),) * 2
        yield (name, None), read


def _outcome(
    place: Place, levels: Levels, measured: Mapping[Place, Measured], tape: Tape, sign: Sign
) -> Outcome:
    relaxed, guarded = levels.get(place, (0, 0))
    found = measured.get(place)
    if found is None:
        return Outcome(level=relaxed, guarded=guarded)
    differs = sign.stress_test and guarded != relaxed
    tight = tape.measure(sign, place[1], guarded).read if differs else found.read
    return Outcome(
        level=relaxed, guarded=guarded, value=found.value, read=found.read, guarded_read=tight, sem=found.sem
    )
