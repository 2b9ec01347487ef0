"""One examination of both knees, frozen as it was found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from types import MappingProxyType

from fabella.anatomy import Side
from fabella.record.context import Acuity, Context, Patient
from fabella.record.finding import Finding, State
from fabella.record.imaging import ImageKind, Imaging, SetAside
from fabella.record.totals import Procedure, Total

FORMAT = "fabella.examination/1"

Answer = bool | float


IMAGE_COUNTS_DAYS = 365
"""Age in days beyond which an image tells of another time (judgement)."""

EMPTY_VEINS_COUNT_DAYS = 8
"""Age in days beyond which veins without a clot say nothing of today: NICE NG158 scans anew after 6 to 8."""

_MEANT_DAYS = {Acuity.ACUTE: 14, Acuity.SUBACUTE: 84}  # how long ago at most, without a number (judgement)
_ROUNDED = 0.1  # of the days since onset: six weeks may be 46 days; one day at least (judgement)


class Origin(StrEnum):
    """Where an examination comes from; only one of a patient may become a clinical letter."""

    PATIENT = "patient"
    PUBLISHED = "published"
    INVENTED = "invented"
    SIMULATED = "simulated"


class History(Mapping[str, Answer]):
    """The answers of the history, by item: true, false or a number; an absent item is unknown, never a no.

    Items that are not of the person concern the knee or knees complained of. Frozen, hashable, in order of
    name.
    """

    __slots__ = ("_answers",)

    def __init__(self, answers: Mapping[str, Answer] | Iterable[tuple[str, Answer]] = ()) -> None:
        self._answers = MappingProxyType(dict(sorted(dict(answers).items())))

    def __getitem__(self, item: str) -> Answer:
        return self._answers[item]

    def __contains__(self, item: object) -> bool:
        return item in self._answers

    def __iter__(self) -> Iterator[str]:
        return iter(self._answers)

    def __len__(self) -> int:
        return len(self._answers)

    def __hash__(self) -> int:
        return hash(tuple(self._answers.items()))

    def __repr__(self) -> str:
        return f"History({dict(self._answers)})"

    def __reduce__(self) -> tuple[type[History], tuple[dict[str, Answer]]]:
        return History, (dict(self._answers),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Examination:
    """One encounter: the patient, the history and the findings on both knees; whatever is None is unknown.

    Nothing is checked here: `read_examination` checks what a file holds, `check_examination` what a program
    made.

    Parameters
    ----------
    id
        A local one: letters, digits, dots, dashes and underscores.
    origin
        Whether the patient is real, published, invented or simulated.
    history
        Answers by item; any mapping may be given and is frozen as a `History`.
    totals
        Of questionnaires, at most one for each score and side.
    imaging
        Images there were before the conclusion, at most one for each kind and side.
    findings
        In the order in which they were made, at most one for each sign and side.
    source
        The citation of a published case.
    consent_given, chaperone_offered, pain_asked
        Whether consent was given, a chaperone offered, and the painful spot asked for before touching.
    conclusion_hidden
        Whether the examiner saw no conclusion before the examination was finished.
    examiner
        A local label of who examined.
    """

    id: str
    origin: Origin
    format: str = FORMAT
    examined_on: date | None = None
    patient: Patient = field(default_factory=Patient)
    context: Context = field(default_factory=Context)
    history: Mapping[str, Answer] = field(default_factory=History)
    totals: tuple[Total, ...] = ()
    imaging: tuple[Imaging, ...] = ()
    findings: tuple[Finding, ...] = ()
    source: str | None = None
    consent_given: bool | None = None
    chaperone_offered: bool | None = None
    pain_asked: bool | None = None
    conclusion_hidden: bool | None = None
    examiner: str | None = None
    _found: Mapping[tuple[str, Side | None], Finding] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not isinstance(self.history, History):
            object.__setattr__(self, "history", History(self.history))
        object.__setattr__(self, "findings", tuple(self.findings))
        object.__setattr__(self, "totals", tuple(self.totals))
        object.__setattr__(self, "imaging", tuple(self.imaging))
        found = {(each.sign, each.side): each for each in reversed(self.findings)}  # the first one counts
        object.__setattr__(self, "_found", found)

    @property
    def sides(self) -> tuple[Side, ...]:
        """The knees on which something was at least tried."""
        tried = {each.side for each in self.findings if each.state is not State.NOT_EXAMINED}
        return tuple(side for side in Side if side in tried)

    def procedure_of(self, side: Side) -> Procedure | None:
        """Return the latest thing done to a knee, or None when the record has none."""
        done = self.context.procedure
        return done if done is not None and side in done.sides else None

    def days_since_operation(self, side: Side) -> int | None:
        """Return the days from the latest operation on a knee to the examination, or None when unknown."""
        done = self.procedure_of(side)
        if done is None or self.examined_on is None or not done.name.is_operation:
            return None
        return (self.examined_on - done.on).days

    def operated_since_onset(self, side: Side) -> bool | None:
        """Say whether a knee was operated on, by the record, on or after the day its complaint began.

        None when it was operated on and nobody knows when that was.
        """
        days, onset = self.days_since_operation(side), self.context.onset_days
        if days is None:
            return False
        return None if onset is None else days <= onset

    def images_of(self, side: Side) -> tuple[Imaging, ...]:
        """Return the images of a knee that are weighed: those that nothing sets aside."""
        return tuple(each for each in self.images_seen(side) if self.set_aside(each) is None)

    def images_seen(self, side: Side) -> tuple[Imaging, ...]:
        """Return the images of a knee that tell of this complaint, those of limited value among them.

        What these show is acted on; what they do not show may be there, so that they answer nothing.
        """
        told = (None, SetAside.LIMITED)
        return tuple(each for each in self.imaging if each.side is side and self.set_aside(each) in told)

    def set_aside(self, image: Imaging) -> SetAside | None:
        """Say why an image is not weighed, or None when it is.

        It is when it is not of limited value and tells of this complaint: it has no day, or was taken since
        the complaint began, give or take what its days were rounded by, since the latest operation on that
        knee, and at most `IMAGE_COUNTS_DAYS` before the examination (`EMPTY_VEINS_COUNT_DAYS` a scan that
        found no clot), as far as those days are known.
        """
        limited = SetAside.LIMITED if image.limited and image.shows is not None else None
        if image.on is None or self.examined_on is None:
            return limited
        days_ago = (self.examined_on - image.on).days
        empty = image.image is ImageKind.VEIN_ULTRASOUND and image.shows == ()
        limits = {
            SetAside.BEFORE_OPERATION: self.days_since_operation(image.side),
            SetAside.BEFORE_COMPLAINT: self._began_at_most_days_ago(),
            SetAside.TOO_OLD: EMPTY_VEINS_COUNT_DAYS if empty else IMAGE_COUNTS_DAYS,
        }
        return next((why for why, days in limits.items() if days is not None and days_ago > days), limited)

    def _began_at_most_days_ago(self) -> float | None:
        onset, acuity = self.context.onset_days, self.context.acuity
        if onset is not None:
            return onset + max(1, _ROUNDED * onset)
        return None if acuity is None else _MEANT_DAYS.get(acuity)

    def finding(self, sign: str, side: Side | None = None) -> Finding | None:
        """Return what was found for a sign on a side (None = of the person), or None if nothing is stated."""
        return self._found.get((sign, side))

    def state(self, sign: str, side: Side | None = None) -> State | None:
        """Return the state of a sign on a side: not examined if nothing is stated, None if only measured."""
        found = self.finding(sign, side)
        return State.NOT_EXAMINED if found is None else found.state

    def history_item(self, item: str) -> Answer | None:
        """Return the answer to a history item, or None when it is unknown."""
        if item not in self.history:  # by far the most, and much quicker than the error that `get` catches
            return None
        return self.history[item]

    def with_finding(self, finding: Finding) -> Examination:
        """Return a copy in which this finding replaces that of the same sign and side, or is added last."""
        key = (finding.sign, finding.side)
        if self.finding(*key) is None:
            return replace(self, findings=(*self.findings, finding))
        kept = (finding if (each.sign, each.side) == key else each for each in self.findings)
        return replace(self, findings=tuple(kept))

    def without(self, sign: str, side: Side | None = None) -> Examination:
        """Return a copy in which nothing is stated about a sign on a side."""
        kept = (each for each in self.findings if (each.sign, each.side) != (sign, side))
        return replace(self, findings=tuple(kept))
