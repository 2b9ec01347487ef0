"""Whether examiners can be compared at all: the links of a many-facet design.

Two examiners can be compared when the marks determine the difference of their severities. With three facets
it is not enough that candidates, stations and examiners hang together as a graph: in parallel circuits with a
staff each, all circuits share their stations, yet the staff of a circuit may be made severer by any amount if
its candidates are made abler by the same. So the rank of the design is asked, not the graph: parameters that
can be moved without changing any expected mark span the null space of X'X, and levels of a facet that such
a movement moves apart cannot be compared.

Source: estimability of differences in a linear model, Searle 1971 Linear Models, section 5.4; connectedness
of several facets, Weeks and Williams 1964 Technometrics 6:319 (both from memory).
"""

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from fabella.assess.facets_ratings import Ratings
from fabella.assess.gstudy_design import Array, Codes
from fabella.errors import Problems

_NULL = 1e-9  # relative size of an eigenvalue that is 0
_APART = 1e-6  # movement that parts two levels
_LISTED = 6
_BY_LOT = (
    "its candidates abler",
    "next time let some candidates be marked by two groups; if candidates were allotted at random, say so",
)
_TOGETHER = ("what they marked easier", "let levels of two groups be marked together")


def linked_groups(data: Ratings, columns: Array, *, alike: bool) -> dict[str, Codes]:
    """Return for each facet the group of every level: levels of one group can be compared.

    Parameters
    ----------
    data
        The observations.
    columns
        Contrasts allowed, from `contrasts`; the thresholds' play no part.
    alike
        True when candidates are taken as drawn alike whoever marks them, so that they need not be compared
        through common marks.
    """
    offsets = data.offsets
    m = offsets[-1]
    cross = np.zeros((m, m))
    for i, one in enumerate(data.codes):
        for j, other in enumerate(data.codes):
            count = np.bincount(one * data.levels[j] + other, minlength=data.levels[i] * data.levels[j])
            cross[offsets[i] : offsets[i + 1], offsets[j] : offsets[j + 1]] = count.reshape(
                data.levels[i], -1
            )
    meets = _meetings(data)
    if alike:
        share = meets.sum(axis=0)
        cross -= np.outer(share, share) / len(data.category)
    else:
        size = np.maximum(meets[:, : data.levels[0]].sum(axis=1), 1)
        cross -= meets.T @ (meets / size[:, None])
    inside = columns[:m, np.abs(columns[:m]).sum(axis=0) > 0]
    values, vectors = np.linalg.eigh(inside.T @ cross @ inside)
    free = inside @ vectors[:, values < _NULL * max(values.max(initial=0.0), 1.0)]
    groups = {}
    for name, start, stop in zip(data.facets, offsets, offsets[1:], strict=False):
        rounded = np.round(free[start:stop] / _APART)
        groups[name] = (
            np.unique(rounded, axis=0, return_inverse=True)[1].ravel()
            if free.size
            else np.zeros(stop - start, dtype=np.intp)
        )
    return groups


def _meetings(data: Ratings) -> Array:
    """Return how often each candidate met each level, shape (candidates, levels of all facets)."""
    parts = [
        np.bincount(data.candidate * n + code, minlength=data.n_candidates * n).reshape(-1, n)
        for code, n in zip(data.codes, data.levels, strict=True)
    ]
    return np.concatenate(parts, axis=1).astype(np.float64)


def sharing_groups(candidate: Codes, level: Codes) -> Codes:
    """Return the group of every level: two groups share no candidates, directly or through others."""
    people, levels = int(candidate.max()) + 1, int(level.max()) + 1
    met = coo_array((np.ones(len(level)), (candidate, people + level)), shape=(people + levels,) * 2)
    labels = connected_components(met, directed=False)[1][people:]
    return np.unique(labels, return_inverse=True)[1].ravel()


def check_linked(
    data: Ratings, groups: Mapping[str, Codes], names: Mapping[str, Sequence[str]], *, alike: bool
) -> None:
    """Raise one `InputError` that names the groups of levels which cannot be compared with each other.

    What is commonly wanting comes first: the last facet, whose groups move those of the others along. Where
    groups share no candidates, those are named, for that is what can be mended.
    """
    other, remedy = _TOGETHER if alike else _BY_LOT
    problems = Problems()
    for facet, code in reversed(tuple(zip(data.facets, data.codes, strict=True))):
        group, why = groups[facet], ""
        if not group.any():
            continue
        if not alike and (shared := sharing_groups(data.candidate, code)).any():
            group, why = shared, "share no candidates, directly or through others, and "
        says = (
            f"are {int(group.max()) + 1} groups that {why}cannot be compared: if one were harder and {other} "
            "by as much, every mark would be as likely"
        )
        value = grouped_names(group, names.get(facet) or [str(level) for level in range(len(group))])
        problems.add(f"{facet}s", value, says, remedy)
    problems.raise_any()


def grouped_names(group: Codes, names: Sequence[str]) -> str:
    """Return the names of levels by their groups, such as ``Ann, Ben | Cyd``; of many the first few."""
    found: dict[int, list[str]] = {}
    for name, of in zip(names, group.tolist(), strict=True):
        found.setdefault(of, []).append(name)
    parts, listed = len(found), list(found.values())
    more = f" | {parts - _LISTED} more groups" if parts > _LISTED else ""
    return " | ".join(_short(part) for part in listed[:_LISTED]) + more


def _short(part: Sequence[str]) -> str:
    more = f" and {len(part) - _LISTED} more" if len(part) > _LISTED else ""
    return ", ".join(part[:_LISTED]) + more
