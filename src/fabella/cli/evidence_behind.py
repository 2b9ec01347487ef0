"""What stands behind a sign besides its published accuracy: how the model uses it, its norms and errors."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from rich.console import RenderableType
from rich.text import Text

from fabella.anatomy import load_lesions
from fabella.cli.drawing import heading, labelled
from fabella.evidence import Edition
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.source import Provenance
from fabella.protocol import load_protocol
from fabella.web.evidence.measures import ErrorRow, NormRow, error_rows, measured_by, norm_rows
from fabella.web.evidence.rests import Rests
from fabella.web.evidence.signs import Link, SignUse, sign_use

_MOST_SHOWN = 6  # lesions of which it is said how often they show the sign


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """How the model uses a sign (None when it gives it no meaning), and what a reading is held against.

    ``bounds`` are the other things that grading rests on: what each is about, and what it rests on.
    """

    use: SignUse | None
    norms: tuple[NormRow, ...]
    errors: tuple[ErrorRow, ...]
    bounds: tuple[tuple[str, Rests], ...]


def behind(edition: Edition, sign_id: str) -> Behind | None:
    """Return what stands behind a sign, as its page of the evidence tells it; None outside the protocol."""
    if sign_id not in load_protocol():
        return None
    sign = load_protocol().sign(sign_id)
    use = sign_use(edition, load_knowledge(), load_lesions(), sign.id)
    if not sign.has_measure:
        return Behind(use=use, norms=(), errors=(), bounds=())
    held = measured_by(edition, sign)
    own = () if held.own_error is None else ((f"error of measuring, {held.own_error[0]}", held.own_error[1]),)
    return Behind(
        use=use,
        norms=tuple(row for measure, _ in held.norms for row in norm_rows(edition, measure)),
        errors=tuple(row for measure, _ in held.errors for row in error_rows(edition, measure)),
        bounds=(*own, *((f"bounds between grades, by {each.about}", each.rests) for each in held.bounds)),
    )


def untaken_words(found: Behind | None) -> str:
    """Return what is said where the model is fitted to no published accuracy of a sign."""
    is_linked = found is not None and found.use is not None
    return "no such pair; what its links rest on stands below" if is_linked else "no number from here"


def behind_page(found: Behind) -> Iterator[RenderableType]:
    """Yield what stands behind a sign as it is shown in a terminal."""
    if found.norms or found.errors or found.bounds:
        yield Text()
        yield heading("What a measurement is held against")
        yield labelled(
            (
                *(("norm", _norm(each)) for each in found.norms),
                *(("error", _error(each)) for each in found.errors),
                *(("rests on", f"{about}: {_rests(rests)}") for about, rests in found.bounds),
            )
        )
    if found.use is not None:
        yield Text()
        yield heading("How the model uses it")
        yield labelled(_use(found.use))


def behind_tree(found: Behind | None) -> dict[str, Any]:
    """Return the same as plain data, every source by its key; empty where nothing stands behind a sign."""
    if found is None:
        return {}
    use = found.use
    return {
        "model": None
        if use is None
        else {
            "shows": list(use.shows),
            "hit": use.hit,
            "false_alarm": use.false_alarm,
            "hidden_by_guarding": use.hidden,
            "fitted_to_published": use.is_fitted,
            "rests": _rests_tree(use.rests),
            "shown_by": [{"lesion": each.lesion, "percent": each.percent} for each in use.brought],
        },
        "norms": [{**asdict(each), "rests": _rests_tree(each.rests)} for each in found.norms],
        "errors": [{**asdict(each), "rests": _rests_tree(each.rests)} for each in found.errors],
        "grading": [{"about": about, "rests": _rests_tree(rests)} for about, rests in found.bounds],
    }


def _use(use: SignUse) -> Iterator[tuple[str, str]]:
    degree = f" from degree {use.from_degree}" if use.from_degree > 1 else ""
    yield "shows", " or ".join(use.shows) + degree
    called = (
        f"called in {use.hit} where there is something to show, in {use.false_alarm} where there is nothing"
    )
    guarding = f"; guarding hides {use.hidden} of the hits" if use.hidden else ""
    yield "chances", ("fitted to the published accuracy above" if use.is_fitted else called) + guarding
    yield "rests on", _rests(use.rests)
    yield "its links", _links(use.links)
    told = [f"{each.name} {each.words}" for each in use.brought[: _MOST_SHOWN + 1]]
    more = len(use.brought) - len(told)
    yield "shown by", "; ".join((*told, *([f"and {more} more"] if more > 0 else ())))


def _links(links: tuple[Link, ...]) -> str:
    """Return how many links to what the sign shows rest on what, with the sources."""
    told = []
    for kind in Provenance:
        alike = [each.rests for each in links if each.rests.kind == kind]
        sources = dict.fromkeys(source.short for rests in alike for source in rests.sources)
        if alike:
            told.append(f"{len(alike)} {kind}" + (f" ({', '.join(sources)})" if sources else ""))
    return "; ".join(told)


def _norm(row: NormRow) -> str:
    numbers = "; ".join(filter(None, (row.mean, f"{row.ends} ({row.meaning})" if row.ends else "")))
    return f"{row.name}, {row.whom}: {numbers}. {_rests(row.rests)}"


def _error(row: ErrorRow) -> str:
    meaning = f"; {row.meaning}" if row.meaning else ""
    return f"{row.method}, {row.comparison}: {row.figure}{meaning}. {_rests(row.rests)}"


def _rests(rests: Rests) -> str:
    """What a number rests on, with its source and whether that was read again."""
    words = "; ".join((*(each.citation for each in rests.sources), *filter(None, (rests.words,))))
    memory = ", value from memory, original not re-read" if rests.recalled and rests.sources else ""
    return f"{rests.kind}: {words}{memory}" if words else rests.kind


def _rests_tree(rests: Rests) -> dict[str, Any]:
    return {
        "kind": rests.kind,
        "sources": [each.key for each in rests.sources],
        "words": rests.words,
        "from_memory": rests.recalled,
        "note": rests.note,
    }
