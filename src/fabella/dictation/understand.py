"""From a dictated text to what it says: the way from words to spans, step by step."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

from fabella.anatomy import Side
from fabella.dictation.account import account
from fabella.dictation.affirmed import part_affirmed
from fabella.dictation.announced import name_announced
from fabella.dictation.attach import Attach
from fabella.dictation.bad_one import settle_bad_one
from fabella.dictation.beforehand import told_beforehand
from fabella.dictation.beside import name_headings
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.clauses import parse
from fabella.dictation.contradicted import ask_before_but
from fabella.dictation.contrasts import part_subjects
from fabella.dictation.conversation import leave_conversation
from fabella.dictation.corrections import correct
from fabella.dictation.elided import restore_nouns
from fabella.dictation.elsewhere import leave_elsewhere
from fabella.dictation.fitting import Fit
from fabella.dictation.gait import give_gait_its_side
from fabella.dictation.gathered import gather_questions
from fabella.dictation.images import ImagePassage, read_images
from fabella.dictation.items import Item
from fabella.dictation.lexicon import load_lexicon
from fabella.dictation.lists import complete
from fabella.dictation.looked import part_looked_at
from fabella.dictation.lump_findings import of_lump
from fabella.dictation.meaning import meaning
from fabella.dictation.nodes import nodes_of
from fabella.dictation.nothings import settle_noughts
from fabella.dictation.old import ask_of_old
from fabella.dictation.ordered import name_in_order
from fabella.dictation.other_knee import ask_of_other_knee
from fabella.dictation.outcome import Judge, Outcome
from fabella.dictation.pains import join_pains
from fabella.dictation.person import Person, gather
from fabella.dictation.plans import leave_plans
from fabella.dictation.proposal import Proposal
from fabella.dictation.proposals import Proposals
from fabella.dictation.settle import settle
from fabella.dictation.sides import place_sides
from fabella.dictation.similes import leave_wellbeing
from fabella.dictation.spans import Mark, tile
from fabella.dictation.strangers import marks_of_strangers
from fabella.dictation.supposed import leave_supposed
from fabella.dictation.tagging import tag
from fabella.dictation.turns import take_turns
from fabella.dictation.understood import Became, Understood
from fabella.dictation.vitals import findings_of, take_vitals
from fabella.dictation.vocabulary import Lexicon, SignWord
from fabella.dictation.words import Word
from fabella.protocol import Protocol
from fabella.record import Finding, History, Mechanism


def understand(text: str, *, protocol: Protocol) -> Understood:
    """Return what a dictated text says, what must be asked, and what was not understood; nothing is recorded.

    Parameters
    ----------
    text
        As dictated, typed or recognised, with or without punctuation.
    protocol
        Names the signs, their levels, units and sides.
    """
    lexicon = _lexicon(protocol)
    words, others = take_turns(text, lexicon)
    items, conversation = leave_conversation(told_beforehand(tag(words, lexicon), words, lexicon), words)
    items = leave_wellbeing(items, words)
    items, plans = leave_plans(items, words)
    items = leave_supposed(items, words, [piece for mark in conversation for piece in mark.pieces])
    items = leave_elsewhere(restore_nouns(items, words, lexicon), words)
    items, vitals = take_vitals(items, words, protocol)
    others = (*others, *plans, *vitals)
    items = name_in_order(items, words)
    items = part_subjects(name_announced(items), words)
    items = settle_bad_one(part_looked_at(part_affirmed(items, words), words))
    person, spoken = gather(join_pains(ask_of_old(items), lexicon))
    fit = Fit(protocol, lexicon)
    settled = settle_noughts(settle(spoken, lexicon), fit)
    events = complete(correct(parse(nodes_of(settled), Attach(fit)), fit), fit, lexicon)
    place_sides(events)
    name_headings(events)
    outcomes = _outcomes(events, Judge(protocol, lexicon), text, words)
    proposals = Proposals(protocol, lexicon).of(events, outcomes)
    images = read_images(text, words)
    marked = [*_marks(proposals, person, settled, lexicon), *conversation, *others]
    marked = _with_images([*marked, *account(spoken, events, marked)], images)
    ask_before_but(proposals, settled, marked)
    _complaints(proposals, person, protocol)
    give_gait_its_side(proposals, person.context.complained_of)
    ask_of_other_knee(proposals, person.context.complained_of, protocol)
    history = History(answer for one in proposals for answer in one.answers)
    denied = _denials(person, history, protocol)
    told = (each for one in proposals for each in one.findings)
    findings = _in_order((*told, *findings_of(vitals)), protocol)
    marks = [*_marks(proposals, person, settled, lexicon), *denied, *conversation, *others]
    return Understood(
        text=text,
        spans=gather_questions(
            tile(text, words, _with_images([*marks, *account(spoken, events, marks)], images)), words
        ),
        findings=findings,
        history=history,
        patient=person.patient,
        context=person.context,
        imaging=tuple(each for read in images for each in read.imaging),
    )


def _with_images(marks: Sequence[Mark], images: Sequence[ImagePassage]) -> list[Mark]:
    """Return the marks in which the words of an image are one, in place of what was open in them."""
    kept = [
        mark
        for mark in marks
        if not mark.became.is_open
        or not any(read.first <= first < read.last for read in images for first, _ in mark.pieces)
    ]
    kept += [
        Mark(
            pieces=((read.first, read.last),),
            became=Became.AMBIGUOUS if read.question else Became.IMAGE,
            imaging=read.imaging,
            why=read.question,
        )
        for read in images
    ]
    return kept


@cache
def _lexicon(protocol: Protocol) -> Lexicon:
    return load_lexicon(protocol)


def _outcomes(events: Sequence[Placed], judge: Judge, text: str, words: Sequence[Word]) -> dict[int, Outcome]:
    """Return what each claim amounts to, by identity; a subject or a withdrawn one amounts to nothing."""
    outcomes: dict[int, Outcome] = {}
    before: list[Claim] = []
    label: Claim | None = None
    claims = [each.event for each in events if isinstance(each.event, Claim)]
    for place, claim in enumerate(claims):
        following = claims[place + 1] if place + 1 < len(claims) else None
        if following is not None and following.joined == ":" and following.sentence == claim.sentence:
            claim.subject = claim.subject or (claim.only_names and not claim.has_result)
        if claim.head is None or claim.withdrawn or claim.whole:
            continue
        if claim.subject:
            before.append(claim)
            label = claim if claim.labelled else label
            continue
        if (found := claim.landmark) is not None:
            claim.method = text[words[found[0]].start : words[found[1] - 1].end]
        claim.note = (
            ", ".join(text[words[a].start : words[b - 1].end] for a, b in claim.head.notes).casefold() or None
        )
        claim.of_lump = of_lump(claims, place, judge)
        outcomes[id(claim)] = meaning(claim, _narrowed(claim.head.word, claim, label), before, judge)
        before.append(claim)
    return outcomes


def _narrowed(word: SignWord, claim: Claim, label: Claim | None) -> SignWord:
    """Return a sign narrowed by its heading: under "peroneal nerve", sensation is that of the nerve."""
    if label is None or label.head is None or label.sentence != claim.sentence:
        return word
    common = tuple(each for each in word.to if each in label.head.word.to)
    return replace(word, to=common) if common else word


def _complaints(proposals: Sequence[Proposal], person: Person, protocol: Protocol) -> None:
    """Take the knee of which the patient told something in the same sentence as the one complained of."""
    for proposal in proposals:
        told = any(
            answer is not False and protocol.sign(item).is_trouble for item, answer in proposal.answers
        )
        if (
            told
            and proposal.claim is not None
            and len(proposal.claim.sides) == 1
            and proposal.claim.same_sentence_side
        ):
            person.complains(proposal.claim.sides)


def _denials(person: Person, history: History, protocol: Protocol) -> list[Mark]:
    """Take it that nobody complains where nothing else was told; where it was, "no complaints" is open."""
    told = any(answer is not False and protocol.sign(item).is_trouble for item, answer in history.items())
    context = person.context
    happened = context.onset_days is not None or context.mechanism not in {None, Mechanism.INSIDIOUS}
    complains = told or happened or bool(context.complained_of)
    if person.without_complaint and not complains:
        person.context = replace(person.context, complaint=())
    became = Became.NOT_UNDERSTOOD if complains else Became.CONTEXT
    why = "a complaint is told besides" if complains else ""
    return [Mark(pieces=((item.first, item.last),), became=became, why=why) for item in person.denials]


def _in_order(findings: object, protocol: Protocol) -> tuple[Finding, ...]:
    by_place = {(each.sign, each.side): each for each in findings}  # type: ignore[attr-defined]
    sides = [None, *Side]
    return tuple(
        sorted(by_place.values(), key=lambda each: (protocol.sign(each.sign).order, sides.index(each.side)))
    )


def _marks(
    proposals: Sequence[Proposal], person: Person, items: Sequence[Item], lexicon: Lexicon
) -> list[Mark]:
    marks = [Mark.of(proposal) for proposal in proposals]
    marks += [Mark(pieces=((item.first, item.last),), became=Became.CONTEXT) for item in person.items]
    return [*marks, *marks_of_strangers(items, lexicon)]
