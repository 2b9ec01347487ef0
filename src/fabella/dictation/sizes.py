"""The size of something, as it is measured: "6 by 4 by 3 cm" is one reading, the greatest."""

from __future__ import annotations

from fabella.dictation.ages import Ages
from fabella.dictation.items import Item, Quantity
from fabella.dictation.vocabulary import Tag

_BY = {"x", "×", "by"}
_LENGTHS = {"cm", "mm"}
_TWO = 2


class Sizes(Ages):
    """Reads diameters that stand together in one text."""

    def _size(self, place: int) -> Item | None:
        """Return the greatest of two or more diameters with their one unit, or None."""
        values: list[float] = []
        units: set[str] = set()
        end = place
        while (found := self._plain(end)) is not None:
            unit, end = self._unit(found[1])
            values.append(found[0])
            units |= {unit} - {""}
            if self._text(end) not in _BY or self._plain(end + 1) is None:
                break
            end += 1
        if len(values) < _TWO or len(units) != 1 or not units <= _LENGTHS:
            return None
        size = Quantity(value=max(values), unit=units.pop(), diameters=len(values))
        return self._item(Tag.NUMBER, size, place, end)
