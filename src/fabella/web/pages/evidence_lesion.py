"""One lesion: what it is, how common, what speaks for and against it, what goes with it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import ClassVar

from django.http import Http404, HttpResponse

from fabella.anatomy import STRUCTURES, Lesion, load_lesions
from fabella.evidence import load_edition
from fabella.evidence.facts import BaseRate
from fabella.evidence.knowledge import load_knowledge
from fabella.protocol import load_protocol
from fabella.stats.written import spaced
from fabella.web.door import enter_known
from fabella.web.evidence import lesions as view
from fabella.web.evidence.signs import Tells
from fabella.web.templating import render, said
from fabella.web.visitor import Request

_WORTH_NAMING = 0.1  # a way of injury that brings less than a tenth is left out (judgement)


@dataclass(frozen=True, slots=True, kw_only=True)
class LesionPage:
    """Everything known of a lesion."""

    template: ClassVar[str] = "evidence_lesion.html"

    lesion: Lesion = field(metadata=said("The lesion with its levels and other names."))
    structures: tuple[str, ...] = field(metadata=said("What it is a lesion of."))
    told_for: tuple[Tells, ...] = field(metadata=said("Findings that speak most for it."))
    told_against: tuple[Tells, ...] = field(metadata=said("Findings whose absence speaks most against it."))
    accuracies: tuple[view.Accurate, ...] = field(
        metadata=said("Published accuracies for it that the model is fitted to.")
    )
    rates: tuple[view.Rate, ...] = field(metadata=said("How common the model takes it to be."))
    rates_replaced: tuple[view.Rate, ...] = field(
        metadata=said("How common the model takes it to be in a total prosthesis, where that differs.")
    )
    base: BaseRate = field(metadata=said("How its rates change with age and sex."))
    ages: tuple[tuple[str, float], ...] = field(metadata=said("Factors of the odds by age."))
    firm_odds: tuple[view.Beside, ...] = field(
        metadata=said("Odds by age and sex that are more than judgement.")
    )
    published: tuple[view.Rate, ...] = field(metadata=said("How common sources found it."))
    mechanisms: tuple[tuple[str, float], ...] = field(
        metadata=said("The commonest ways in which it comes about, as shares.")
    )
    company: tuple[view.Beside, ...] = field(metadata=said("What the model takes to go with it."))
    found_with: tuple[view.Beside, ...] = field(metadata=said("What sources found to go with it."))
    images: tuple[view.Seen, ...] = field(metadata=said("Images and tests that show it."))
    excludes: tuple[Lesion, ...] = field(metadata=said("Lesions that cannot occur with it."))
    edition: str = field(metadata=said("Edition of the evidence."))


@enter_known()
def evidence_lesion(request: Request, lesion: str) -> HttpResponse:
    """Show a lesion."""
    edition, knowledge, protocol, lesions = load_edition(), load_knowledge(), load_protocol(), load_lesions()
    if lesion not in lesions:
        raise Http404
    own, base = lesions[lesion], knowledge.base_rates[lesion]
    told_for, told_against = view.tells_of_lesion(own, protocol)
    ways = sorted(knowledge.mechanisms[lesion].items(), key=lambda each: -each[1])
    page = LesionPage(
        lesion=own,
        structures=tuple(STRUCTURES[each] for each in own.structures),
        told_for=told_for,
        told_against=told_against,
        accuracies=view.accuracies(edition, knowledge, protocol, own),
        rates=view.rates(edition, base),
        rates_replaced=view.rates_replaced(edition, base),
        base=base,
        ages=view.odds_by_age(base),
        firm_odds=view.odds_with_footing(edition, base),
        published=view.published_rates(edition, own),
        mechanisms=tuple((spaced(way), share) for way, share in ways if share >= _WORTH_NAMING),
        company=view.company(edition, knowledge, lesions, own),
        found_with=view.published_company(edition, own),
        images=view.images(edition, knowledge, own),
        excludes=tuple(each for each in lesions.values() if lesions.exclude_each_other(lesion, each.id)),
        edition=edition.id,
    )
    return render(request, page)
