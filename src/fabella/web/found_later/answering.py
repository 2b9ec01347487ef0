"""The form about one look into a knee: lesion by lesion, with one touch for the rest of a group."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from fabella.anatomy import Lesion, Lesions
from fabella.errors import Problem
from fabella.hands import ABSENT, PRESENT, Confirmation, Method
from fabella.report.hands_words import METHODS
from fabella.web.forms import Form
from fabella.web.found_later.grouping import Asked, looks_at_all

IS, REST = "is-", "rest-"
"""What the names of the fields begin with: of a lesion, and of what one touch filled in a group."""

_WORDS = {"side": "say which knee", "method": "say how it was looked into", "on": "write the day"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One lesion: what had been told of it, and what can be said of it."""

    lesion: str
    name: str
    told: str
    options: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lesions asked together; ``filled`` are those that one touch stated as absent."""

    id: str
    title: str
    rows: tuple[Row, ...]
    filled: tuple[str, ...]


def groups_of(
    asked: Sequence[Asked], form: Form, *, lesions: Lesions, told: Mapping[str, str]
) -> tuple[Group, ...]:
    """Return the groups as they are shown; ``told`` says of a lesion what had been foretold."""
    return tuple(
        Group(
            id=group.id,
            title=group.title,
            rows=tuple(_row(lesions[each], told.get(each, "")) for each in group.lesions),
            filled=_filled(form.typed, group),
        )
        for group in asked
    )


def _row(lesion: Lesion, told: str) -> Row:
    degrees = [(level.id, level.words) for level in lesion.levels] if lesion.levels[1:] else []
    options = (("", "not looked for"), (ABSENT, "absent"), *degrees, (PRESENT, "present"))
    return Row(lesion=lesion.id, name=lesion.name, told=told, options=options)


def fill_rest(typed: Mapping[str, str], group: Asked) -> tuple[dict[str, str], tuple[Problem, ...]]:
    """Return a form in which every lesion of a group of which nothing was stated is absent.

    What was stated stays. Where the method does not look at all of them, or is not given, nothing is filled
    and the problem says why.
    """
    if problem := _rest_problem(typed, group.id):
        return dict(typed), (problem,)
    fresh = [each for each in group.lesions if not typed.get(IS + each)]
    filled = dict.fromkeys((*_filled(typed, group), *fresh))
    return {**typed, **{IS + each: ABSENT for each in fresh}, REST + group.id: " ".join(filled)}, ()


def empty_rest(typed: Mapping[str, str], group: Asked) -> dict[str, str]:
    """Return a form in which what one touch had filled is not stated again, unless it was changed since."""
    taken = {IS + each: "" for each in _filled(typed, group) if typed.get(IS + each) == ABSENT}
    return {**typed, **taken, REST + group.id: ""}


def stated_in(typed: Mapping[str, str]) -> dict[str, object]:
    """Return what a form states of one look, in the words of the file format; what is empty is left out."""
    found = {name.removeprefix(IS): value for name, value in typed.items() if name.startswith(IS) and value}
    plain = {name: typed.get(name, "").strip() for name in ("side", "on", "method", "by", "note")}
    return {**{name: value for name, value in plain.items() if value}, "found": found}


def rest_problems(typed: Mapping[str, str], asked: Iterable[Asked]) -> tuple[Problem, ...]:
    """Return what is wrong with groups that one touch filled, the method having been changed since."""
    told = (_rest_problem(typed, group.id) for group in asked if _filled(typed, group))
    return tuple(each for each in told if each is not None)


def in_place(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Yield problems under the names of the fields of the form, in its words."""
    for each in problems:
        place = each.place.replace("found.", IS)
        remedy = _WORDS.get(place, each.remedy) if not each.value else each.remedy
        yield Problem(place=place, value=each.value, says=each.says, remedy=remedy)


def as_typed(seen: Confirmation) -> dict[str, str]:
    """Return a form that states what was confirmed."""
    plain = {"side": seen.side.value, "method": seen.method.value, "on": seen.on.isoformat()}
    found = {IS + lesion: stated for lesion, stated in seen.found.items()}
    return {**plain, "by": seen.by or "", "note": seen.note or "", **found}


def is_touched(group: Group, form: Form) -> bool:
    """Say whether anything of a group is stated or wrong, so that it has to be seen."""
    names = [IS + row.lesion for row in group.rows]
    return any(form.value(name) or form.wrong(name) for name in (*names, REST + group.id))


def _filled(typed: Mapping[str, str], group: Asked) -> tuple[str, ...]:
    before = typed.get(REST + group.id, "").split()
    return tuple(each for each in group.lesions if each in before and typed.get(IS + each) == ABSENT)


def _rest_problem(typed: Mapping[str, str], group: str) -> Problem | None:
    method = typed.get("method", "")
    if method not in list(Method):
        says, remedy = "waits for how it was looked into", "choose it above, then touch this again"
    elif not looks_at_all(Method(method), group):
        way = METHODS[Method(method)]
        says = f"cannot be said of these in one touch: {way} does not look at all of them"
        remedy = "state each lesion that it looked for"
    else:
        return None
    return Problem(place=REST + group, value=method, says=says, remedy=remedy)
