"""Which design an exam has, read off its data: what nests, what crosses, what cannot be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fabella.assess.gstudy_anova import Anova, anova
from fabella.assess.gstudy_blocks import within
from fabella.assess.gstudy_design import Array, Codes, Design, Effect, cells, check_lengths, coded
from fabella.assess.gstudy_profile import expected_counts
from fabella.assess.gstudy_reml import MixedModel, reml
from fabella.errors import InputError

_SHARED = 0.5  # of observations, at least, must share a cell with another for an effect to be estimated
_SINGULAR = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Detected:
    """What the data say about the design of an exam.

    Parameters
    ----------
    design
        Facets kept, and what each is nested in.
    terms
        Random effects that can be estimated; all else is in the residual.
    joined
        For each facet or effect that is not estimated by itself, a pair: its name, and why.
    """

    design: Design
    terms: tuple[Effect, ...]
    joined: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GStudy:
    """The generalizability study of an exam.

    Parameters
    ----------
    detected
        The design found.
    model
        The REML fit.
    balanced
        The analysis of variance; None when the data are not balanced.
    """

    detected: Detected
    model: MixedModel
    balanced: Anova | None


def g_study(score: ArrayLike, codes: Mapping[str, ArrayLike]) -> GStudy:
    """Return the variance components of an exam after finding out its design.

    Parameters
    ----------
    score
        One score an observation [mark], shape (n,); missing ones are left out.
    codes
        Facets by name, the candidates first, and for each the codes of its levels, shape (n,). Levels are
        numbered throughout: examiner 3 is one person wherever they sit.

    Raises
    ------
    InputError
        When scores or codes are unusable, or no effect can be estimated.
    """
    found = detect(codes)
    kept = {name: codes[name] for name in found.design.facets}
    try:
        table = anova(score, kept, design=found.design)
    except InputError:
        table = None
    model = reml(score, kept, design=found.design, terms=found.terms)
    return GStudy(detected=found, model=model, balanced=table)


def detect(codes: Mapping[str, ArrayLike]) -> Detected:
    """Return the design that codes of facets follow; parameters as in `g_study`."""
    facets = {name: coded(code) for name, code in codes.items()}
    n = len(next(iter(facets.values())))
    check_lengths(np.zeros(n), facets)
    joined: list[tuple[str, str]] = []
    kept = _distinct(facets, joined)
    names = tuple(kept)
    nests = tuple(tuple(o for o in names if o != name and within(kept[name], kept[o])) for name in names)
    design = Design(facets=names, nests=nests)
    terms: list[Effect] = []
    for effect in design.effects:
        reason = _why_not(cells(kept, effect), {design.name(t): cells(kept, t) for t in terms})
        if reason:
            joined.append((design.name(effect), reason))
        else:
            terms.append(effect)
    while len(terms) > 1 and not _separable([cells(kept, term) for term in terms]):
        joined.append((design.name(terms[-1]), "cannot be told apart from the other effects"))
        del terms[-1]
    return Detected(design=design, terms=tuple(terms), joined=tuple(joined))


def _distinct(facets: Mapping[str, Codes], joined: list[tuple[str, str]]) -> dict[str, Codes]:
    """Return the facets that are neither constant nor another name for others."""
    kept: dict[str, Codes] = {}
    for name, code in facets.items():
        if code.max() == 0:
            joined.append((name, "has one level"))
        elif same := _other_name(code, kept):
            joined.append((name, f"coincides with {same}"))
        else:
            kept[name] = code
    # A facet may also be what two later ones make together: one examiner for each station of each circuit.
    for name in list(kept):
        others = {other: code for other, code in kept.items() if other != name}
        pair = next((p for p in _pairs(others) if _same(kept[name], cells(others, p))), None)
        if pair and not any(_same(kept[name], code) for code in others.values()):
            joined.append((name, f"coincides with {'*'.join(pair)}"))
            del kept[name]
    return kept


def _other_name(code: Codes, kept: Mapping[str, Codes]) -> str | None:
    return next((name for name, other in kept.items() if _same(code, other)), None)


def _pairs(facets: Mapping[str, Codes]) -> Sequence[Effect]:
    names = list(facets)
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]]
    return [p for p in pairs if not any(within(facets[x], facets[y]) for x, y in (p, p[::-1]))]


def _same(one: Codes, other: Codes) -> bool:
    return within(one, other) and within(other, one)


def _why_not(cell: Codes, terms: Mapping[str, Codes]) -> str:
    size = np.bincount(cell)
    if size.max() == 1:
        return "is the residual: one observation in each of its cells"
    if float(size[size > 1].sum()) < _SHARED * len(cell):
        return "is part of the residual: too few of its cells hold several observations"
    same = _other_name(cell, terms)
    return f"coincides with {same}" if same else ""


def _separable(terms: list[Codes]) -> bool:
    matrix: Array = expected_counts(np.zeros(len(terms[0])), terms)[0]
    size = np.linalg.svd(matrix / np.abs(matrix).max(axis=0), compute_uv=False)
    return bool(size[-1] > _SINGULAR * size[0])
