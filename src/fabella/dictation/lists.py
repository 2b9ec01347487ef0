"""What signs in a row share: one "no" before them, one result behind them, the sign that stays unsaid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fabella.dictation.attach import Fit
from fabella.dictation.claims import Claim, Placed
from fabella.dictation.items import Item, Quantity
from fabella.dictation.lexicon import Class, Describing, Lexicon, SignWord, Tag
from fabella.dictation.nodes import Head, Mod, SideNode, Turn

PRESENT_OR_ABSENT = "does the “no” before it reach so far? Present or absent?"
_LINKS = {"", ",", "/", "and", "or"}
_SHARED_SLOTS = {"result", "grade", "degree", "compartment", "angle", "no", "denies"}
_LONG = 3


def complete(events: Sequence[Placed], fit: Fit, lexicon: Lexicon) -> tuple[Placed, ...]:
    """Return the events in which every claim has its own sign and its own result, where the speaker gave one."""
    for row in _rows(events):
        _spread_denial(row)
        _share_result(row)
        _lagging(row)
        _by_test(row)
    return _carry_over(events, fit, lexicon)


def _rows(events: Sequence[Placed]) -> list[list[Claim]]:
    """Return the runs of claims that follow one another without a side or a turn between."""
    rows: list[list[Claim]] = []
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim):
            if isinstance(claim, SideNode) and not placed.after_break and not claim.is_heading and rows and rows[-1]:
                rows[-1][-1].has_side_behind = True
            rows.append([])
        elif not claim.withdrawn:
            if not rows or claim.joined not in _LINKS:
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
        if claim.has_result or not _is_illness(claim) or claim.inner is not None:
            break
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
    for claim in chain[:certain]:
        claim.negated_by_list = True
        claim.told = first.told or strong
    for claim in chain[certain:]:
        if claim.joined == "and" and claim.head is not None and claim.head.word.group == "":
            claim.ask = claim.ask or PRESENT_OR_ABSENT
        elif claim.joined in {",", "", "and"} and not _is_adjective(claim) and not claim.has_side_behind:
            claim.ask = claim.ask or PRESENT_OR_ABSENT
        if _is_adjective(claim):
            claim.ask = ""
            break


def _is_adjective(claim: Claim) -> bool:
    """Say whether a sign is named by what the knee is ("tender over …"), which a "no" does not reach."""
    text = claim.head.text if claim.head is not None else ""
    return text.startswith(("tender", "swollen", "warm", "hot", "red", "opens", "sore")) and not text.startswith(
        ("tenderness", "warmth", "redness")
    )


# ------------------------------------------------------------------ "Lachman and pivot shift negative"


def _share_result(row: Sequence[Claim]) -> None:
    for place in range(len(row) - 2, -1, -1):
        claim, following = row[place], row[place + 1]
        if not _waits(claim) or following.joined == "but" or following.head is None:
            continue
        absent = any(said.says == "absent" and not negated for said, negated in following.describing)
        joined = following.joined in {"and", "or", "/"}
        bare_illness = _is_illness(claim)
        if bare_illness and not (joined and absent and not following.pre_result):
            continue
        if not following.pre_result and following.has_result and _shareable(following, claim):
            _take(claim, following)
    for claim, following in zip(row, row[1:], strict=False):
        waits = _waits(following) and following.head is not None and not _is_illness(following)
        if waits and claim.pre_result and _shareable(claim, following):
            _take(following, claim)
            following.pre_result = True


def _lagging(row: Sequence[Claim]) -> None:
    """Let the lag told behind a straight-leg raise be its result."""
    for raised, lag in zip(row, row[1:], strict=False):
        if raised.head is None or lag.head is None or raised.joined == lag.joined == ".":
            continue
        if raised.head.word.to == ("straight_leg_raise",) and not raised.has_result and lag.head.word.reader == "lag":
            said = Describing(key="able", says="good") if lag.denials else Describing(key="lag")
            item = Item(tag=Tag.DESCRIBING, value=said, first=0, last=0)
            raised.mods.append(Mod(item=item))


def _by_test(row: Sequence[Claim]) -> None:
    """Let "small effusion on the sweep test" tell the result of the test as well."""
    for found, test in zip(row, row[1:], strict=False):
        if found.head is None or found.head.word.group != "effusion" or not found.has_result or not _waits(test):
            continue
        if test.marks("preposition") and test.head is not None and test.head.word.kind is Class.TEST:
            traces = [mod for mod in found.mods if isinstance(mod.item.value, Describing) and mod.item.value.key == "trace"]
            said = Describing(key="negative", says="absent") if found.denials else Describing(key="positive", says="present")
            item = traces[0].item if traces else Item(tag=Tag.DESCRIBING, value=said, first=0, last=0)
            test.mods.append(Mod(item=item))


def _waits(claim: Claim) -> bool:
    return claim.head is not None and not claim.has_result and claim.head.word.kind in {
        Class.TEST, Class.HEALTH, Class.ILLNESS,
    } and claim.inner is None  # fmt: skip


def _shareable(source: Claim, target: Claim) -> bool:
    """Say whether what was said of one sign can be said of another: a result, never a reading of its own."""
    if source.head is None or target.head is None or source.marks("denies"):
        return False
    return target.head.word.group == source.head.word.group or all(
        not said.fits for said, _ in source.describing
    )


def _take(claim: Claim, source: Claim) -> None:
    own = {mod.slot for mod in claim.mods}
    for mod in source.mods:
        if mod.slot in _SHARED_SLOTS and mod.slot not in own and _reaches(mod, claim):
            claim.mods.append(replace(mod, pieces=()))


def _reaches(mod: Mod, claim: Claim) -> bool:
    word = claim.head.word if claim.head is not None else None
    if word is None or mod.slot != "compartment":
        return word is not None
    return Fit.locates(str(mod.item.value), word)


# ------------------------------------------------------------------ "negative on the left"


def _carry_over(events: Sequence[Placed], fit: Fit, lexicon: Lexicon) -> tuple[Placed, ...]:
    """Give claims without a sign the sign of the claim before; of several that shared one result, all of them."""
    kept: list[Placed] = []
    before: list[Claim] = []
    earlier: list[list[Claim]] = []
    for place, placed in enumerate(events):
        kept.append(placed)
        claim = placed.event
        if isinstance(claim, SideNode | Turn) or claim.withdrawn:
            continue
        if claim.head is not None:
            joined = bool(before) and not claim.carried and _shares_with(before[-1], claim)
            if not joined and before:
                earlier.append(before)
            before = [*before, claim] if joined else [claim]
            continue
        if _says_whole(claim, events, place, before):
            claim.whole = True
            continue
        if not _is_open(claim) or _is_stray_number(claim, events, place) or not before or claim.sentence - before[-1].sentence > 1:
            _imply(claim, lexicon)
            continue
        fitting = _fitting(claim, [*earlier, before], fit)
        implied = next((said.implies for said, _ in claim.describing if said.implies), "")
        if not fitting or (implied and claim.sentence != before[-1].sentence):
            _imply(claim, lexicon)
            continue
        for source in fitting:
            names_only = source.head is not None and source.head.word.kind in {Class.TEST, Class.HEALTH}
            source.subject = source.subject or (names_only and not source.has_result)
        for source in fitting[1:]:
            copy = Claim(
                head=source.head, sentence=claim.sentence, joined=claim.joined, mods=_with_missing(claim, source),
                inner=claim.inner, carried=True, rest=claim.rest, doubt=claim.doubt,
            )  # fmt: skip
            kept.append(Placed(event=copy, sentence=placed.sentence, after_break=False))
        claim.mods = _with_missing(claim, fitting[0])
        claim.head, claim.carried = fitting[0].head, True
    return tuple(kept)


def _fitting(claim: Claim, rows: Sequence[Sequence[Claim]], fit: Fit) -> list[Claim]:
    """Return the last claims of which a result can be told: the nearest, or one before it in the same sentence."""
    barred = bool(claim.marks("cannot", "tolerated", "guarded"))
    for number, row in enumerate(reversed(rows)):
        if number and row[-1].sentence != claim.sentence:
            break
        fitting = [each for each in row if each.head is not None and _fits(claim, each.head, fit)]
        if barred and (not fitting or fitting[-1].has_result):
            return []
        if fitting:
            return fitting
    return []


def _says_whole(claim: Claim, events: Sequence[Placed], place: int, before: Sequence[Claim]) -> bool:
    """Say whether "normal" without a sign means the whole knee and not the sign named before.

    "Left normal" means the sign before when that was given a side of its own ("Lachman right 2+, left normal").
    """
    if not any(said.whole and not negated for said, negated in claim.describing):
        return False
    if claim.compartments or claim.bends_deg or claim.quantities:
        return False
    if claim.rest or claim.knee or any(said.phrase for said, _ in claim.describing):
        return True
    parted = events[place].after_break
    ahead, behind = None if parted else _side_at(events, place - 1), _side_at(events, place + 1)
    if ahead is None:
        return behind is not None and (not before or before[-1].sentence != claim.sentence)
    if ahead.knee or ahead.colon or not before:
        return True
    earlier = next(at for at, each in enumerate(events) if each.event is before[-1])
    beside = (_side_at(events, earlier - 1), _side_at(events, earlier + 1) if earlier + 1 < place - 1 else None)
    own = before[-1].inner is not None or any(node is not None and not node.is_heading for node in beside)
    return not own


def _side_at(events: Sequence[Placed], place: int) -> SideNode | None:
    event = events[place].event if 0 <= place < len(events) else None
    return event if isinstance(event, SideNode) else None


def _shares_with(before: Claim, claim: Claim) -> bool:
    """Say whether two claims were given one result together."""
    if claim.sentence != before.sentence or claim.joined not in {"and", ",", "", "or"}:
        return False
    shared = [mod.item for mod in before.mods if mod.slot in {"result", "grade"} and not mod.pieces]
    own = [mod.item for mod in claim.mods if mod.slot in {"result", "grade"}]
    return bool(shared) and shared == own


def _is_open(claim: Claim) -> bool:
    return claim.has_result or bool(claim.compartments and claim.denials)


def _is_stray_number(claim: Claim, events: Sequence[Placed], place: int) -> bool:
    """Say whether a claim is a mere number, without a unit or a side that would make it a reading of something."""
    sided = any(_side_at(events, place + step) is not None for step in (-1, 1)) or claim.inner is not None
    said = [mod for mod in claim.mods if mod.slot]
    bare = len(said) == 1 and said[0].slot == "number" and not sided
    return bare and all(not each.unit and each.out_of is None for each in claim.quantities) and not claim.stretch


def _fits(claim: Claim, head: Head, fit: Fit) -> bool:
    for mod in claim.mods:
        said = mod.item.value
        if isinstance(said, Describing) and not fit.describes(said, head.word):
            return False
        if isinstance(said, Describing) and head.word.reader == "end_point" and said.key in {"positive", "negative"}:
            return False
        if mod.item.tag in {Tag.NUMBER, Tag.RANGE} and not fit.measures(mod, head.word):
            return False
        if mod.item.tag in {Tag.COMPARTMENT, Tag.BOW} and not fit.locates(str(mod.item.value), head.word):
            return False
    return True


def _with_missing(claim: Claim, source: Claim) -> list[Mod]:
    """Return what was said, with where and at which bend taken from the claim before where it was not said anew."""
    own = {mod.slot for mod in claim.mods}
    unit = next((each.unit for each in source.quantities if each.unit), "")
    said = [_with_unit(mod, unit) for mod in claim.mods]
    added = [
        replace(mod, pieces=())
        for mod in source.mods
        if mod.slot in {"compartment", "angle"} and mod.slot not in own
    ]
    return [*said, *added]


def _with_unit(mod: Mod, unit: str) -> Mod:
    """Return a number without a unit with that of the number before it: "ten millimetres, and five in extension"."""
    value = mod.item.value
    if not isinstance(value, Quantity) or value.unit or value.out_of is not None:
        return mod
    return replace(mod, item=replace(mod.item, value=replace(value, unit=unit)))


def _imply(claim: Claim, lexicon: Lexicon) -> None:
    """Give a claim without a sign the one that its words imply: "stable" speaks of the ligaments."""
    if not any(said.implies for said, _ in claim.describing):
        return
    word: SignWord = lexicon.stress if claim.bends_deg or claim.compartments else lexicon.ligaments
    claim.head, claim.carried = Head(word=word, pieces=()), True
