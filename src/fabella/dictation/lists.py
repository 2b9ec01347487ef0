"""What signs in a row share: one "no" before them, one result behind them, the sign that stays unsaid."""

from __future__ import annotations

from collections.abc import Container, Sequence

from fabella.dictation.carry import carry_over
from fabella.dictation.claims import Claim, Placed, is_denied_history, is_illness
from fabella.dictation.fitting import Fit
from fabella.dictation.likewise import tell_likewise
from fabella.dictation.nodes import SideNode
from fabella.dictation.sharing import (
    find_by_test,
    find_lag,
    label_stability,
    lend_direction,
    name_otherwise,
    share_result,
    take_likewise,
)
from fabella.dictation.stray import (
    PRESENT_OR_ABSENT,
    ask_about_places,
    ask_beside_denials,
    ask_beside_exceptions,
    ask_beside_numbers,
    join_heights,
    join_places,
    join_reasons,
    note_exceptions,
    says_nothing,
)
from fabella.dictation.vocabulary import Class, Lexicon

_LINKS = {"", ",", "/", "and", "or"}
_LONG = 3
_ADJECTIVES = ("tender", "ttp", "swollen", "warm", "hot", "red", "opens", "sore")
_NOUNS = ("tenderness", "warmth", "redness")


def complete(events: Sequence[Placed], fit: Fit, lexicon: Lexicon) -> tuple[Placed, ...]:
    """Return the events in which every claim has its own sign and its own result, where there is one."""
    for row in _rows(events):
        _spread_denial(row)
        find_by_test(row)
        share_result(row)
        take_likewise(row)
        name_otherwise(row)
        label_stability(row)
    for row in _rows(events, joined={*_LINKS, "but"}):
        find_lag(row)
    lend_direction(events)
    join_reasons(events)
    join_places(events, fit)
    note_exceptions(events)
    join_heights(events)
    done = carry_over([each for each in events if not says_nothing(each)], fit, lexicon)
    done = tell_likewise(done)
    ask_beside_denials(done)
    ask_beside_numbers(done, fit)
    ask_beside_exceptions(done)
    ask_about_places(done)
    return done


def _rows(events: Sequence[Placed], *, joined: Container[str] = _LINKS) -> list[list[Claim]]:
    """Return the runs of claims that follow one another without a side or a turn between."""
    rows: list[list[Claim]] = []
    for placed in events:
        claim = placed.event
        if not isinstance(claim, Claim):
            behind = isinstance(claim, SideNode) and not placed.after_break and not claim.is_heading
            if behind and rows and rows[-1]:
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
        named = _is_named_by_denial(first)
        if first.denials != 1 - named:
            place += 1
            continue
        chain = (named or is_illness(first)) and _bare_after(row, place)
        chain = chain or _tests_after(row, place)
        _reach(first, chain)
        place += 1 + len(chain)


def _is_named_by_denial(claim: Claim) -> bool:
    """Say whether the name of a sign holds the "no" of a list: "no wounds, swelling or bruising"."""
    return claim.is_of(Class.SOUND) and claim.text.startswith("no ")


def _bare_after(row: Sequence[Claim], place: int) -> list[Claim]:
    chain = []
    for claim in row[place + 1 :]:
        if claim.head is None or claim.doubt_before:
            break  # "denies locking, xyz giving way"
        told = bool(claim.head.word.told) or is_illness(claim)
        if claim.has_result or not told or claim.inner is not None or claim.head.word.says:
            break
        if _is_adjective(claim) and not _is_adjective(row[place]) and claim.joined != "or":
            break  # "no effusion, is warm and red"
        chain.append(claim)
    return chain


def _tests_after(row: Sequence[Claim], place: int) -> list[Claim]:
    """Return the bare tests that "or" joins to a denied one: "no laxity to valgus or varus stress"."""
    chain: list[Claim] = []
    if row[place].has_own_result:
        return chain
    for claim in row[place + 1 :]:
        if claim.joined != "or" or not claim.is_of(Class.TEST) or claim.has_result:
            break
        chain.append(claim)
    return chain


def _reach(first: Claim, chain: Sequence[Claim]) -> None:
    """Let a negation reach the bare signs after it, as far as that is certain; ask about the rest."""
    certain = _certain(first, chain)
    for claim in (first, *chain)[:certain]:
        claim.shares = True
    for claim in chain[:certain]:
        claim.negated_by_list = True
        claim.told = first.told or is_denied_history(first)
    for claim in chain[certain:]:
        if _is_adjective(claim):
            claim.ask = ""
            break
        if _may_be_reached(claim):
            claim.ask = claim.ask or PRESENT_OR_ABSENT


def _certain(first: Claim, chain: Sequence[Claim]) -> int:
    """Return how many of the bare signs behind a denied one are certainly denied as well."""
    if not chain or first.marks("denies"):
        return len(chain)
    long, links = len(chain) + 1 >= _LONG, [claim.joined for claim in chain]
    if long and (links[-1] == "and" or set(links) == {","}):
        return len(chain)
    return max((place for place, link in enumerate(links, start=1) if link in {"or", "/"}), default=0)


def _may_be_reached(claim: Claim) -> bool:
    of_no_group = claim.word is not None and not claim.word.group
    return claim.joined in {",", "", "and"} and (
        not claim.has_side_behind or (claim.joined == "and" and of_no_group)
    )


def _is_adjective(claim: Claim) -> bool:
    """Say whether a sign is named by what the knee is ("tender over …"), which a "no" does not reach."""
    return claim.text.startswith(_ADJECTIVES) and not claim.text.startswith(_NOUNS)
