"""An analysis as plain data: equal marks and rules, equal text."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from enum import Enum
from math import isfinite
from typing import Any, Final

import numpy as np

from fabella.assess.basis import Part
from fabella.assess.exam_facets import Facets
from fabella.assess.facets_measures import Measures
from fabella.assess.freezing import write_results
from fabella.assess.marks import Marks
from fabella.assess.rounding import DIGITS
from fabella.assess.severity import Severity
from fabella.assess.station_page import StationPage
from fabella.assess.whole_exam import Analysis

FORMAT: Final = "fabella.exam-analysis/1"


def analysis_tree(marks: Marks, analysis: Analysis) -> dict[str, Any]:
    """Return an analysis as plain data, with the results as `write_results` writes them.

    Each part has its ``estimator``, ``n`` used and ``dropped`` of ``of``; what does not exist is null.
    Numbers are rounded to six decimals.
    """
    found = analysis.results.pass_mark
    return {
        "format": FORMAT,
        "results": json.loads(write_results(analysis.results)),
        "decided": _plain(analysis.decided),
        "coverage": _plain(analysis.coverage),
        "pass_mark": {
            "se": _plain(found.se),
            "se_if_stations_shared_no_candidates": _plain(found.se_independent),
            "station_ses": dict(zip(marks.blueprint.station_codes, _plain(found.station_ses), strict=True)),
            "lines": [_but(line, "contradictions") for line in found.lines],
            "groups": _plain(found.groups),
            "rounds": _plain(found.rounds),
            "cohort": _plain(found.cohort),
        },
        "noise": {
            "failing": _plain(analysis.noise.failing),
            "failing_by_stations": _plain(analysis.noise.failing_by_stations),
        },
        "rule_effects": _plain(analysis.effects),
        "review": [
            {
                "candidate": each.decision.candidate,
                "sems": _plain(each.sems),
                "share_of_resampled_pass_marks_reached": _plain(each.share_passing),
            }
            for each in analysis.review
        ],
        **{
            name: _plain(getattr(analysis, name))
            for name in (
                "alpha",
                "omega",
                "dependability",
                "classification",
                "domains",
                "stations",
                "timing",
                "items",
                "study",
                "facets",
                "flags",
            )
        },
    }


def write_analysis(marks: Marks, analysis: Analysis) -> str:
    """Return `analysis_tree` as JSON."""
    return json.dumps(analysis_tree(marks, analysis), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(value: Any) -> Any:
    match value:
        case Enum():
            return value.value
        case float():
            return round(value, DIGITS) + 0.0 if isfinite(value) else None
        case np.ndarray():
            return _plain(value.tolist())
        case Mapping():
            return {name: _plain(each) for name, each in value.items()}
        case str():
            return value
        case Sequence():
            return [_plain(each) for each in value]
    return _noun(value) if is_dataclass(value) else value


def _noun(value: Any) -> dict[str, Any]:
    match value:
        case Part():
            kept = {**_but(value.basis), "value": _plain(value.value)}
            return {**kept, "refusal": value.refusal} if value.refusal else kept
        case Severity():
            return _but(value, "model")
        case StationPage():
            return {**_but(value, "within"), "within": _plain(value.within.alpha.estimate)}
        case Facets():
            return _facets(value)
    return _but(value)


def _but(value: Any, *left_out: str) -> dict[str, Any]:
    """Return the fields of a noun, some left out."""
    return {f.name: _plain(getattr(value, f.name)) for f in fields(value) if f.name not in left_out}


def _facets(found: Facets) -> dict[str, Any]:
    fit = found.fit
    names = {"candidate": found.candidates, "station": found.stations, "item": found.items}
    names["examiner"] = found.examiners
    return {
        "keep_to_station": found.keep_to_station,
        "reliability": _plain(fit.reliability),
        "mean": _plain(fit.mean),
        "spread": _plain(fit.spread),
        "thresholds": _plain(fit.thresholds),
        "deviance": _plain(fit.deviance),
        "warnings": list(fit.warnings),
        "measures": {each.name: _measures(each, names[each.name]) for each in (fit.candidates, *fit.facets)},
    }


def _measures(found: Measures, names: tuple[str, ...]) -> dict[str, Any]:
    apart = found.separation if len(names) > 1 else None
    return {
        "separation": _plain(apart.separation) if apart and apart.error else None,
        "levels": [
            {
                "code": name,
                "estimate": _plain(float(found.estimate[k])),
                "se": _plain(float(found.se[k])),
                "infit": _plain(float(found.fit.infit[k])),
                "outfit": _plain(float(found.fit.outfit[k])),
                "fair": _plain(float(found.fair[k])),
                "n": int(found.fit.n[k]),
            }
            for k, name in enumerate(names)
        ],
    }
