"""Signs that need a place: tenderness, swelling, gaps."""

from __future__ import annotations

from collections.abc import Sequence

from fabella.dictation.claims import Claim
from fabella.dictation.lump_findings import of_the_lump
from fabella.dictation.outcome import Judge, Outcome, stated
from fabella.dictation.vocabulary import Class, SignWord
from fabella.record import State

WHERE = "where exactly?"
OF_WHAT = "only the swelling, or nowhere?"
_JOINT_LINE = "joint_line_tenderness"


def read_tenderness(claim: Claim, word: SignWord, before: Sequence[Claim], judge: Judge) -> Outcome | None:
    """Read tenderness at its sites; without one, only "not tender" says something."""
    state = State.NORMAL if _is_nothing_there(claim) else judge.state(claim, word)
    if claim.head is None or state is None:
        return None
    if _is_of_swelling(claim, before):
        nowhere = stated(judge.lexicon.nowhere, State.NORMAL)
        return Outcome(question=OF_WHAT, choices=(("nowhere tender", nowhere),))
    if sites := _sites(claim, claim.head.sites or _told_before(claim, before) or _across(claim, before)):
        return Outcome(findings=stated(dict.fromkeys(sites), state))
    if claim.of_lump and not claim.compartments:
        return of_the_lump(claim, state, judge)
    if claim.compartments:
        wide = [each for side in claim.compartments for each in judge.lexicon.wide_sites.get(side, ())]
        choices = tuple((judge.protocol.sign(each).name, stated([each], state)) for each in wide)
        return Outcome(question=WHERE, choices=choices)
    elsewhere = claim.carried and claim.is_of(Class.ILLNESS)  # "a bit tender. On the left nothing"
    if state is State.NORMAL and not claim.doubt and not elsewhere:
        return Outcome(findings=stated(judge.lexicon.nowhere, State.NORMAL))
    return Outcome(question=WHERE)


def _is_nothing_there(claim: Claim) -> bool:
    """Say whether "nil" is said of the other knee behind "not tender" at a place; it denies no denial."""
    nil = any(said.says == "absent" and not negated for said, negated in claim.describing)
    there = claim.head is not None and bool(claim.head.sites)
    return nil and there and claim.carried and claim.is_of(Class.SOUND)


def _sites(claim: Claim, named: Sequence[str]) -> list[str]:
    """Return the tender sites, with what "medially" beside them makes of them."""
    sites = list(named)
    sides = [each for each in claim.compartments if each in {"medial", "lateral"}]
    if _JOINT_LINE in sites and sides:
        sites.remove(_JOINT_LINE)
        return [*sites, *(f"{_JOINT_LINE}_{side}" for side in sides)]
    return [_twin(site, sides[-1]) for site in sites] if claim.carried and sides else sites


def _told_before(claim: Claim, before: Sequence[Claim]) -> tuple[str, ...]:
    """Return the sites that were tender on the other knee: "inferior pole tender right, left not tender"."""
    last = before[-1] if before else None
    if last is None or not _is_bare(claim) or last.sentence != claim.sentence or last.head is None:
        return ()
    other_knee = bool(last.sides and claim.sides) and not set(last.sides) & set(claim.sides)
    tender = last.head.word.reader == "tenderness" and not last.denials
    return last.head.sites if tender and other_knee else ()


def _across(claim: Claim, before: Sequence[Claim]) -> tuple[str, ...]:
    """Return the joint line that "medial not tender" means behind a tender lateral one."""
    last = before[-1] if before else None
    if last is None or last.word is None or claim.sentence - last.sentence > 1:
        return ()
    told = last.head.sites if last.head is not None and last.head.sites else last.word.to
    wanted = tuple(f"{_JOINT_LINE}_{each}" for each in claim.compartments)
    lines = {f"{_JOINT_LINE}_medial", f"{_JOINT_LINE}_lateral"}
    if (last.sentence, last.sides) != (claim.sentence, claim.sides):
        lines.add(_JOINT_LINE)
        return wanted if len(wanted) == 1 and set(told) <= lines else ()
    return wanted if len(wanted) == 1 and {*told, *wanted} == lines else ()


def _is_of_swelling(claim: Claim, before: Sequence[Claim]) -> bool:
    """Say whether "non-tender" may be said of a swelling before it in its sentence and not of the knee."""
    last = before[-1] if before else None
    if last is None or last.head is None or not _is_bare(claim) or last.sentence != claim.sentence:
        return False
    swollen = {"posterior_swelling", "prepatellar_swelling"} & set(last.head.word.signs)
    return bool(swollen) and not last.denials and last.sides == claim.sides


def _is_bare(claim: Claim) -> bool:
    """Say whether a claim is a mere "not tender"; "no tenderness" is said of a knee."""
    if claim.head is None or claim.rest or claim.compartments or claim.head.sites:
        return False
    return claim.head.text in {"tender", "nontender", "non tender", "non - tender", "not tender"}


def read_at_site(claim: Claim, word: SignWord, judge: Judge) -> Outcome | None:
    """Read a sign that its site turns into another: a gap in a tendon, swelling behind the knee."""
    state = judge.state(claim, word)
    if claim.head is None or state is None:
        return None
    signs = [word.at[site] for site in claim.head.sites if site in word.at]
    if signs:
        return Outcome(findings=stated(dict.fromkeys(signs), state))
    if word.to:
        return None
    if state is State.NORMAL and word.normal_to:
        return Outcome(findings=stated(word.normal_to, state))
    return Outcome(question=WHERE)


def _twin(site: str, side: str) -> str:
    """Return a site on the other side of the knee: "tender medially over the joint line, not laterally"."""
    for each in ("medial", "lateral"):
        site = site.replace(f"_{each}", f"_{side}")
    return site
