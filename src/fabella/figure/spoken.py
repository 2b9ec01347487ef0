"""What a drawing shows, in one sentence, for whoever does not see it."""

from __future__ import annotations

from fabella.figure.marks import angle_words
from fabella.figure.plan import Arrow, FrontPlan, Hand, Plan
from fabella.figure.tables import knee_sites
from fabella.protocol import load_protocol

_VIEWS = {
    "profile": "from the side",
    "leg": "from above",
    "sitting": "sitting, from the front",
    "shanks": "sitting, from the front",
}
_POSTURES = {"prone": "prone", "stands": "standing"}
_TOOLS = {
    "goniometer": "a goniometer on hip, knee and ankle",
    "tape": "a tape round the limb",
    "gap": "the gap between heel and buttock measured",
    "heels": "the heights of both heels compared",
}
_STRAIGHT_DEG = 6.0  # the usual valgus of the front view


def spoken(sign_id: str, plan: Plan | FrontPlan) -> str:
    """Return the text equivalent of a sign's drawing: name, view, angle, hands, movement."""
    parts = [load_protocol().sign(sign_id).name, _VIEWS.get(plan.view, "from the front")]
    knee_deg = plan.knee_of(sign_id)
    if isinstance(plan, Plan):
        if plan.posture in _POSTURES:
            parts.append(_POSTURES[plan.posture])
        if plan.focus != "foot":
            ghost_deg = plan.ghost_of(sign_id) if plan.ghost_share is not None else None
            angle = angle_words(plan.knee_of(sign_id), ghost_deg)
            parts.append(angle if angle.startswith("knee") or "past" in angle else f"knee {angle}")
        parts.extend(_TOOLS[tool.split()[0]] for tool in plan.tools)
        parts.extend(map(_hand, plan.hands))
        parts.extend(map(_movement, plan.arrows))
    else:
        if knee_deg is not None:
            parts.append(angle_words(knee_deg))
        if plan.sited:
            parts.append(f"the place marked: {knee_sites()[sign_id]['say']}")
        if plan.view == "leg" and plan.valgus_deg != _STRAIGHT_DEG:
            outwards = plan.valgus_deg > _STRAIGHT_DEG
            parts.append(
                f"one hand at the knee, one at the ankle, the shin pressed {'out' if outwards else 'in'}wards"
            )
    return ", ".join(dict.fromkeys(parts))


def _hand(hand: Hand) -> str:
    spot = hand.spot
    where = (
        spot.on if spot.on == "foot" else f"{'front' if spot.side == 'front' else 'back'} of the {spot.on}"
    )
    return f"a hand on the {where}"


def _movement(arrow: Arrow) -> str:
    """What an arrow says of the segment it stands at."""
    on, front = arrow.spot.on, arrow.spot.side == "front"
    if arrow.way in {"turn", "turn_back"}:
        return f"the {on} turned {'outwards' if arrow.way == 'turn' else 'inwards'}"
    if arrow.way in {"along", "back"}:
        return f"pressure along the {on}"
    forwards = front is (arrow.way == "pull")
    if on == "foot":
        return f"the foot moved {'up' if forwards else 'down'}"
    return f"the {on} moved {'forwards' if forwards else 'backwards'}"
