"""Backwards from findings to lesions, and forwards from lesions to findings, with one model of the knee."""

from fabella.infer.conclude import conclude_knee, told
from fabella.infer.context import Setting
from fabella.infer.evidence_of import KneeEvidence, Observation
from fabella.infer.findings import knees
from fabella.infer.model import Model, load_model
from fabella.infer.posterior import Posterior, posterior
from fabella.infer.result import (
    ANY_LEVEL,
    Combination,
    Conclusion,
    Fit,
    Grounding,
    KneeConclusion,
    LesionProbability,
    Reason,
)

__all__ = [
    "ANY_LEVEL",
    "Combination",
    "Conclusion",
    "Fit",
    "Grounding",
    "KneeConclusion",
    "KneeEvidence",
    "LesionProbability",
    "Model",
    "Observation",
    "Posterior",
    "Reason",
    "Setting",
    "conclude_knee",
    "knees",
    "load_model",
    "posterior",
    "told",
]
