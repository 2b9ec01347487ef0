"""What can be said of which sign: words, numbers, compartments and directions."""

from __future__ import annotations

from dataclasses import dataclass

from fabella.dictation.items import Quantity
from fabella.dictation.nodes import Mod
from fabella.dictation.outcome import converted
from fabella.dictation.vocabulary import Describing, Lexicon, SignWord, Tag
from fabella.protocol import Protocol

_DEGREE_READERS = {
    "range", "flexion", "extension", "shortfall", "deficit", "hyperextension", "lag", "alignment", "stress",
    "dial",
    "hip_internal", "hip_external",
}  # fmt: skip
_A_BEND_DEG = 45.0
_UNITS = {
    "wasting": {"cm", "mm"}, "stress": {"mm", ""}, "temperature": {"C", "F", "deg", ""}, "dial": {""},
    "range": {"deg", ""}, "glide": {"quadrant"}, "leg_length": {"cm", "mm"}, "shorter": {"cm", "mm"},
    "longer": {"cm", "mm"},
    "hip_internal": {""}, "hip_external": {""},
}  # fmt: skip
_OF_SIGN = {"h": "swelling_noticed", "ml": "haemarthrosis_aspirate"}


@dataclass(frozen=True, slots=True)
class Fit:
    """Says what fits which sign, by the protocol and the lexicon."""

    protocol: Protocol
    lexicon: Lexicon

    def describes(self, said: Describing, word: SignWord) -> bool:
        """Say whether a describing word can be said of a sign."""
        levels = {level.id for sign in word.to for level in self.protocol.sign(sign).scale.levels}
        if said.key in word.words or said.key in levels:
            return True
        if word.reader == "end_point" and said.grade is not None:
            return False
        if said.phrase or (said.fits and word.group not in said.fits):
            return False
        moves = word.group == "motion" or "range_of_motion_limited" in word.to
        if moves and (said.says in {"present", "absent"} or said.key == "increased"):
            return False
        if said.pain:
            return bool(word.pain) or word.group == "motion" or word.name == "tender"
        return bool(said.says or said.degree or said.grade is not None)

    def fits(self, mod: Mod, word: SignWord) -> bool:
        """Say whether a word that says something can say it of a sign."""
        item = mod.item
        if item.tag is Tag.DESCRIBING:
            return self.describes(item.value, word)
        if item.tag in {Tag.NUMBER, Tag.RANGE}:
            return self.measures(mod, word)
        if item.tag is Tag.SITE:
            return False
        return item.tag is not Tag.COMPARTMENT or self.locates(str(item.value), word)

    def belongs(self, mod: Mod, word: SignWord) -> bool:
        """Say whether a number, a bend, a compartment or a direction can belong to a sign."""
        if mod.item.tag in {Tag.NUMBER, Tag.RANGE}:
            return self.measures(mod, word)
        return self.bends(word) if mod.item.tag is Tag.ANGLE else self.locates(str(mod.item.value), word)

    @staticmethod
    def bends(word: SignWord) -> bool:
        """Say whether a sign is tested at a bend of the knee that may be told."""
        return word.bent or word.reader == "held" or word.group in {"ligament", "dial"}

    def grades(self, said: Describing, word: SignWord) -> bool:
        """Say whether a word of degree names a level of the sign."""
        degree = {1: "slight", 2: "moderate", 3: "gross"}.get(said.degree or 0, "")
        for each in word.to:
            names = tuple(level.id for level in self.protocol.sign(each).scale.levels)
            if said.key in names or degree in self.lexicon.scales.get(names, {}):
                return True
        return False

    def measures(self, mod: Mod, word: SignWord) -> bool:
        """Say whether a number can be a reading of a sign."""
        if word.aside or word.reader == "pulse":
            return True
        if mod.item.tag is Tag.RANGE:
            short = mod.item.value.high < _A_BEND_DEG and word.reader in _DEGREE_READERS
            return short or word.reader in {"range", "flexion", "extension"}
        quantity: Quantity = mod.item.value
        if quantity.diameters > 1:
            return False
        if quantity.out_of is not None:
            return word.reader in {"strength", "power", "nerve_power"} or "beighton_score" in word.to
        if quantity.unit == "h" and word.told:
            return True
        if quantity.unit in _UNITS.get(word.reader, ()) or _OF_SIGN.get(quantity.unit, "") in word.to:
            return True
        if quantity.unit in {"deg", ""} and word.reader in _DEGREE_READERS:
            return True
        return any(self._reads(quantity, sign) for sign in (*word.to, *word.normal_to))

    def _reads(self, quantity: Quantity, sign: str) -> bool:
        """Say whether a number is a reading of a sign by its unit, or without one a grade on its scale."""
        scale = self.protocol.sign(sign).scale
        if (
            scale.measure is not None
            and converted(quantity.value, quantity.unit, scale.measure.unit) is not None
        ):
            return True
        names = tuple(level.id for level in scale.levels)
        return not quantity.unit and "2" in self.lexicon.scales.get(names, {})

    @staticmethod
    def locates(compartment: str, word: SignWord) -> bool:
        """Say whether a compartment or a direction can be said of a sign."""
        plain = compartment.removesuffix("ly")
        if plain in word.refine or plain in word.ignores or compartment in word.words:
            return True
        if plain in {"active", "passive"} or compartment in {"actively", "passively"}:
            return word.reader in {"range", "flexion", "extension", "shortfall"}
        if word.reader == "alignment":
            return plain in {"varus", "valgus"}
        if word.reader == "tenderness":
            return plain not in {"varus", "valgus"}
        return word.reader in {"stress", "tracking", "glide"} or (
            word.family == "drawer" and plain in {"anterior", "posterior"}
        )
