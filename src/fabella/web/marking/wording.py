"""Marks, grades and how sheets stand, in words."""

from __future__ import annotations

from fabella.exam import Act, Dispute, How, Missing, Station, Value

MISSING_WORDS = {Missing.NOT_OBSERVED: "not observed", Missing.NOT_OFFERED: "not offered"}

HOW_WORDS = {
    How.NOT_BEGUN: "not begun",
    How.GOING: "being marked",
    How.HALF_EMPTY: "finished, half empty",
    How.FINISHED: "finished",
}

_ABOUT = {Act.GRADE: "Global rating", Act.CONCERN: "Concern for safety"}


def value_words(about: Act, item: str, value: Value, station: Station) -> str:
    """Return what was said, as a person would read it out."""
    if value is None:
        return "no concern" if about is Act.CONCERN else "nothing"
    if about is Act.GRADE:
        return next((each.name for each in station.grades if each.code == value), str(value))
    if isinstance(value, Missing):
        return MISSING_WORDS[value]
    if about is Act.MARK:
        anchors = next((each.anchors for each in station.items if each.id == item), ())
        in_words = f": {anchors[value]}" if isinstance(value, int) and value < len(anchors) else ""
        return f"{value}{in_words}"
    return f"“{value}”"


def about_words(about: Act, item: str, station: Station) -> str:
    """Return what a statement is about."""
    words = next((each.words for each in station.items if each.id == item), item)
    if about is Act.COMMENT:
        return f"Comment: {words}" if item else "Comment on the whole"
    return _ABOUT.get(about, words)


def dispute_words(dispute: Dispute, station: Station) -> str:
    """Return a dispute in one line."""
    said = " or ".join(
        value_words(dispute.about, dispute.item, each.value, station) for each in dispute.choices
    )
    return f"{about_words(dispute.about, dispute.item, station)}: {said}"
