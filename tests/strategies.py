"""Hypothesis strategies that other tests reuse: any valid examination that the protocol allows."""

from __future__ import annotations

from datetime import date
from functools import partial

from hypothesis import strategies as st

from fabella.anatomy import Side, load_lesions
from fabella.protocol import Kind, Protocol, Sign
from fabella.record import (
    SCORES,
    Acuity,
    Answer,
    Context,
    Examination,
    Finding,
    ImageKind,
    Imaging,
    Mechanism,
    Origin,
    Patient,
    Procedure,
    ProcedureName,
    Reason,
    Setting,
    Sex,
    State,
    Total,
)
from fabella.record.contradictions import DIFFERENCES, RULES

TODAY = date(2025, 6, 30)

_Place = tuple[Sign, Side | None]

# No control characters, halves of surrogate pairs or line separators.
_characters = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"))
lines = st.text(_characters, min_size=1, max_size=40).filter(lambda text: bool(text.strip()))
prose = st.builds("{}{}{}".format, lines, st.sampled_from(["", "\n", "\r\n", "\n\t"]), lines)
ids = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,20}", fullmatch=True)


_totals = st.lists(
    st.sampled_from(list(SCORES.values())).flatmap(
        lambda score: st.builds(
            Total,
            score=st.just(score.id),
            value=st.floats(score.low, score.high),
            side=st.none() | st.sampled_from(Side),
        )
    ),
    max_size=3,
    unique_by=lambda total: (total.score, total.side),
).map(tuple)


def _imaging(until: date) -> st.SearchStrategy[tuple[Imaging, ...]]:
    image = st.builds(
        Imaging,
        image=st.sampled_from(ImageKind),
        side=st.sampled_from(Side),
        on=st.none() | st.dates(date(1900, 1, 1), until),
        shows=st.none() | st.lists(st.sampled_from(list(load_lesions())), max_size=3, unique=True).map(tuple),
        words=st.none() | prose,
    )
    return st.lists(image, max_size=3, unique_by=lambda each: (each.image, each.side)).map(tuple)


@st.composite
def examinations(
    draw: st.DrawFn, protocol: Protocol, *, max_findings: int = 12, max_answers: int = 6
) -> Examination:
    """Any examination whose file is right on or after `TODAY`."""
    origin = draw(st.sampled_from(Origin))
    patient = st.builds(
        Patient,
        age_years=st.none() | st.floats(0, 120),
        sex=st.none() | st.sampled_from(Sex),
        label=st.none() | lines,
    )
    examined_on = draw(st.none() | st.dates(date(1900, 1, 1), TODAY))
    procedure = st.builds(
        Procedure,
        name=st.sampled_from(ProcedureName),
        sides=st.lists(st.sampled_from(Side), min_size=1, unique=True).map(tuple),
        on=st.dates(date(1900, 1, 1), examined_on or TODAY),
    )
    context = st.builds(
        Context,
        setting=st.none() | st.sampled_from(Setting),
        acuity=st.none() | st.sampled_from(Acuity),
        onset_days=st.none() | st.floats(0, 366),  # nobody is too young for a year
        mechanism=st.none() | st.sampled_from(Mechanism),
        mechanism_words=st.none() | prose,
        complaint=st.none() | st.lists(st.sampled_from(Side), unique=True).map(tuple),
        procedure=st.none() | procedure,
    )
    return Examination(
        id=draw(ids),
        origin=origin,
        source=draw(prose if origin is Origin.PUBLISHED else st.none() | prose),
        examined_on=examined_on,
        examiner=draw(st.none() | lines),
        patient=draw(patient),
        context=draw(context),
        consent_given=draw(st.none() | st.booleans()),
        chaperone_offered=draw(st.none() | st.booleans()),
        pain_asked=draw(st.none() | st.booleans()),
        conclusion_hidden=draw(st.none() | st.booleans()),
        history=draw(_histories(protocol, max_answers)),
        totals=draw(_totals),
        imaging=draw(_imaging(examined_on or TODAY)),
        findings=draw(_findings(protocol, max_findings)),
    )


@st.composite
def findings_of(draw: st.DrawFn, sign: Sign, side: Side | None) -> Finding:
    """Any finding that one sign allows on one side."""
    levels = [level.id for level in sign.scale.levels]
    measure = sign.scale.measure
    make = partial(Finding, sign=sign.id, side=side, note=draw(st.none() | prose))
    state = draw(st.sampled_from([*State, *([None] if measure else [])]))
    if state is State.NOT_EXAMINED:
        return make(state=state)
    if state is State.UNTESTABLE:
        return make(state=state, reason=draw(st.sampled_from(Reason)))
    fitting = levels[:1] if state is State.NORMAL else levels[1:] if state is State.ABNORMAL else []
    measured = measure is not None and (state is None or draw(st.booleans()))
    return make(
        state=state,
        level=draw(st.sampled_from([None, *fitting])),
        value=draw(st.floats(measure.low, measure.high)) if measure and measured else None,
        unit=measure.unit.value if measure and measured else None,
        method=draw(st.none() | lines),
    )


@st.composite
def _findings(draw: st.DrawFn, protocol: Protocol, most: int) -> tuple[Finding, ...]:
    places: list[_Place] = [
        (sign, side)
        for sign in protocol.signs
        if sign.kind not in {Kind.HISTORY, Kind.COURTESY}
        for side in ((None,) if sign.is_person else tuple(Side))
    ]
    chosen: dict[tuple[str, Side | None], Finding] = {}
    for index in draw(st.lists(st.integers(0, len(places) - 1), max_size=most, unique=True)):
        sign, side = places[index]
        if not _at_odds(sign.id, side) & chosen.keys():
            chosen[sign.id, side] = draw(findings_of(sign, side))
    return tuple(chosen.values())


@st.composite
def _histories(draw: st.DrawFn, protocol: Protocol, most: int) -> dict[str, Answer]:
    answers: dict[str, Answer] = {}
    for sign in draw(
        st.lists(st.sampled_from(protocol.history()), max_size=most, unique_by=lambda each: each.id)
    ):
        measure = sign.scale.measure
        answers[sign.id] = draw(st.floats(measure.low, measure.high) if measure else st.booleans())
    if "swelling_onset_hours" in answers:  # a swelling that nobody noticed has no hour
        answers.pop("swelling_noticed", None)
    return answers


def _at_odds(sign_id: str, side: Side | None) -> set[tuple[str, Side | None]]:
    """Everything that might contradict a sign, in whatever it says."""
    pairs = [(rule.one, rule.other) for rule in RULES]
    pairs += [(other, one) for one, other in pairs]
    differences = {(sign_id, each) for each in Side} if sign_id in DIFFERENCES else set()
    return {(other, side) for one, other in pairs if one == sign_id} | differences
