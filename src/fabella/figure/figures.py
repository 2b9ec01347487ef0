"""The drawings by name: one for each position of the examination, one for each sign that a drawing helps."""

from __future__ import annotations

from functools import lru_cache

from fabella.figure.front_sheet import front_sheet
from fabella.figure.plan import Plan, plans
from fabella.figure.positions import position_sheet
from fabella.figure.profile import profile_sheet
from fabella.figure.sheet import Sheet, write
from fabella.figure.spoken import spoken
from fabella.protocol import load_protocol


@lru_cache(maxsize=32)
def position_figure(position_id: str) -> str:
    """Return the drawing of a position of the examination as SVG; raise `InputError` when there is none."""
    position = load_protocol().position(position_id)
    return write(position_sheet(position.id, title=f"{position.name}: {position.patient}"))


def drawn_signs() -> frozenset[str]:
    """Return the ids of the signs that have a drawing."""
    return frozenset(plans())


@lru_cache(maxsize=256)
def sign_figure(sign_id: str) -> str | None:
    """Return the drawing of how a sign is looked for as SVG, None where there is none.

    Raises `InputError` when there is no such sign.
    """
    load_protocol().sign(sign_id)
    sheet = sign_sheet(sign_id)
    return None if sheet is None else write(sheet)


def sign_sheet(sign_id: str) -> Sheet | None:
    """Return the drawing of a sign before it is written, None where there is none."""
    plan = plans().get(sign_id)
    if plan is None:
        return None
    title = spoken(sign_id, plan)
    if isinstance(plan, Plan):
        return profile_sheet(
            plan, title=title, knee_deg=plan.knee_of(sign_id), ghost_deg=plan.ghost_of(sign_id)
        )
    return front_sheet(plan, sign_id=sign_id, title=title)
