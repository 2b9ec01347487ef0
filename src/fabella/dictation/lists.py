"""What signs in a row share: one "no" before them, one result behind them, the sign that stays unsaid."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import replace
from itertools import pairwise

from fabella.dictation.carry import carry_over
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.fitting import Fit
from fabella.dictation.items import Item
from fabella.dictation.nodes import Mod, SideNode
from fabella.dictation.stray import (
    PRESENT_OR_ABSENT,
    ask_beside_denials,
    join_places,
    join_reasons,
    note_exceptions,
    says_nothing,
)
from fabella.dictation.vocabulary import Class, Describing, Lexicon, Tag

_LINKS = {"", ",", "/", "and", "or"}
_JOINING = {"and", "or", "/"}
_OF_LIGAMENTS = {"ligament", "pivot", "dial"}
_SHARED_SLOTS = {"barred", "result", "grade", "degree", "compartment", "angle", "no", "denies"}
_LONG = 3


def complete(events: Sequence[Placed], fit: Fit, lexicon: Lexicon) -> tuple[Placed, ...]:
    """Return the events in which every claim has its own sign and its own result, where there is one."""
    for row in _rows(events):
        _spread_denial(row)
        _by_test(row)
        _share_result(row)
        _likewise(row)
        _by_other_name(row)
    for row in _rows(events, joined={*_LINKS, "but"}):
        _lagging(row)
    join_reasons(events)
    join_places(events, fit)
    note_exceptions(events)
    done = carry_over([each for each in events if not says_nothing(each)], fit, lexicon)
    ask_beside_denials(done)
    return done


def _rows(events: Sequence[Placed], *, joined: Container[str] = _LINKS) -> list[list[Claim]]:
    """Return the runs of claims that follow one another without a side or a turn between."""
    rows: list[list[Claim]] = []
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim):
            if (
                isinstance(claim, SideNode)
                and not placed.after_break
                and not claim.is_heading
                and rows
                and rows[-1]
            ):
                rows[-1][-1].has_side_behind = True
            rows.append([])
        elif not claim.withdrawn:
            if not rows or claim.joined not in joined:
                rows.append([])
            rows[-1].append(claim)
    return [row for row in rows if len(row) > 1]


# ------------------------------------------------------------------ "no effusion, warmth or redness"


def _spread_denial(row: Sequence[Claim]) -> None:
    place = 0
    while place < len(row):
        first = row[place]
        if not first.denials or not _is_illness(first) or first.denials > 1:
            place += 1
            continue
        chain = _bare_after(row, place)
        _reach(first, chain)
        place += 1 + len(chain)


def _bare_after(row: Sequence[Claim], place: int) -> list[Claim]:
    chain = []
    for claim in row[place + 1 :]:
        if claim.head is None:
            if claim.joined in {"or", "and"} and claim.compartments and not claim.has_result:
                chain.append(claim)
                continue
            break
        told = bool(claim.head.word.told) or _is_illness(claim)
        if claim.has_result or not told or claim.inner is not None or claim.head.word.says:
            break
        if _is_adjective(claim) and not _is_adjective(row[place]) and claim.joined != "or":
            break  # "no effusion, is warm and red"
        chain.append(claim)
    return chain


def _is_illness(claim: Claim) -> bool:
    return claim.head is not None and claim.head.word.kind is Class.ILLNESS


def _reach(first: Claim, chain: Sequence[Claim]) -> None:
    """Let a negation reach the bare signs after it, as far as that is certain; ask about the rest."""
    if not chain:
        return
    strong = bool(first.marks("denies"))
    joined = [place for place, claim in enumerate(chain) if claim.joined in {"or", "nor"}]
    joined += [len(chain) - 1] if chain[-1].joined == "and" and len(chain) + 1 >= _LONG else []
    certain = len(chain) if strong else max(joined, default=-1) + 1
    if not certain and len(chain) + 1 >= _LONG and all(claim.joined == "," for claim in chain):
        certain = len(chain)
    for claim in (first, *chain)[:certain]:
        claim.shares = True
    for claim in chain[:certain]:
        claim.negated_by_list = True
        claim.told = first.told or any(mod.item.text.startswith("den") for mod in first.marks("denies"))
    for claim in chain[certain:]:
        if (claim.joined == "and" and claim.head is not None and claim.head.word.group == "") or (
            claim.joined in {",", "", "and"} and not _is_adjective(claim) and not claim.has_side_behind
        ):
            claim.ask = claim.ask or PRESENT_OR_ABSENT
        if _is_adjective(claim):
            claim.ask = ""
            break


def _is_adjective(claim: Claim) -> bool:
    """Say whether a sign is named by what the knee is ("tender over …"), which a "no" does not reach."""
    text = claim.head.text if claim.head is not None else ""
    return text.startswith(
        ("tender", "swollen", "warm", "hot", "red", "opens", "sore")
    ) and not text.startswith(("tenderness", "warmth", "redness"))


# ------------------------------------------------------------------ "Lachman and pivot shift negative"


def _share_result(row: Sequence[Claim]) -> None:
    """Give tests without a result that of the test after them, or one said in front of the test before."""
    for claim, following in pairwise(row):
        if following.joined in _JOINING:
            _share_front(claim, following)
    for place in range(len(row) - 2, -1, -1):
        _share_back(row[place], row[place + 1])
    for claim, following in pairwise(row):
        _share_front(claim, following)
    for one, two in pairwise(row):
        if _is_stress(one) and _is_stress(two) and two.joined in _JOINING:
            _take_bends(one, two)
            _take_bends(two, one)


def _share_front(claim: Claim, following: Claim) -> None:
    """Share what stands in front of a list: "negative Lachman, posterior drawer and pivot shift"."""
    waits = _waits(following) and not _is_illness(following)
    if waits and claim.pre_result and _shareable(claim, following):
        _take(following, claim)
        following.pre_result = claim.shares = True


def _share_back(claim: Claim, following: Claim) -> None:
    """Share what stands behind a list: "Lachman and pivot shift negative"; of illness only "absent"."""
    joined = following.joined in _JOINING
    if not _waits(claim) or following.head is None or following.pre_result or not following.has_result:
        return
    absent = any(said.says == "absent" and not negated for said, negated in following.describing)
    if _is_illness(claim) and not (joined and absent):
        return
    if (joined or _is_like(claim, following)) and _shareable(following, claim):
        _take(claim, following)
        claim.shares = True


def _is_like(claim: Claim, following: Claim) -> bool:
    """Say whether two tests are of one kind, so that a comma is enough to share a result."""
    if claim.head is None or following.head is None:
        return False
    one, two = claim.head.word, following.head.word
    return one.group == two.group or {one.group, two.group} <= _OF_LIGAMENTS


def _is_stress(claim: Claim) -> bool:
    return claim.head is not None and claim.head.word.reader == "stress"


def _take_bends(claim: Claim, source: Claim) -> None:
    """Let a stress test that was named with another share the bends of both: "varus/valgus at 0 and 30"."""
    if not claim.bends_deg and not claim.quantities:
        claim.mods.extend(replace(mod, pieces=()) for mod in source.mods if mod.slot == "angle")


def _likewise(row: Sequence[Claim]) -> None:
    """Give signs behind "as are" the result of the one before: "Lachman negative, as are drawer and sag"."""
    for place, claim in enumerate(row[1:], start=1):
        source = row[place - 1]
        if not claim.marks("like") or claim.has_result or not source.has_result:
            continue
        for each in (claim, *_bare_after_likeness(row, place)):
            _take(each, source)
            if not each.has_result:
                each.ask = each.ask or PRESENT_OR_ABSENT


def _bare_after_likeness(row: Sequence[Claim], place: int) -> list[Claim]:
    found: list[Claim] = []
    for claim in row[place + 1 :]:
        if claim.has_result or claim.head is None or claim.joined not in {"and", "or", ",", "/"}:
            break
        found.append(claim)
    return found


def _by_other_name(row: Sequence[Claim]) -> None:
    """Let "ACL" before its test only name the ligament: "ACL Lachman 2+"."""
    for ligament, test in pairwise(row):
        if ligament.head is None or test.head is None or ligament.head.word.reader != "cruciate":
            continue
        own = [mod for mod in ligament.mods if mod.pieces and mod.slot in _SHARED_SLOTS]
        if not own and test.head.word.family in {"anterior", "drawer"} and test.joined == "":
            ligament.subject = True


def _lagging(row: Sequence[Claim]) -> None:
    """Let the lag told behind a straight-leg raise be its result."""
    for raised, lag in pairwise(row):
        if raised.head is None or lag.head is None or raised.joined == lag.joined == ".":
            continue
        if (
            raised.head.word.to == ("straight_leg_raise",)
            and not raised.has_result
            and lag.head.word.reader == "lag"
        ):
            said = Describing(key="able", says="good") if lag.denials else Describing(key="lag")
            item = Item(tag=Tag.DESCRIBING, value=said, first=0, last=0)
            raised.mods.append(Mod(item=item))


def _by_test(row: Sequence[Claim]) -> None:
    """Let "small effusion on the sweep test" tell the result of the test as well."""
    for found, test in pairwise(row):
        if found.head is None or found.head.word.group != "effusion" or test.head is None or not _waits(test):
            continue
        if test.marks("preposition") and test.joined == "" and test.head.word.kind is Class.TEST:
            traces = [mod.item for mod in found.mods if _key(mod) == "trace"]
            said = "absent" if found.denials else "present"
            result = Describing(key="negative" if found.denials else "positive", says=said)
            plain = Item(tag=Tag.DESCRIBING, value=result, first=0, last=0)
            test.mods.append(Mod(item=traces[0] if traces else plain))


def _key(mod: Mod) -> str:
    return mod.item.value.key if isinstance(mod.item.value, Describing) else ""


def _waits(claim: Claim) -> bool:
    return claim.head is not None and not claim.has_result and claim.head.word.kind in {
        Class.TEST, Class.HEALTH, Class.ILLNESS,
    } and claim.inner is None  # fmt: skip


def _shareable(source: Claim, target: Claim) -> bool:
    """Say whether what was said of one sign can be said of another: a result, never a reading of its own."""
    if source.head is None or target.head is None or source.marks("denies"):
        return False
    one_kind = source.head.word.kind is target.head.word.kind
    if not one_kind and any(said.says in {"present", "absent"} for said, _ in source.describing):
        return False
    return target.head.word.group == source.head.word.group or all(
        not said.fits for said, _ in source.describing
    )


def _take(claim: Claim, source: Claim) -> None:
    own = {mod.slot for mod in claim.mods}
    for mod in source.mods:
        shared = mod.slot in _SHARED_SLOTS or mod.item.tag is Tag.REASON
        if shared and mod.slot not in own and _reaches(mod, claim):
            claim.mods.append(replace(mod, pieces=()))


def _reaches(mod: Mod, claim: Claim) -> bool:
    word = claim.head.word if claim.head is not None else None
    if word is None or mod.slot != "compartment":
        return word is not None
    return Fit.locates(str(mod.item.value), word)
