"""The whole examination: every sign in order, and the questions other rooms ask about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from difflib import get_close_matches

from fabella.anatomy import Structure
from fabella.errors import InputError, suggestion
from fabella.protocol.signs import Contraindication, Kind, Position, Sign

_LIST = "'fabella protocol' lists every sign"
_NEAREST = 3  # names offered in place of an unknown one


@dataclass(frozen=True, slots=True, kw_only=True)
class Protocol:
    """Every sign, position and contraindication; ``signs`` stand in the order of the examination."""

    signs: tuple[Sign, ...]
    positions: tuple[Position, ...]
    contraindications: tuple[Contraindication, ...]
    _by_id: dict[str, Sign] = field(init=False, repr=False, compare=False)
    _by_name: dict[str, str] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        names = {folded(each): sign.id for sign in self.signs for each in (sign.id, sign.name, *sign.aliases)}
        object.__setattr__(self, "_by_id", {sign.id: sign for sign in self.signs})
        object.__setattr__(self, "_by_name", names)

    def __contains__(self, sign_id: object) -> bool:
        """Say whether a sign of that id exists."""
        return sign_id in self._by_id

    def sign(self, sign_id: str) -> Sign:
        """Return the sign called ``sign_id``; raise `InputError` with the nearest names if there is none."""
        if sign_id in self._by_id:
            return self._by_id[sign_id]
        remedy = f"did you mean {' or '.join(near)}?" if (near := self.nearest(sign_id)) else _LIST
        raise InputError.of(place="sign", value=sign_id, says="is not in the examination", remedy=remedy)

    def name_of(self, sign_id: str) -> str:
        """Return the name of a sign; for one that is not in the examination, its id in words."""
        return self._by_id[sign_id].name if sign_id in self._by_id else sign_id.replace("_", " ")

    def nearest(self, name: str) -> tuple[str, ...]:
        """Return up to three ids whose id, name or alias is close to ``name``, one if it is equal."""
        wanted = folded(name)
        if wanted in self._by_name:
            return (self._by_name[wanted],)
        close = get_close_matches(wanted, self._by_name, n=4 * _NEAREST)
        return tuple(dict.fromkeys(self._by_name[each] for each in close))[:_NEAREST]

    def position(self, position_id: str) -> Position:
        """Return the position called ``position_id``; raise `InputError` when there is none."""
        for position in self.positions:
            if position.id == position_id:
                return position
        remedy = suggestion(position_id, [position.id for position in self.positions])
        says = "is no position of the examination"
        raise InputError.of(place="position", value=position_id, says=says, remedy=remedy)

    def sequence(self, *, routine_only: bool = False) -> tuple[Sign, ...]:
        """Return the signs in the order in which a careful examiner does them, summaries left out."""
        return tuple(sign for sign in self.signs if sign.seconds and (sign.routine or not routine_only))

    def at(self, position_id: str) -> tuple[Sign, ...]:
        """Return the signs of one position, in order; raise `InputError` when there is no such position."""
        position = self.position(position_id)
        return tuple(sign for sign in self.signs if sign.position == position.id)

    def about(self, structure: Structure) -> tuple[Sign, ...]:
        """Return the signs that speak about a structure, in order."""
        return tuple(sign for sign in self.signs if structure in sign.structures)

    def history(self) -> tuple[Sign, ...]:
        """Return the questions whose answers are findings, in order."""
        return tuple(sign for sign in self.signs if sign.kind is Kind.HISTORY)

    def seconds(self, sign_ids: Iterable[str]) -> int:
        """Return the time that these signs take on both knees, each position taken up once.

        Raises `InputError` when one of them is not in the examination.
        """
        signs = [self.sign(sign_id) for sign_id in dict.fromkeys(sign_ids)]
        positions = {sign.position for sign in signs if sign.seconds}
        moving = sum(position.seconds for position in self.positions if position.id in positions)
        return moving + sum(sign.seconds_in_all for sign in signs)


def folded(name: str) -> str:
    """Return a name as it is compared: without case, hyphens and underscores."""
    return " ".join(name.casefold().replace("_", " ").replace("-", " ").split())
