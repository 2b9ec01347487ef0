"""Where a number comes from; nothing in this room can exist without it."""

import re
from dataclasses import dataclass
from enum import StrEnum

from fabella.errors import EvidenceError

RECALLED = "value from memory, original not re-read"
_IDENTIFIER = re.compile(r"(doi:10\.\d{4,}/\S+|pmid:\d+|pmc:\d+|pii:\S+)?")


class Provenance(StrEnum):
    """What a number rests on."""

    PUBLISHED = "published"  # printed by its source
    DERIVED = "derived"  # worked out from printed ones, as the notes say
    JUDGEMENT = "judgement"  # common practice, or ours


class EvidenceKind(StrEnum):
    """What sort of source it is."""

    META_ANALYSIS = "meta_analysis"
    SYSTEMATIC_REVIEW = "systematic_review"  # without pooling
    PRIMARY_SERIES = "primary_series"
    GUIDELINE = "guideline"
    CONVENTION = "convention"  # scales, forms and classifications
    NARRATIVE = "narrative"
    SECONDARY_QUOTATION = "secondary_quotation"  # the original was not read


class Caution(StrEnum):
    """Why a source stands last, whatever else speaks for it."""

    NONE = "none"
    OUTLIER = "outlier"
    INVENTOR = "inventor"
    HEALTHY_CONTROLS = "healthy_controls"


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A paper, guideline or page that numbers were read in.

    Parameters
    ----------
    key
        First author and year, also the name of its table files: ``sokal_2022``. A paper that could not be
        named or found again has a key without a year.
    citation
        Authors, year, journal.
    identifier
        ``doi:``, ``pmid:``, ``pmc:`` or ``pii:`` and the number; empty when none was seen.
    kind
        What sort of source it is.
    caution
        Why it stands last, if it does.
    remark
        One line on whatever is odd about it; may be empty.

    Raises
    ------
    EvidenceError
        When key or citation is empty or the identifier has another form.
    """

    key: str
    citation: str
    identifier: str
    kind: EvidenceKind
    caution: Caution = Caution.NONE
    remark: str = ""

    def __post_init__(self) -> None:
        if not self.key or not self.citation:
            raise EvidenceError("a source needs a key and a citation")
        if not _IDENTIFIER.fullmatch(self.identifier):
            raise EvidenceError(
                f"identifier '{self.identifier}' does not begin with doi:, pmid:, pmc: or pii:"
            )
        if self.caution is not Caution.NONE and not self.remark:
            raise EvidenceError(f"{self.key} is marked '{self.caution}' without a remark that says why")

    @property
    def short(self) -> str:
        """The citation up to its year, or its first words, as a table shows it."""
        match = re.match(r"[^,(:]*?\b(?:19|20)\d\d\b", self.citation) or re.match(r"[^,(:]+", self.citation)
        return match[0].strip() if match else self.citation

    @property
    def year(self) -> int | None:
        """The year of publication, None when the key has none."""
        match = re.search(r"_(\d{4})[a-z]?$", self.key)
        return int(match[1]) if match else None

    @property
    def traceable(self) -> bool:
        """Whether a reader could find it again."""
        return bool(self.identifier) or self.year is not None

    @property
    def second_hand(self) -> bool:
        """Whether it repeats what others found."""
        return self.kind in {EvidenceKind.NARRATIVE, EvidenceKind.SECONDARY_QUOTATION}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """Anything that states a number: it names its source and what it rests on, or it is refused.

    Parameters
    ----------
    source
        Where the number comes from.
    provenance
        What the number rests on.
    recalled
        True when the number was recalled and the original not read again.

    Raises
    ------
    EvidenceError
        When source or provenance is not given as such.
    """

    source: Source
    provenance: Provenance
    recalled: bool = False

    def __post_init__(self) -> None:
        require(self, "source", Source)
        require(self, "provenance", Provenance)

    @property
    def standing(self) -> str:
        """What the number rests on, in words fit to stand beside it."""
        return f"{self.provenance}; {RECALLED}" if self.recalled else str(self.provenance)


def require(thing: object, field: str, kind: type) -> None:
    """Raise `EvidenceError` unless a field of ``thing`` holds a ``kind``."""
    value = getattr(thing, field)
    if not isinstance(value, kind):
        raise EvidenceError(f"{type(thing).__name__} needs a {kind.__name__} as its {field}, not {value!r}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Footing:
    """What a number, or all of a row, rests on: ``keys`` names its sources, none where it is judgement."""

    provenance: Provenance
    source: str
    keys: tuple[str, ...] = ()
    note: str = ""
