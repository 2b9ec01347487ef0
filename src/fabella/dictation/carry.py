"""The sign that stays unsaid: "negative on the left" is said of the sign before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.beside import side_at
from fabella.dictation.claims import Claim, Placed, is_illness
from fabella.dictation.echoes import affirms_a_denial, is_doubted, takes_back, with_missing
from fabella.dictation.fitting import Fit
from fabella.dictation.implied import A_BEND_DEG, BESIDE_UNKNOWN, imply
from fabella.dictation.nodes import Head, SideNode, Turn
from fabella.dictation.normal import means_named, says_whole
from fabella.dictation.stray import PRESENT_OR_ABSENT
from fabella.dictation.vocabulary import Class, Describing, Lexicon, Tag

WHICH_OF_TWO = "which of the two?"
THEN_OR_NOW = "is it so, or was it?"
ONE_OR_ALL = "said of the last test only, or of all of them?"
_OF_A_TEST = {"positive", "negative"}
_PLACED = {Tag.NUMBER, Tag.RANGE, Tag.COMPARTMENT, Tag.BOW}


def carry_over(events: Sequence[Placed], fit: Fit, lexicon: Lexicon) -> tuple[Placed, ...]:
    """Give claims without a sign that of the claim before; of several that shared a result, all of them."""
    kept: list[Placed] = []
    rows: list[list[Claim]] = []
    for place, placed in enumerate(events):
        kept.append(placed)
        claim = placed.event
        if isinstance(claim, SideNode | Turn) or claim.withdrawn:
            continue
        if claim.head is not None:
            if rows and not claim.carried and _shares_with(rows[-1][-1], claim):
                rows[-1].append(claim)
            else:
                rows.append([claim])
        elif says_whole(claim, events, place, rows[-1] if rows else ()):
            claim.whole = True
            claim.of_named = means_named(claim, events, place, rows[-1] if rows else ())
        elif sources := _sources(claim, events, place, rows, fit):
            if _says_neither(claim) and _is_told_well(claim, rows):
                claim.ask = PRESENT_OR_ABSENT
            back = takes_back(claim) and not _is_sided(claim, events, place)
            kept.extend(replace(placed, event=copy) for copy in _carry(claim, sources, taken_back=back))
        else:
            imply(claim, lexicon, rows[-1][-1] if rows else None)
    return tuple(kept)


def _sources(
    claim: Claim, events: Sequence[Placed], place: int, rows: Sequence[Sequence[Claim]], fit: Fit
) -> list[Claim]:
    """Return the claims whose signs a result without one is told of; none where it must speak for itself."""
    sided = _is_sided(claim, events, place)
    if rows and _names_knee_anew(claim, side_at(events, place - 1), rows[-1][-1]):
        return []
    if not rows or _speaks_for_itself(claim, sided=sided):
        return []
    if _says_neither(claim) and (those := _those(claim, rows)):
        return those
    headed = _is_heading(side_at(events, place - 1))
    if headed and not _says_result(claim):
        return []
    every = _all_tests(claim, events, place, fit)
    if claim.marks("all") and every:
        return every
    distance = _distance(claim, rows[-1][-1], sided=sided)
    several = len({each.word.name for each in every if each.word is not None}) > 1
    if several and headed and distance:
        claim.ask = ONE_OR_ALL
    if distance > _farthest(claim, sided=sided):
        return []
    return _fitting(claim, rows, fit, sided=sided)


def _names_knee_anew(claim: Claim, side: SideNode | None, before: Claim) -> bool:
    """Say whether the knee is named behind what is no part of it: "hip stiff, right knee 0-120"."""
    elsewhere = before.word is not None and bool(before.word.aside)
    return elsewhere and (claim.knee or (side is not None and side.knee))


def _speaks_for_itself(claim: Claim, *, sided: bool) -> bool:
    """Say whether a claim tells nothing that could be told of the sign before it."""
    open_ = claim.has_result or bool(claim.compartments and (claim.denials or sided))  # "lateral on the left"
    of_its_own = any(mod.slot == "site" for mod in claim.mods) or claim.rest
    return not open_ or of_its_own or (_is_bare_number(claim) and not sided)


def _farthest(claim: Claim, *, sided: bool) -> int:
    """Return over how many ends of sentences a result reaches its sign: none for "stable" or a bare "no"."""
    implied = any(said.implies for said, _ in claim.describing)
    bare_no = bool(claim.denials) and not claim.has_own_result and not sided
    return 0 if implied or bare_no else 1


def _distance(claim: Claim, before: Claim, *, sided: bool) -> int:
    """Return how many sentences away the sign before is; under a heading, from the last result told of it.

    "Lachman. Right, negative. Left, two plus.": one knee after the other, each in a sentence of its own.
    """
    last = max(before.sentence, before.reached) if sided and not before.has_result else before.sentence
    return claim.sentence - last


def _says_neither(claim: Claim) -> bool:
    """Say whether "neither" is all that was said: it denies each of the signs told of the other knee."""
    said = [mod.item for mod in claim.mods if mod.slot]
    return bool(said) and all(item.text.startswith("neither") for item in said)


def _is_told_well(claim: Claim, rows: Sequence[Sequence[Claim]]) -> bool:
    """Say whether "neither" may deny something good: "MCL stable, tender. LCL neither"."""
    near = (each for row in rows for each in row if claim.sentence - each.sentence <= 1)
    return any(said.says == "good" for each in near for said, _ in each.describing)


def _those(claim: Claim, rows: Sequence[Sequence[Claim]]) -> list[Claim]:
    """Return the claims of the sentence before the result, or of its own before it; never a carried one."""
    every = [each for row in rows for each in row if each.head is not None and not each.carried]
    last = every[-1].sentence if every else claim.sentence
    told = [each for each in every if each.sentence == last and claim.sentence - last <= 1]
    return told if all(is_illness(each) and not each.denials for each in told) else []


def _says_result(claim: Claim) -> bool:
    """Say whether a result was said, and not only that something was left out or could not be done."""
    barred = claim.marks("cannot", "not_done", "tolerated", "guarded")
    return not barred or bool(claim.describing or claim.quantities or claim.stretch)


def _is_heading(node: SideNode | None) -> bool:
    return node is not None and node.is_heading


def _carry(claim: Claim, sources: Sequence[Claim], *, taken_back: bool) -> list[Claim]:
    """Give a claim the sign of the first source, and return copies of it for the signs of the others."""
    said = list(claim.mods)
    for source in sources:
        told = source.has_result or bool(source.compartments)
        source.subject = source.subject or (not told and source.only_names)
        source.reached = claim.sentence
    for each in (claim, *sources) if taken_back else ():
        each.ask = each.ask or THEN_OR_NOW
    claim.mods = with_missing(said, sources[0])
    claim.head, claim.carried = sources[0].head, True
    if is_doubted(claim, sources[-1]):
        claim.ask = claim.ask or WHICH_OF_TWO
    if affirms_a_denial(said, sources[0]):
        claim.ask = claim.ask or PRESENT_OR_ABSENT
    if claim.doubt:
        claim.ask = claim.ask or BESIDE_UNKNOWN
        for source in sources:
            if _may_deny(claim, source):
                source.ask = source.ask or BESIDE_UNKNOWN
    return [
        replace(claim, head=source.head, mods=with_missing(said, source), twin=claim)
        for source in sources[1:]
    ]


def _may_deny(claim: Claim, source: Claim) -> bool:
    """Say whether a "not" beside an unknown word may deny the bare sign before it: "effusion not xyz"."""
    bare = claim.joined == "" and claim.sentence == source.sentence and not claim.has_own_result
    return bare and not source.has_own_result


def _is_sided(claim: Claim, events: Sequence[Placed], place: int) -> bool:
    return claim.inner is not None or any(side_at(events, place + step) is not None for step in (-1, 1))


def _fitting(claim: Claim, rows: Sequence[Sequence[Claim]], fit: Fit, *, sided: bool) -> list[Claim]:
    """Return the last claims of which a result can be told: the nearest, or one earlier in the sentence."""
    barred = bool(claim.marks("cannot", "tolerated", "guarded"))
    for number, row in enumerate(reversed(rows)):
        if number and claim.sentence not in {row[-1].sentence, row[-1].reached}:
            break
        fitting = [each for each in row if each.head is not None and _fits(claim, each.head, fit)]
        if barred and (not fitting or (fitting[-1].has_result and (number or not sided))):
            return []
        if fitting:
            return fitting
    return []


def _all_tests(claim: Claim, events: Sequence[Placed], place: int, fit: Fit) -> list[Claim]:
    """Return the tests that "all" or "both" counts: of the knee named before, or of the sentence."""
    headed = side_at(events, place - 1)
    found: dict[tuple[str, tuple[float, ...]], Claim] = {}
    sentence: int | None = None
    for placed in reversed(events[: place - 1 if headed is not None else place]):
        each = placed.event
        if isinstance(each, SideNode) and each.is_heading and headed is not None:
            break
        if not isinstance(each, Claim) or each.head is None or each.withdrawn:
            continue
        sentence = each.sentence if sentence is None else sentence
        if headed is None and each.sentence != sentence:
            break
        tested = each.head.word.kind is Class.TEST or "posterior_sag" in each.head.word.to
        if tested and _fits(claim, each.head, fit):
            found.setdefault((each.head.word.name, each.bends_deg), each)
    return list(reversed(found.values()))


def _shares_with(before: Claim, claim: Claim) -> bool:
    """Say whether two claims were given one result together."""
    if claim.sentence != before.sentence or claim.joined not in {"and", ",", "", "or"}:
        return False
    shared = [mod.item for mod in before.mods if mod.slot in {"result", "grade"} and not mod.pieces]
    own = [mod.item for mod in claim.mods if mod.slot in {"result", "grade"}]
    return bool(shared) and shared == own


def _is_bare_number(claim: Claim) -> bool:
    """Say whether a claim is a mere number, without a unit that would make it a reading."""
    said = [mod.slot for mod in claim.mods if mod.slot]
    bare = all(not each.unit and each.out_of is None for each in claim.quantities)
    return said == ["number"] and bare and not claim.stretch


def _fits(claim: Claim, head: Head, fit: Fit) -> bool:
    for mod in claim.mods:
        said, word = mod.item.value, head.word
        if isinstance(said, Describing) and not fit.describes(said, word):
            return False
        if isinstance(said, Describing) and word.reader == "end_point" and said.key in _OF_A_TEST:
            return False
        if mod.item.tag in _PLACED and not fit.belongs(mod, word):
            return False
        if mod.item.tag is Tag.RANGE and said.high >= A_BEND_DEG and word.reader == "stress":
            return False  # no ligament opens so far: it is the range of the knee
    return True
