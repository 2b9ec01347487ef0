"""Evidence: published numbers with their sources, in frozen editions; which of rivals to believe."""

from fabella.evidence.accuracy import Accuracy, Anaesthesia, Design, StudyAcuity, StudySetting
from fabella.evidence.describe import describe, describe_source, signs
from fabella.evidence.dossier import SignEvidence, SourceEvidence
from fabella.evidence.edition import Edition
from fabella.evidence.loader import LATEST, edition_ids, load_edition
from fabella.evidence.measures import ErrorStatistic, LoHi, MeasurementError, Norm, NormAbout, StudySex
from fabella.evidence.numbers import Counts2x2, Estimate, IntervalKind, LikelihoodRatio
from fabella.evidence.rank import Ranked, Ranking, rank
from fabella.evidence.read import read_edition
from fabella.evidence.source import RECALLED, Caution, EvidenceKind, Provenance, Source, Sourced
from fabella.evidence.tables import (
    Cooccurrence,
    Gap,
    GradeBand,
    Milestone,
    Prevalence,
    Reliability,
    RuleCriterion,
)

__all__ = [
    "LATEST",
    "RECALLED",
    "Accuracy",
    "Anaesthesia",
    "Caution",
    "Cooccurrence",
    "Counts2x2",
    "Design",
    "Edition",
    "ErrorStatistic",
    "Estimate",
    "EvidenceKind",
    "Gap",
    "GradeBand",
    "IntervalKind",
    "LikelihoodRatio",
    "LoHi",
    "MeasurementError",
    "Milestone",
    "Norm",
    "NormAbout",
    "Prevalence",
    "Provenance",
    "Ranked",
    "Ranking",
    "Reliability",
    "RuleCriterion",
    "SignEvidence",
    "Source",
    "SourceEvidence",
    "Sourced",
    "StudyAcuity",
    "StudySetting",
    "StudySex",
    "describe",
    "describe_source",
    "edition_ids",
    "load_edition",
    "rank",
    "read_edition",
    "signs",
]
