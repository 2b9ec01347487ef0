"""Who the patient is and what happened: age, sex, mechanism, days since, side of the complaint."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from fabella.anatomy import Side, other
from fabella.dictation.items import Item, item_at, sentence_at
from fabella.dictation.nobody import OCCASION, nobody_complains, tells_of_trouble
from fabella.dictation.vocabulary import Meaning, SignWord, Tag
from fabella.record import Context, Mechanism, Patient, Setting, Sex

_INJURIES = {
    "pop_heard",
    "fall_or_blunt_trauma",
    "could_not_continue",
    "patella_seen_displaced",
    "dislocation_reported",
}
_OLDEST_YEARS = 120
_NEXT_TO = 2
_BESIDE = 3
"""How many items may stand between a complaint and its side: a judgement."""


@dataclass(slots=True)
class Person:
    """What was gathered about the patient, and the items that said it."""

    patient: Patient = field(default_factory=Patient)
    context: Context = field(default_factory=Context)
    items: list[Item] = field(default_factory=list)
    denials: list[Item] = field(default_factory=list)
    """Where it was said that nobody complains."""
    without_complaint: bool = False
    """Whether that was said, or follows from what the examination is for."""

    def complains(self, sides: Iterable[Side]) -> None:
        """Add a knee that is complained of."""
        known = {*self.context.complained_of, *sides}
        self.context = replace(self.context, complaint=tuple(side for side in Side if side in known) or None)


def gather(items: Sequence[Item]) -> tuple[Person, tuple[Item, ...]]:
    """Return what is said of the patient, and the items that are left."""
    person = Person()
    kept: list[Item] = []
    occasion = False
    for place, item in enumerate(items):
        if nobody_complains(items, place):
            person.denials.append(item)
        elif item.tag is not Tag.PERSON:
            kept.append(item)
            _overhear(person, items, place)
        elif item.text == "for" and not _is_complaint(items, place):
            kept.append(replace(item, tag=Tag.UNKNOWN, value="it is not said of what it is the time"))
        elif _is_of_the_patient(items, place):
            kept[-1:] = [_as_told(each) if item.text == "for" else each for each in kept[-1:]]
            fact, value = item.value
            if _take(person, fact, value):
                person.items.append(item)
                if fact == "onset_days" and kept and kept[-1].tag is Tag.UNKNOWN:
                    kept.append(replace(item, tag=Tag.BREAK, value=","))  # "the postman had a year of pain"
            if fact in {"complaint", "mechanism"}:
                near = _side_near(items, place, forward=True) or _side_near(items, place, forward=False)
                person.complains(near)
            occasion |= fact == OCCASION
    person.without_complaint = bool(person.denials) or (occasion and not tells_of_trouble(items))
    return person, tuple(_named(item, person.context.complained_of) for item in kept)


def _overhear(person: Person, items: Sequence[Item], place: int) -> None:
    """Take what a sign tells of the patient besides: how it happened, which knee hurts."""
    mechanism = items[place].other(Tag.PERSON)
    denied = place > 0 and items[place - 1].is_mark("no", "denies")
    if mechanism is not None and mechanism[0] == "mechanism" and not denied:
        _take(person, *mechanism)
    if sides := _knees_in_pain(items, place):
        person.complains(sides)
        person.items.append(items[place])


def _is_of_the_patient(items: Sequence[Item], place: int) -> bool:
    """Say whether an age or sex is the patient's own, and a time that since the onset."""
    fact, _ = items[place].value
    behind = item_at(items, place + 1)
    if fact == "sex" and behind.tag is Tag.PERSON and behind.value[0] == "age_years":
        return not behind.of
    if fact in {"onset_days", "yesterday"}:
        return _tells_onset(items, place)
    return fact != "age_years" or not items[place].of


def _named(item: Item, complaint: tuple[Side, ...]) -> Item:
    """Return "the injured knee" as the side that was complained of, where that is one."""
    named = item.value if item.tag is Tag.SIDE else item.other(Tag.SIDE)
    if named not in {"affected", "sound"} or len(complaint) != 1:
        return item
    side = (complaint[0] if named == "affected" else other(complaint[0])).value
    if item.tag is Tag.SIDE:
        return replace(item, value=side)
    return replace(
        item,
        others=tuple(Meaning(each.tag, side if each.tag is Tag.SIDE else each.value) for each in item.others),
    )


def _tells_onset(items: Sequence[Item], place: int) -> bool:
    """Say whether a time belongs to the injury or the complaint: one of them is told in the same sentence."""
    if items[place].text.endswith(("history", "for")):
        return True
    return any(map(_is_injury, sentence_at(items, place)))


def _is_complaint(items: Sequence[Item], place: int) -> bool:
    """Say whether what stands last before a time is a complaint: "left knee pain for a month"."""
    told = (Tag.SIGN, Tag.REASON, Tag.PERSON, Tag.UNKNOWN, Tag.DESCRIBING)
    at = next((at for at in range(place - 1, -1, -1) if items[at].tag in told or items[at].is_break(".")), -1)
    if at < 0 or items[at].tag in {Tag.UNKNOWN, Tag.DESCRIBING}:
        return False
    last = items[at]
    if at and items[at - 1].is_mark("no", "denies"):
        return False  # "no pain for three weeks"
    if last.tag is Tag.PERSON:
        return bool(last.value[0] == "complaint")
    if last.sign is not None:
        return bool(last.sign.told) or _is_told_pain(last.sign)
    return bool(last.value in ("pain", "swelling"))


def _is_told_pain(word: SignWord) -> bool:
    return any(
        each.startswith("pain_") or each.endswith("_pain") or each == "antalgic_gait" for each in word.to
    )


def _as_told(item: Item) -> Item:
    """Return a sign that lasts "for three days" as what the patient tells of it."""
    if item.sign is None or not item.sign.told:
        return item
    return replace(item, value=replace(item.sign, to=(item.sign.told,), told="", at={}))


def _is_injury(item: Item) -> bool:
    if item.tag is Tag.PERSON:
        return item.value[0] in {"mechanism", "complaint"}
    return item.sign is not None and bool(_INJURIES.intersection(item.sign.to))


def _take(person: Person, fact: str, value: object) -> bool:
    if fact == "age_years" and isinstance(value, float) and value <= _OLDEST_YEARS:
        person.patient = replace(person.patient, age_years=value)
    elif fact == "sex":
        person.patient = replace(person.patient, sex=Sex(str(value)))
    elif fact == "mechanism":
        person.context = replace(person.context, mechanism=Mechanism(str(value)))
    elif fact == "setting":
        person.context = replace(person.context, setting=Setting(str(value)))
    elif fact == "onset_days" and isinstance(value, float):
        person.context = replace(person.context, onset_days=value)
    elif fact == "yesterday":
        person.context = replace(person.context, onset_days=float(str(value)))
    else:
        return fact in {"complaint", OCCASION}
    return True


def _knees_in_pain(items: Sequence[Item], place: int) -> tuple[Side, ...]:
    """Return the knees of "left knee pain", "knee pain on the right" or, opening the sentence, "pain R"."""
    item, before = items[place], items[place - 1] if place else None
    denied = any(each.is_mark("no", "denies") for each in items[max(0, place - _BESIDE) : place])
    if item.tag is not Tag.REASON or item.value != "pain" or denied:
        return ()
    if before is None or before.is_break("."):
        return _side_near(items[: place + 1 + _NEXT_TO], place, forward=True, alone=True)
    if not before.is_mark("knee"):
        return ()
    if place > 1 and items[place - 2].tag is Tag.SIDE:
        return _side_near(items, place, forward=False)
    return _side_near(items[: place + 1 + _NEXT_TO], place, forward=True, alone=True)


def _side_near(items: Sequence[Item], place: int, *, forward: bool, alone: bool = False) -> tuple[Side, ...]:
    """Return the knees named near an item; a side behind it needs its "knee", unless it may stand alone."""
    around = items[place + 1 : place + 1 + _BESIDE] if forward else items[max(0, place - _BESIDE) : place]
    for at, item in enumerate(around):
        if item.is_break("."):
            break
        knee = at + 1 < len(around) and around[at + 1].is_mark("knee")
        if item.tag is Tag.SIDE and (knee or alone or not forward) and item.value in {*Side, "both"}:
            return tuple(Side) if item.value == "both" else (Side(item.value),)
    return ()
