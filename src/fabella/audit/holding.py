"""Whether what a story names is so: not denied, not of the past, not what is no longer possible."""

from __future__ import annotations

import re

from fabella.audit.times import SAME_TIME, STILL, days_ago

_NEGATOR = r"(?:no|not|without|denie[sd]|denying|never|nor|neither|rather than|absence of|free of)"
_NEW_SUBJECT = r"and (?:the|his|her|it|he|she)\b"
_DENIED_HERE = re.compile(
    rf"\b(?:{_NEGATOR}(?: (?!but\b|with\b|except\b|until\b|{_NEW_SUBJECT})\w+){{0,6}}|non) ?$"
)
"""What denies a word that follows; "non" denies the next one only: a "non contact hyperextension" was one."""
_LIST_BEFORE = re.compile(rf"\b{_NEGATOR} [\w ]{{1,40}}(?: , [\w ]{{1,30}})* , $")
_LIST_AFTER = re.compile(r"[\w ]*(?: , [\w ]+)*?(?: ,)? (?:or|nor) ")
_LIST_END = re.compile(
    rf"\b{_NEGATOR} [\w ]{{1,40}}(?: , [\w ]{{1,30}})*(?: ,)? (?:or|nor) (?:any )?(?:\w+ ){{0,2}}$"
)
_PREDICATE = re.compile(r"(?:pain|ache|aching|worse|hurts|swell\w*)\b")  # it begins a new statement
_CLAUSE = re.compile(r"[.;:()]")
_OLD = re.compile(r"\b(?:old|previous|prior|earlier|past|remote|former)(?: \w+){0,4} $")
_YEARS_AGO = re.compile(r"\byears? (?:ago|before|earlier|previously)\b")
_LONG_AGO = re.compile(
    r"^[^,;.]*?\bin (?:the past|childhood|(?:his|her) youth)\b"
    r"|^(?: \w+){0,4} as a (?:child|boy|girl|teenager)\b"
)
_HARMLESS = re.compile(
    r"\b(?:without (?:any )?(?:harm|consequences?)|no harm|got well|healed|recovered|became right)\b"
)
_FIRST_OF_MANY = re.compile(r"\bfirst (?:\w+ )?(?:after|with|in|from|following)\b[^,]*$")
_NEWER = re.compile(
    r"\b(?:for|in|over|now|lately|recent\w*|again|another|past|last|of|spells?|episodes?|bouts?)\b"
)
_MOVING = (
    r"(?:(?:only|mainly|mostly|most|especially|on|in|with|when|while|during|by|and|or|deep|full|long|stairs"
    r"|\w+ing) )*$"
)
_WORSENS = re.compile(
    r"\b(?:worse|worst|aggravated|eased|better|felt|hurts|aches|locks|catches|clicks|snaps|swells|gives way) "
    rf"(?:(?:over|for|since) (?:\w+ ){{1,3}}?)?{_MOVING}"
    rf"|\b(?:spells|bouts|episodes|attacks) (?:\w+ ){{1,7}}?(?:with|on|in|during) {_MOVING}"
)
"""What stands before a movement that makes a complaint worse, and was not its beginning."""
_CANNOT = re.compile(
    r"\b(?:cannot|can not|unable to|not able to|could not|difficulty|difficult to|hard to|trouble) "
    r"(?:(?!after|since|when|following|because)\w+ ){0,3}$"
)
"""What stands before something that the patient can no longer do."""
_SUPPOSED = re.compile(
    r"\b(?:(?:treated|labelled|dismissed|passed off) as|(?:taken|mistaken) for"
    r"|mis(?:diagnosed|read|labelled) as|(?:thought|believed|presumed|supposed|suspected|said) to be"
    r"|put down to|blamed on|(?:first|at first) called|suspected of)"
    r"(?: (?:a|an|the|mere|simple|possible|his|her))* $"
)
"""What stands before a name that others gave the complaint, and that need not be right."""


def is_told(says: re.Pattern[str], text: str, onset_days: float | None) -> bool:
    """Say whether the story tells it of how the complaint began, ``onset_days`` ago."""
    return any(
        not (
            is_denied(text, match)
            or _is_old(text, match, onset_days)
            or _WORSENS.search(text[: match.start()])
            or _CANNOT.search(text[: match.start()])
            or is_supposed(text, match)
        )
        for match in says.finditer(text)
    )


def _is_old(text: str, match: re.Match[str], onset_days: float | None) -> bool:
    """Say whether a match is an old event beside which the story tells of a newer complaint."""
    if _OLD.search(text[: match.start()]) or _LONG_AGO.search(text[match.end() :]):
        return True
    clause = clause_of(text, match)
    newer = text.replace(clause, " ")
    if STILL.search(text):
        return False
    if _HARMLESS.search(clause) and re.search(r"\w", newer):
        return True
    if onset_days and (happened := days_ago(clause)):
        return happened > onset_days * SAME_TIME
    before = _CLAUSE.split(text[: match.start()])[-1]
    past = _YEARS_AGO.search(clause) or _FIRST_OF_MANY.search(before)
    return bool(past and _NEWER.search(newer))


def is_denied(text: str, match: re.Match[str]) -> bool:
    """Say whether the clause of a match, or the list it stands in, denies it."""
    before = _CLAUSE.split(text[: match.start()])[-1]
    after = _CLAUSE.split(text[match.end() :])[0]
    near = re.split(r",| but | then ", before)[-1]
    if _DENIED_HERE.search(near):
        return True
    listed = _LIST_AFTER.match(after) or (_LIST_AFTER.match(match[0]) and not _PREDICATE.match(match[0]))
    within = _LIST_BEFORE.search(before) and listed
    return bool(within or _LIST_END.search(before))


def is_supposed(text: str, match: re.Match[str]) -> bool:
    """Say whether a match is only what somebody took the complaint for: "treated as cellulitis"."""
    return _SUPPOSED.search(text[: match.start()]) is not None


def is_loosely_denied(item: str, text: str, match: re.Match[str]) -> bool:
    """Say whether what is denied is less than the item asks: "no injury, earlier sprain"."""
    if not item.startswith("previous"):
        return False
    less = item == "previous_injury" and re.search(r"injur|trauma", match[0]) is None
    return less or re.search(rf"\b{_NEGATOR} (?:any )?$", text[: match.start()]) is None


def clause_of(text: str, match: re.Match[str]) -> str:
    """Return the clause that a match stands in."""
    before = _CLAUSE.split(text[: match.start()])[-1]
    return before + match[0] + _CLAUSE.split(text[match.end() :])[0]
