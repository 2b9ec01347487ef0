"""Which name in a file stands for what: laboratories name markers as they like, so the caller says."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from fabella.errors import InputError, Problems, suggestion

_SIDED = ("heel", "toe", "hip", "knee", "ankle")
MARKERS = ("sacrum", *(f"{side}_{each}" for side in ("right", "left") for each in _SIDED))
"""What markers may stand for: the hip is over the trochanter, the knee and ankle over their outer side."""
NEEDED_MARKERS = ("sacrum", "right_heel", "left_heel")
KNEE_ANGLES = ("right_knee_deg", "left_knee_deg")
COLUMNS = ("time_s", "frame", "foot", "event", *KNEE_ANGLES)
ROLES = (*COLUMNS, *MARKERS)
_LISTED = 60


def chosen(
    names: Mapping[str, str],
    *,
    allowed: Sequence[str],
    needed: Iterable[str],
    there: Sequence[str],
    what: str,
) -> Mapping[str, str]:
    """Return the name in the file of each role that is there; a role without a name given bears its own.

    Raises
    ------
    InputError
        Listing each unknown role, each name that is not in the file or more than once, each needed role
        without a name, and the names that the file has.
    """
    folded = {each.casefold(): each for each in there}
    often = Counter(map(str.casefold, there))
    problems = Problems()
    for role in names:
        if role not in ROLES:
            problems.add(role, "", "is nothing that can be named here", suggestion(role, allowed))
    found = {}
    for role in allowed:
        name = names.get(role, role)
        if there.count(name) == 1:
            found[role] = name
        elif often[name.casefold()] > 1:
            problems.add(role, name, f"is the name of more than one {what}", "give each a name of its own")
        elif name.casefold() in folded:
            found[role] = folded[name.casefold()]
        elif role in names:
            problems.add(role, name, f"is no {what} of this file", suggestion(name, there))
    told = {each.place for each in problems}
    missing = [role for role in needed if role not in found and role not in names and role not in told]
    if missing:
        problems.add(
            ", ".join(missing),
            "",
            "is not named" if len(missing) == 1 else "are not named",
            f"say which {what} each is, such as {missing[0]}=NAME",
        )
    if problems:
        more = f" and {len(there) - _LISTED} more" if len(there) > _LISTED else ""
        listed = ", ".join(there[:_LISTED]) or "none"
        problems.add("the file", "", f"has: {listed}{more}", "")
        raise InputError(problems)
    return found
