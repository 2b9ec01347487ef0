"""Numbers in their company: grades, readings with a unit, ranges, bends of the knee, landmarks."""

from __future__ import annotations

from fabella.dictation.grades import Grades
from fabella.dictation.items import Item, Quantity, Stretch
from fabella.dictation.numbers import number_at
from fabella.dictation.vocabulary import Tag

_TO = {"to", "through", "until", "till", "-", "→"}
_ABOUT = {"about", "around", "roughly"}
_BEYOND = {"hyperextension", "recurvatum", "hyper", "hyperext"}
_RANGES = {"range", "rom", "arom", "prom", "movement", "motion", "moves"}
_BENDS_DEG = (0, 5, 15, 20, 25, 30, 45, 60, 70, 80, 90)
_BOWS = {"varus", "valgus"}
_OPENS = {"mm", "opens", "opening", "gaps", "lax", "laxity", "stress"}
_TESTED_AT = {0, 20, 25, 30}
_NEAR = 6
_THREE = 3
_OUT_OF = {2, 4, 5, 9, 10}
_POWERS = 5
_DIVIDED = 4


class Numbers(Grades):
    """Reads the numbers of one text; each method returns an item that begins at a word, or None."""

    def at(self, place: int) -> Item | None:
        """Return the longest thing that a number at this word belongs to."""
        of_the_person = (self._age, self._sex, self._department, self._today, self._ago, self._within)
        of_the_knee = (
            self._size,
            self._power,
            self._stretch,
            self._angle,
            self._grade,
            self._landmark,
            self._reading,
        )
        readers = (*of_the_person, *of_the_knee)
        return next((item for read in readers if (item := read(place)) is not None), None)

    def _stretch(self, place: int) -> Item | None:
        if (doubtful := self._minus_and_zero(place)) is not None:
            return doubtful
        low = self._straight(place) or self._signed(place)
        if low is None:
            return None
        first, end = low
        if (zeros := self._neutral_zero(place)) is not None:
            return zeros
        unit, after = self._unit(end)
        beyond, short = self._beyond(after), self._short(after)
        after = beyond or short or after
        if self._text(after) not in _TO and not self._parts_range(place, after):
            return None
        after += self._text(after + 1) in _ABOUT
        high = number_at(self.words, after + 1) if after + 1 < len(self.words) else None
        if high is None:
            return None
        second, stop = high
        if second == 0 and self._straight(place):
            return None
        last_unit, stop = self._unit(stop)
        stop += 2 * ([self._text(stop), self._text(stop + 1)] == ["of", "flexion"])
        minus = first < 0 and beyond is None
        low_deg = -abs(first) if beyond is not None else first
        value = Stretch(low=low_deg, high=second, unit=last_unit or unit, minus=minus)
        return self._item(Tag.RANGE, value, place, stop)

    def _parts_range(self, place: int, slash: int) -> bool:
        """Say whether a slash parts the ends of a range that was announced: "ROM 10/80"."""
        announced = any(self._text(place - step) in _RANGES for step in range(1, _THREE + 1))
        return announced and self._text(slash) == "/" and self._glued(slash) and self._glued(slash + 1)

    def _neutral_zero(self, place: int) -> Item | None:
        """Return a range by the neutral-zero method: "5-0-140" begins beyond straight, "0-5-110" short.

        Dictated without a mark, "0 5 140", the three numbers stand alone (common practice).
        """
        values: list[float] = []
        end, mark = place, ""
        while (found := self._plain(end)) is not None:
            values.append(found[0])
            end = found[1]
            if len(values) == 1 and self._text(end) in {"-", "/"}:
                mark = self._text(end)
            if len(values) == _THREE or (mark and self._text(end) != mark):
                break
            end += bool(mark)
        if len(values) != _THREE or 0 not in values[:2] or not max(values[:2]) < values[2]:
            return None
        unit, end = self._unit(end)
        low = -values[0] if values[1] == 0 else values[1]
        return self._item(Tag.RANGE, Stretch(low=low, high=values[2], unit=unit or "deg"), place, end)

    def _minus_and_zero(self, place: int) -> Item | None:
        """Return "(-5)-0-130" or "-5-0-130" as a range that begins with a minus, for either way."""
        bracket = self._text(place) in {"(", "["}
        at = place + bracket
        first = self._plain(at + 1) if self._text(at) in {"-", "minus"} else None
        if first is None or (bracket and self._text(first[1]) not in {")", "]"}):
            return None
        end = first[1] + bracket
        marks, zero = (self._text(end), self._text(end + 2)), self._plain(end + 1)
        last = self._plain(end + 3)
        if not set(marks) <= {"-", "/"} or zero is None or zero[0] or last is None or last[0] <= first[0]:
            return None
        unit, stop = self._unit(last[1])
        value = Stretch(low=-first[0], high=last[0], unit=unit or "deg", minus=True)
        return self._item(Tag.RANGE, value, place, stop)

    def _straight(self, place: int) -> tuple[float, int] | None:
        """Return nought for "full extension", where a range begins with it."""
        full = (self._text(place), self._text(place + 1)) == ("full", "extension")
        if full and self._text(place + 2) in _TO:
            return 0.0, place + 2
        return (0.0, place + 1) if self._text(place) == "straight" and self._text(place + 1) in _TO else None

    def _beyond(self, place: int) -> int | None:
        """Return the place after "of hyperextension", or None."""
        after = place + 1 if self._text(place) == "of" else place
        return after + 1 if self._text(after) in _BEYOND else None

    def _short(self, place: int) -> int | None:
        """Return the place after "short of full extension", or None."""
        at = place + 2
        if [self._text(place), self._text(place + 1)] != ["short", "of"]:
            return None
        at += self._text(at) == "full"
        return at + 1 if self._text(at) in {"extension", "straight"} else None

    def _angle(self, place: int) -> Item | None:
        start = place
        bent = self._with_knee_bent(place)
        if bent:
            place = bent
        elif self._text(place) in {"at", "in", "@"} or (
            self._text(place) == "/" and self._is_degrees(place + 1)
        ):
            place += 1
        elif self._text(place) != "0" or not self._joins_bends(place + 1):
            return None  # "0/30" and "0 and 30" need no "at"
        if self._text(place) in {"both", "about", "around"}:
            place += 1
        bends: list[float] = []
        while (found := self._bend(place)) is not None:
            bend, end = found
            bends.append(bend)
            joined = self._text(end) in {"and", "&", "/", "or", ","} and self._goes_on_to_bend(end + 1)
            place = end + 1 if joined else end
            if not joined:
                return self._item(Tag.ANGLE, tuple(bends), start, place)
        return None

    def _goes_on_to_bend(self, place: int) -> bool:
        """Say whether another bend follows, and not the result of one: "1+ at 30, 0 at 0"."""
        following = self._bend(place)
        return following is not None and self._text(following[1]) not in {"at", "in", "@"}

    def _joins_bends(self, place: int) -> bool:
        bend = self._bend(place + 1) if self._text(place) == "/" and self._glued(place) else None
        return (bend is not None and bend[0] > _POWERS) or (
            self._text(place) in {"and", "&"} and self._text(place + 1) == "30"
        )

    def _with_knee_bent(self, place: int) -> int:
        """Return the place after "with the knee flexed to", or 0."""
        if self._text(place) not in {"with", "when"}:
            return 0
        at = place + 1
        while self._text(at) in {"the", "his", "her", "knee", "leg"}:
            at += 1
        if self._text(at) not in {"flexed", "bent"}:
            return 0
        return at + 1 + (self._text(at + 1) in {"to", "at", "by"})

    def _bend(self, place: int) -> tuple[float, int] | None:
        found = self._plain(place)
        if found is None:
            return None
        value, end = found
        if self._text(end) in _TO and (upper := self._plain(end + 1)) and upper[0] in _BENDS_DEG:
            value, end = upper
        unit, end = self._unit(end)
        if value not in _BENDS_DEG or unit not in {"", "deg"}:
            return None
        if self._text(end) in {"+", "plus"}:
            return None
        after = end + 1 if self._text(end) == "of" else end
        tested = value in _TESTED_AT and any(self._text(place - step) in _OPENS for step in range(1, _NEAR))
        if self._text(after) in _BOWS and not tested:
            return None  # "in five degrees of varus" is no bend
        if self._text(after) in _BOWS:
            return value, after
        return value, after + 1 if self._text(after) == "flexion" else end

    def _is_degrees(self, place: int) -> bool:
        found = self._plain(place)
        return found is not None and self._unit(found[1])[0] == "deg"

    def _power(self, place: int) -> Item | None:
        """Return "4-/5" and "4+/5" as grade 4 of power, which alone is divided (MRC 1976, from memory)."""
        found = self._plain(place)
        if found is None or found[0] != _DIVIDED or self._text(found[1]) not in {"-", "+", "plus", "minus"}:
            return None
        at = found[1] + 1
        if self._text(at) == "/" or [self._text(at), self._text(at + 1)] == ["out", "of"]:
            at += 1 + (self._text(at) == "out")
            out_of = self._plain(at)
            if out_of is not None and out_of[0] == _POWERS:
                return self._item(Tag.NUMBER, Quantity(value=found[0], out_of=_POWERS), place, out_of[1])
        return None

    def _reading(self, place: int) -> Item | None:
        found = self._signed(place)
        if found is None:
            return None
        value, end = found
        slash = self._text(end) == "/" and self._glued(end) and self._glued(end + 1)
        out_of = self._plain(end + 1) if slash else None
        if out_of and (self._text(out_of[1]).startswith("+") or self._is_shared_out(place, out_of[1])):
            out_of = None
        if self._text(end) == "out" and self._text(end + 1) == "of":
            out_of = self._plain(end + 2)
        elif self._text(end) == "by" and value <= _POWERS:  # "five by five"
            out_of = self._plain(end + 1)
            out_of = out_of if out_of and out_of[0] == _POWERS else None
        if out_of and out_of[0] in _OUT_OF:
            return self._item(Tag.NUMBER, Quantity(value=value, out_of=int(out_of[0])), place, out_of[1])
        unit, stop = self._unit(end)
        if not unit and self._no_unit(end):
            return self._item(Tag.NO_UNIT, self._text(end), place, end + self._no_unit(end))
        return self._item(Tag.NUMBER, Quantity(value=value, unit=unit), place, stop)
