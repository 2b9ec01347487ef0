"""Why a conclusion is what it is: what speaks for and against each lesion, and what that rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import NamedTuple, overload

import numpy as np
from numpy.typing import NDArray

from fabella.infer.by_age import reach_at, years_alike
from fabella.infer.context import Setting
from fabella.infer.evidence_of import ImageRead, KneeEvidence
from fabella.infer.model import Model
from fabella.infer.result import Grounding, Reason

Floats = NDArray[np.float64]

WORTH_SAYING_BITS = 0.1
EQUAL_DECIMALS = 9
"""Numbers equal to so many decimals keep the order of the tables: no machine's last bit orders them."""
BROUGHT, BROUGHT_TIMES = 0.4, 2.0
"""How often a knee with one lesion shows what it brings, and how many times as often as a knee with nothing
listed (judgement)."""
HARDLY_TIMES = 1.5
"""How many times as often as a knee with nothing listed one with a lesion must show what is told for it
(judgement)."""
KINDS = ("published", "derived", "judgement")

Link = tuple[Grounding, tuple[str, ...]]
"""What the link between a sign and a lesion rests on, with its sources."""


_Rests = tuple[tuple[Link, ...], Floats]
"""One link a quantity, and of each the shares (quantities, `KINDS`)."""


class Told(NamedTuple):
    """One finding: its sign, whether it was abnormal, and one link a quantity; or one image.

    What an image says of a lesion is abnormal where it speaks for it.
    """

    sign: str
    abnormal: bool
    links: tuple[Link, ...]
    image: bool = False


@dataclass(frozen=True, eq=False)
class Weighed:
    """What every finding of one knee weighs for every quantity, and what that rests on.

    ``weights`` (findings, quantities) are those of `finding_weights`, in bits; ``shares`` are (findings,
    quantities, `KINDS`). ``brought``
    (findings, quantities) says where a finding is abnormal that the quantity brings by itself, ``foreign``
    where it is abnormal and the quantity hardly brings it oftener than nothing listed.
    """

    weights: Floats
    findings: tuple[Told, ...]
    shares: Floats
    brought: NDArray[np.bool_]
    foreign: NDArray[np.bool_]

    @cached_property
    def ranked(self) -> NDArray[np.intp]:
        """The findings of each quantity, the weightiest first, (findings, quantities)."""
        return np.argsort(-np.round(np.abs(self.weights), EQUAL_DECIMALS), axis=0, kind="stable")

    def grounding(self) -> list[Grounding]:
        """Return of each quantity what all that is worth saying rests on."""
        size = np.abs(self.weights)
        size[size < WORTH_SAYING_BITS] = 0.0
        whole = np.maximum(size.sum(axis=0), WORTH_SAYING_BITS)
        shares = np.einsum("fq,fqk->qk", size, self.shares) / whole[:, None]
        return [Grounding(**dict(zip(KINDS, share, strict=True))) for share in shares.tolist()]

    def reasons(self, quantity: int, *, speaking_for: bool) -> tuple[Reason, ...]:
        """Return what speaks for one quantity, or against it, as far as it is worth saying."""
        weights = self.weights[:, quantity].tolist()
        return tuple(
            Reason(
                told.sign,
                speaking_for if told.image else told.abnormal,
                weights[i],
                sources,
                grounding,
                brought=bool(self.brought[i, quantity]),
                foreign=bool(self.foreign[i, quantity]),
                image=told.image,
            )
            for i in self.ranked[:, quantity].tolist()
            if abs(weights[i]) >= WORTH_SAYING_BITS and (weights[i] > 0) is speaking_for
            for told in (self.findings[i],)
            for grounding, sources in (told.links[quantity],)
        )


class Reasons(Sequence[Reason]):
    """What speaks for one quantity, or against it; put together when first asked for, as few are."""

    def __init__(self, weighed: Weighed, quantity: int, *, speaking_for: bool) -> None:
        self._weighed = weighed
        self._quantity = quantity
        self._speaking_for = speaking_for

    @cached_property
    def _told(self) -> tuple[Reason, ...]:
        return self._weighed.reasons(self._quantity, speaking_for=self._speaking_for)

    @overload
    def __getitem__(self, index: int) -> Reason: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Reason, ...]: ...
    def __getitem__(self, index: int | slice) -> Reason | tuple[Reason, ...]:
        return self._told[index]

    def __len__(self) -> int:
        return len(self._told)

    def __iter__(self) -> Iterator[Reason]:
        return iter(self._told)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._told == tuple(other)

    def __hash__(self) -> int:
        return hash(self._told)


def weighed(model: Model, evidence: KneeEvidence, weights: Floats) -> Weighed:
    """Return the weights of `finding_weights` with what they rest on; aspects of one finding add up."""
    setting, acuity = evidence.setting.setting, evidence.setting.acuity
    parts: dict[str, list[int]] = {}
    for i, each in enumerate(evidence.observations):
        parts.setdefault(each.recorded, []).append(i)
    years = years_alike(model.knowledge, evidence.setting.age_years, model.knowledge.manifestations)
    rests = [_rests(model, setting, acuity, years, sign) for sign in parts]
    shares = [share for _, share in rests]
    observed = len(evidence.observations)
    if len(parts) < observed:
        weights = np.stack([*(weights[own].sum(axis=0) for own in parts.values()), *weights[observed:]])
    abnormal = [any(evidence.observations[i].abnormal for i in own) for own in parts.values()]
    brought, foreign = np.zeros((2, *weights.shape), dtype=bool)
    anywhere = model.circumstances(replace(evidence.setting, setting=None))
    for i, (sign, is_abnormal) in enumerate(zip(parts, abnormal, strict=True)):
        if is_abnormal:
            brought[i] = _brings(model, anywhere, sign, often=BROUGHT, times=BROUGHT_TIMES)
            foreign[i] = ~_brings(model, anywhere, sign, often=0.0, times=HARDLY_TIMES)
    seen = [_shown(model, read) for read in evidence.images]
    for i, (_, shown, missed) in enumerate(seen, start=len(parts)):
        brought[i], foreign[i] = ~missed, ~shown
    told = [
        Told(sign, is_abnormal, links)
        for sign, is_abnormal, (links, _) in zip(parts, abnormal, rests, strict=True)
    ]
    told += [
        Told(read.image, abnormal=False, links=links, image=True)
        for read, ((links, _), *_) in zip(evidence.images, seen, strict=True)
    ]
    shares += [share for (_, share), *_ in seen]
    return Weighed(
        weights=weights,
        findings=tuple(told),
        shares=np.stack(shares) if shares else np.zeros((*weights.shape, len(KINDS))),
        brought=brought,
        foreign=foreign,
    )


def _shown(model: Model, read: ImageRead) -> tuple[_Rests, NDArray[np.bool_], NDArray[np.bool_]]:
    """Return what an image rests on, and which quantities (quantities,) it shows, and which it does not."""
    can = model.images.shown_by(read.image)
    nothing = Grounding(published=0.0, derived=0.0, judgement=0.0), ()
    by_lesion = {row.lesion: (Grounding(**_shares([row.provenance])), (row.source,)) for row in can.values()}
    links = tuple(by_lesion.get(lesion, nothing) for lesion, _ in model.quantities)
    shown = np.array([lesion in can and lesion in read.shows for lesion, _ in model.quantities])
    missed = np.array([lesion in can and lesion not in read.shows for lesion, _ in model.quantities])
    return (links, _by_kind(links)), shown, missed


@lru_cache(maxsize=2048)
def _brings(model: Model, setting: Setting, sign: str, *, often: float, times: float) -> NDArray[np.bool_]:
    """Say of each quantity (quantities,) whether it alone brings a sign so often (0..1).

    And so many times as often as a knee with nothing listed.
    """
    called, alone = model.called(sign, setting), model.states.alone()
    brings = alone[called[alone] >= max(often, times * called[0])]
    return np.asarray(model.membership[brings].any(axis=0))


@lru_cache(maxsize=2048)
def _rests(model: Model, setting: str | None, acuity: str | None, years: float | None, sign: str) -> _Rests:
    """Return what the links of a sign to each quantity rest on, and of each the shares (quantities, `KINDS`).

    Half is the sign's accuracy, half the lesion's reach.
    """
    used = model.signs(setting)[sign]
    reach = {**model.network(acuity).reach, **reach_at(model.knowledge, years)}
    shows = [name for name, _ in used.indicator.manifestations]

    def link(lesion: str) -> Link:
        links = [reach[name, lesion] for name in shows if (name, lesion) in reach]
        rests = [(used.provenance, used.source), *links[:1]]
        kinds = [provenance for provenance, _ in rests]
        return Grounding(**_shares(kinds)), tuple(dict.fromkeys(source for _, source in rests))

    by_lesion = {lesion: link(lesion) for lesion in model.states.lesions}
    links = tuple(by_lesion[lesion] for lesion, _ in model.quantities)
    return links, _by_kind(links)


def _shares(kinds: Sequence[str]) -> dict[str, float]:
    return {kind: kinds.count(kind) / len(kinds) for kind in KINDS}


def _by_kind(links: tuple[Link, ...]) -> Floats:
    return np.array([[getattr(rests, kind) for kind in KINDS] for rests, _ in links])
