"""What was done to a knee, and the totals of questionnaires about it: numbers only, never their wording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from fabella.anatomy import Side


class ProcedureName(StrEnum):
    """What was done; the one that fits best. Programmes count as procedures that begin on their first day."""

    TOTAL_KNEE_REPLACEMENT = "total_knee_replacement"
    PARTIAL_KNEE_REPLACEMENT = "partial_knee_replacement"
    ACL_RECONSTRUCTION = "acl_reconstruction"
    LIGAMENT_RECONSTRUCTION = "ligament_reconstruction"
    MENISCAL_REPAIR = "meniscal_repair"
    PARTIAL_MENISCECTOMY = "partial_meniscectomy"
    CARTILAGE_REPAIR = "cartilage_repair"
    PATELLAR_STABILISATION = "patellar_stabilisation"
    EXTENSOR_REPAIR = "extensor_repair"
    FRACTURE_FIXATION = "fracture_fixation"
    OSTEOTOMY = "osteotomy"
    MANIPULATION = "manipulation"
    WASHOUT = "washout"
    ARTHROSCOPY = "arthroscopy"
    EXERCISE_PROGRAMME = "exercise_programme"
    STRETCHING_PROGRAMME = "stretching_programme"
    OTHER = "other"

    @property
    def is_operation(self) -> bool:
        """Whether it is more than a programme of exercises."""
        return self not in (ProcedureName.EXERCISE_PROGRAMME, ProcedureName.STRETCHING_PROGRAMME)

    @property
    def is_small(self) -> bool:
        """Whether it is done through small wounds and cuts neither bone nor ligament (common practice)."""
        return self in (
            ProcedureName.PARTIAL_MENISCECTOMY,
            ProcedureName.ARTHROSCOPY,
            ProcedureName.MANIPULATION,
        )

    @property
    def is_closed(self) -> bool:
        """Whether the knee was moved by force and not opened: an infection did not come with it."""
        return self is ProcedureName.MANIPULATION

    @property
    def is_replacement(self) -> bool:
        """Whether a prosthesis is in the knee since then, total or partial."""
        return self in (ProcedureName.TOTAL_KNEE_REPLACEMENT, ProcedureName.PARTIAL_KNEE_REPLACEMENT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """The latest thing done to one knee or both: what, to which, and on which day (its first, if many)."""

    name: ProcedureName
    sides: tuple[Side, ...]
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """A questionnaire whose total can be recorded: its range in points, the higher the better."""

    id: str
    name: str
    low: float
    high: float


SCORES: Mapping[str, Score] = MappingProxyType(
    {
        score.id: score
        for score in (
            Score(id="oks", name="Oxford Knee Score", low=0, high=48),
            Score(id="lysholm", name="Lysholm score", low=0, high=100),
            Score(id="ikdc_subjective", name="IKDC subjective score", low=0, high=100),
            Score(id="koos_pain", name="KOOS, pain", low=0, high=100),
            Score(id="koos_symptoms", name="KOOS, symptoms", low=0, high=100),
            Score(id="koos_adl", name="KOOS, daily living", low=0, high=100),
            Score(id="koos_sport", name="KOOS, sport", low=0, high=100),
            Score(id="koos_qol", name="KOOS, quality of life", low=0, high=100),
            Score(id="tegner", name="Tegner activity level", low=0, high=10),
        )
    }
)
"""Every score by its id; to add one is to add a line (ranges from memory of the published scores)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """The total of one score, in points; ``side`` is the knee it is about, None when it was not asked."""

    score: str
    value: float
    side: Side | None = None
