"""What a rule is: criteria, the question to ask while one is unknown, the action, and the source."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from fabella.record import ImageKind

CLAUSES = "; "
"""What stands between the clauses of an ``ask``."""


class Urgency(StrEnum):
    """How long a matter can wait, the most urgent first."""

    NOW = "now"
    SAME_DAY = "same_day"
    WITHIN_48_HOURS = "within_48_hours"
    WITHIN_2_WEEKS = "within_2_weeks"
    ROUTINE_BUT_DO_NOT_MISS = "routine_but_do_not_miss"

    @property
    def presses(self) -> bool:
        """Whether it cannot wait beyond two days."""
        return self in (Urgency.NOW, Urgency.SAME_DAY, Urgency.WITHIN_48_HOURS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One criterion of a rule: its words, and what to ask or examine while it is unknown.

    ``answered`` names clauses of ``ask`` that fall away once all their signs are on record.
    """

    id: str
    words: str
    ask: str
    answered: tuple[tuple[str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Withholding:
    """An image that must not be taken while a rule is met, and why."""

    deed: str
    why: str


class Since(StrEnum):
    """The day from which a window counts."""

    ONSET = "onset"
    OPERATION = "operation"


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A passage of an action that holds for a time only: ``late`` stands in its place afterwards.

    ``days`` count from the beginning of the complaint, which is the injury where there was one, or from the
    operation on record.
    """

    within: str
    days: float
    since: Since
    late: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OfTheYoung:
    """A ``passage`` of an action that concerns patients under a number of completed years only.

    For whoever is known to be so young ``whole``, which holds it, ``becomes`` other words, where given.
    """

    passage: str
    under_years: int
    whole: str = ""
    becomes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A published rule, or common practice where ``source`` says so.

    ``recalled`` is true when the source was not re-read; ``combine`` says in words what the code decides;
    ``decides`` names the rows of the published decision rules that it carries, ``contraindicates`` the states
    of the patient in which some manoeuvres must not be done. ``settled_by`` names rules whose action, when
    they are met on the same side, covers this one's: it need not be held open beside them; ``answered_by``
    images of which any, once it was read, answers all that the rule asks for: it is then silent. While it is
    met the rule ``orders`` images, and ``withholds`` others. ``total`` words
    the points of a rule that adds them up, before its action. ``windows`` are the passages of the action
    whose time can have passed, ``of_the_young`` those that are left out for whoever is known to be older.
    """

    id: str
    name: str
    urgency: Urgency
    action: str
    source: str
    doi_or_pmid: str
    recalled: bool
    applies: str
    excludes: str
    combine: str
    decides: tuple[str, ...]
    contraindicates: tuple[str, ...]
    settled_by: tuple[str, ...]
    criteria: tuple[Criterion, ...]
    total: str = ""
    orders: tuple[str, ...] = ()
    withholds: tuple[Withholding, ...] = ()
    windows: tuple[Window, ...] = ()
    of_the_young: tuple[OfTheYoung, ...] = ()
    answered_by: tuple[ImageKind, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Published criteria that raise no alarm, and why."""

    rows: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Rules(Mapping[str, Rule]):
    """All rules by id, in the order of the data file, and what was left out."""

    by_id: Mapping[str, Rule]
    left_out: tuple[LeftOut, ...]

    def __getitem__(self, key: str) -> Rule:
        return self.by_id[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.by_id)

    def __len__(self) -> int:
        return len(self.by_id)
