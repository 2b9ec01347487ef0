"""What it comes to: impression and problems as the clinician's, the probabilities as the program's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fabella.anatomy import Lesion, Side, load_lesions
from fabella.fhir.codes import level_code, own_coding, term_coding
from fabella.fhir.elements import Tree, concept, joined, notes, open_concept, reference, references, resource
from fabella.fhir.matter import Matter
from fabella.fhir.observations import Place, site
from fabella.report.conclusion_words import ELSE_FROM, KneeWords, LesionWords
from fabella.report.likelihood_words import chance, word_for
from fabella.report.wording import sentence
from fabella.stats.written import percent_of
from fabella.workup import ANY_LEVEL, KneeConclusion, LesionProbability

PROVISIONAL_FROM = 0.60
"""Probability from which a lesion named in the letter is a provisional and not a differential diagnosis.

It is where the letter begins to say ``likely`` (judgement).
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Concluded:
    """What is said of one knee as resources; ``problems`` are none where somebody put it in other words."""

    impression: Tree
    problems: tuple[Tree, ...]
    chances: Tree

    @property
    def all(self) -> tuple[Tree, ...]:
        """All of them, the impression first."""
        return (self.impression, *self.problems, self.chances)


def concluded(
    matter: Matter, knee: KneeConclusion, words: KneeWords, found: Mapping[Place, str], instead: str | None
) -> Concluded | None:
    """Return what is concluded about one knee, None when nothing on it allows a conclusion.

    Parameters
    ----------
    knee, words
        The conclusion in numbers and in the letter's words.
    found
        The ids of the observations.
    instead
        What somebody wrote of it in their own words, beside which no lesion is coded; None when nobody did.
    """
    if not knee.findings:
        return None
    entered = (*knee.findings, *knee.images)
    used = [found[place] for sign in entered if (place := _place(sign, knee.side, found)) is not None]
    chances = _chances(matter, knee, used)
    named = words.lesions if instead is None else ()
    problems = tuple(_problem(matter, knee.side, each, found) for each in named)
    return Concluded(
        impression=_impression(matter, words, problems, used, chances, instead),
        problems=problems,
        chances=chances,
    )


def _place(sign: str, side: Side, found: Mapping[Place, str]) -> Place | None:
    return next((place for place in ((sign, side), (sign, None)) if place in found), None)


def _impression(  # noqa: PLR0917  what it ties together
    matter: Matter,
    words: KneeWords,
    problems: tuple[Tree, ...],
    used: list[str],
    chances: Tree,
    instead: str | None,
) -> Tree:
    summary = sentence(words.verdict) if instead is None else instead
    named = zip(problems, words.lesions, strict=True) if instead is None else ()
    fits = f"What else fits: {words.fits_too}" if words.fits_too and instead is None else ""
    assessor = matter.person(matter.signer)
    return resource(
        "ClinicalImpression",
        matter.names.of("impression", words.side),
        f"{words.side.capitalize()} knee: {summary}",
        status="completed" if matter.signed else "in-progress",
        code=concept(term_coding("impression"), text=f"Examination, {words.side} knee"),
        subject=matter.patient,
        effectiveDateTime=matter.day,
        date=matter.now,
        assessor=assessor,
        investigation=[{"code": concept(term_coding("examined")), "item": references(used)}],
        summary=summary,
        finding=[
            {"itemReference": reference(problem["id"], lesion.name), "basis": _basis(lesion)}
            for problem, lesion in named
        ],
        supportingInfo=[reference(chances["id"])],
        note=notes(sentence(fits), words.poor_fit, words.look_again),
    )


def _basis(lesion: LesionWords) -> str:
    pro = f"for: {'; '.join(lesion.pro)}" if lesion.pro else ""
    contra = f"against: {'; '.join(lesion.contra)}" if lesion.contra else ""
    return sentence(
        joined([f"{lesion.chance.word}, {lesion.chance.short}", lesion.levels, pro, contra], ". ")
    )


def _problem(matter: Matter, side: Side, lesion: LesionWords, found: Mapping[Place, str]) -> Tree:
    status = "provisional" if lesion.probability >= PROVISIONAL_FROM else "differential"
    places = [_place(each.sign, side, found) for each in lesion.reasons_for]
    detail = references(found[place] for place in places if place is not None)
    return resource(
        "Condition",
        matter.names.of("condition", side, lesion.lesion),
        sentence(f"{side.capitalize()} knee: {lesion.sentence}"),
        clinicalStatus=open_concept("active"),
        verificationStatus=open_concept(status),
        category=[open_concept("encounter_diagnosis")],
        code=concept(own_coding("lesion", lesion.lesion, lesion.name)),
        bodySite=[site(side)],
        subject=matter.patient,
        recordedDate=matter.now,
        asserter=matter.person(matter.signer),
        evidence=[{"detail": detail}] if detail else None,
        note=notes(sentence(f"{lesion.chance.word}, {lesion.chance.short}")),
    )


def _chances(matter: Matter, knee: KneeConclusion, used: list[str]) -> Tree:
    named = [each for each in knee.lesions if each.probability >= ELSE_FROM]
    lesions = load_lesions()
    predictions = [
        _prediction(matter, each, lesions[each.lesion]) for each in named if _told(each, lesions[each.lesion])
    ]
    predictions.append(_predicted(matter, concept(term_coding("none_of_these")), knee.nothing_listed))
    words = "; ".join(f"{each['outcome']['text']} {each['probabilityDecimal']}%" for each in predictions)
    return resource(
        "RiskAssessment",
        matter.names.of("chances", knee.side),
        sentence(f"{knee.side.capitalize()} knee: {words}"),
        status=matter.status,
        method=concept(term_coding("chance")),
        code=concept(term_coding("chance"), text=f"Probability of each lesion, {knee.side} knee"),
        subject=matter.patient,
        occurrenceDateTime=matter.day,
        performer=matter.device,
        basis=references(used),
        prediction=predictions,
    )


def _told(entry: LesionProbability, lesion: Lesion) -> bool:
    """Whether an entry says more than that of its lesion: a level of a lesion with only one does not."""
    return entry.level == ANY_LEVEL or len(lesion.levels) > 1


def _prediction(matter: Matter, entry: LesionProbability, lesion: Lesion) -> Tree:
    if entry.level == ANY_LEVEL:
        code, name = lesion.id, lesion.name
    else:
        level = lesion.level(entry.level)
        code, name = level_code(lesion.id, level.id), f"{lesion.name}, {level.words}"
    outcome = concept(own_coding("lesion", code, name))
    interval = chance(entry.probability, low=entry.low, high=entry.high).interval
    return _predicted(matter, outcome, entry.probability, f"90% interval {interval}")


def _predicted(matter: Matter, outcome: Tree, probability: float, rationale: str = "") -> Tree:
    """One outcome on the day of the examination, in whole per cent as the letter says it, never 0 or 100."""
    return {
        "outcome": outcome,
        "probabilityDecimal": percent_of(probability),
        "qualitativeRisk": concept(text=word_for(probability)),
        **({"whenPeriod": {"start": matter.day, "end": matter.day}} if matter.day else {}),
        **({"rationale": rationale} if rationale else {}),
    }
