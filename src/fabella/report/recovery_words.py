"""Where a patient stands beside what is published for the time since an operation, in one sentence."""

from __future__ import annotations

from fabella.follow import Expectation, Place, Standing
from fabella.protocol import Protocol
from fabella.record import SCORES, ProcedureName
from fabella.report.change_words import subject
from fabella.report.time_words import time_since
from fabella.report.wording import lowered, quantity, signed

PROCEDURES = {
    ProcedureName.TOTAL_KNEE_REPLACEMENT: "total knee replacement",
    ProcedureName.PARTIAL_KNEE_REPLACEMENT: "partial knee replacement",
    ProcedureName.ACL_RECONSTRUCTION: "ACL reconstruction",
    ProcedureName.LIGAMENT_RECONSTRUCTION: "ligament reconstruction",
    ProcedureName.MENISCAL_REPAIR: "meniscal repair",
    ProcedureName.PARTIAL_MENISCECTOMY: "partial meniscectomy",
    ProcedureName.CARTILAGE_REPAIR: "cartilage repair",
    ProcedureName.PATELLAR_STABILISATION: "patellar stabilisation",
    ProcedureName.EXTENSOR_REPAIR: "repair of the extensor mechanism",
    ProcedureName.FRACTURE_FIXATION: "fixation of a fracture",
    ProcedureName.OSTEOTOMY: "osteotomy",
    ProcedureName.MANIPULATION: "manipulation",
    ProcedureName.WASHOUT: "washout",
    ProcedureName.ARTHROSCOPY: "arthroscopy",
    ProcedureName.EXERCISE_PROGRAMME: "the start of an exercise programme",
    ProcedureName.STRETCHING_PROGRAMME: "the start of a stretching programme",
    ProcedureName.OTHER: "the operation",
}
_STATISTICS = {
    "model_mean": "mean of a model",
    "acceptable_cutoff": "cut-off",
    "PASS": "satisfactory to patients",
}
_DAYS_IN_A_WEEK = 7


def standing_words(standing: Standing, *, protocol: Protocol) -> str:
    """Return the sentence: when, what was found, what is published for then, and where it lies."""
    when = f"{time_since(standing.weeks * _DAYS_IN_A_WEEK)} after {PROCEDURES[standing.procedure]}"
    return f"{when}, {_own(standing, protocol)}; {_published(standing)}: {_place(standing)}"


def _own(standing: Standing, protocol: Protocol) -> str:
    if standing.is_total:
        side = f", {standing.side} knee," if standing.side else ""
        return f"{SCORES[standing.subject].name}{side} {quantity(standing.value, standing.unit)}"
    name = lowered(subject(protocol.sign(standing.subject), standing.side))
    if standing.of_difference:
        amount = quantity(abs(standing.value), standing.unit)
        return f"{name} {amount} {'short of' if standing.value >= 0 else 'more than'} the other side"
    return f"{name} {signed(standing.subject, standing.value, standing.unit)}"


def _amount(standing: Standing, value: float) -> str:
    if standing.of_difference or standing.is_total:
        return quantity(round(value, 1), standing.unit)
    return signed(standing.subject, round(value, 1), standing.unit)


def _published(standing: Standing) -> str:
    source = f"{standing.source}{' from memory' if standing.recalled else ''}"
    expected = _amount(standing, standing.expected)
    if standing.expectation is Expectation.AT_LEAST:
        return f"at least {expected} is wanted ({_statistic(standing)}, {source})"
    if standing.expectation is Expectation.AT_MOST:
        return f"no more than {expected} is wanted ({_statistic(standing)}, {source})"
    if standing.interpolated and standing.low is not None and standing.high is not None:
        low, high = _amount(standing, standing.low), _amount(standing, standing.high)
        first, last = standing.timepoints
        return (
            f"usual is between {low} and {high} ({_statistic(standing)} at {first} and at {last}, {source}; "
            f"{expected} on the straight line between them)"
        )
    return f"usual is {expected} ({_statistic(standing)} at {standing.timepoints[0]}, {source})"


def _statistic(standing: Standing) -> str:
    return _STATISTICS.get(standing.statistic, standing.statistic)


def _place(standing: Standing) -> str:
    within = ", within measurement error" if standing.beyond_error is False else ""
    if standing.place is Place.REACHED:
        return f"reached{within}"
    if standing.place is Place.NOT_REACHED:
        return f"not reached{within}"
    if standing.place is Place.LEVEL:
        return "in between" if standing.interpolated else "as usual"
    if within:
        return "about as usual, within measurement error"
    beyond = " by more than measurement error" if standing.beyond_error else ""
    return f"{'better' if standing.place is Place.BETTER else 'worse'} than usual{beyond}"
