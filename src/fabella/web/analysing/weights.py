"""How much each station counts: chosen by the lead, kept as a paper, frozen with the decision."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Final

from fabella.errors import Problems
from fabella.exam import Station
from fabella.web.analysing.annulled import annulled_of
from fabella.web.examining.drafting import Draft
from fabella.web.forms import Form, blank, typed_number

WEIGHTS: Final = "weights"
"""Names the paper, a JSON object of weights by station; whoever is not in it counts once."""

_MOST: Final = 100.0
_FIELD = "weight-"


def weights_of(draft: Draft) -> dict[str, float]:
    """Return the weight of every station of an exam [-]; only their ratios count."""
    text = draft.text(WEIGHTS)
    kept: dict[str, float] = json.loads(text) if text else {}
    return {each: kept.get(each, 1.0) for each in draft.ids}


def shares_of(draft: Draft) -> dict[str, float]:
    """Return what every station counts of the exam [%]; one that was annulled nothing."""
    annulled = annulled_of(draft)
    weights = {name: 0.0 if name in annulled else weight for name, weight in weights_of(draft).items()}
    whole = sum(weights.values()) or 1.0  # two leads at once may have annulled the last two
    return {each.id: 100 * weights[each.id] / whole for each in draft.stations}


def shares(draft: Draft) -> tuple[tuple[Station, str, str], ...]:
    """Return each station with the name of its field and its share of the exam in words."""
    share, annulled = shares_of(draft), annulled_of(draft)
    told = {name: "annulled" if name in annulled else f"{each:.1f}%" for name, each in share.items()}
    return tuple((each, _FIELD + each.id, told[each.id]) for each in draft.stations)


def weights_form(draft: Draft) -> Form:
    """Return the weights as typed."""
    return blank(**{_FIELD + name: f"{weight:.10g}" for name, weight in weights_of(draft).items()})


def read_weights_form(draft: Draft, typed: Mapping[str, str]) -> str:
    """Return the text of the weights that were typed; `InputError` lists every one that is wrong."""
    problems, found = Problems(), {}
    for name in draft.ids:
        text = typed.get(_FIELD + name, "").strip()
        weight = typed_number(text)
        if weight is None or not 0 < weight <= _MOST:
            says = "is no weight" if text else "is missing"
            problems.add(_FIELD + name, text, says, f"write a number above 0, to {_MOST:g}; 1 counts once")
        else:
            found[name] = weight
    problems.raise_any()
    return json.dumps(found) + "\n"
