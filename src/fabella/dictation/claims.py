"""What the grammar makes of nodes: claims about signs, with the sides and turns between them, in order."""

from __future__ import annotations

from dataclasses import dataclass, field

from fabella.anatomy import Side
from fabella.dictation.items import Quantity, Stretch
from fabella.dictation.nodes import Head, Mod, Piece, SideNode, Turn
from fabella.dictation.vocabulary import Class, Describing, SignWord, Tag


@dataclass(slots=True, eq=False)
class Claim:
    """One thing said of one sign; built up while a text is read, and of no use to anybody else.

    Parameters
    ----------
    head
        The sign; None where only a result was said, until the sign before it is carried over.
    joined
        How it follows the claim before: "", ",", "and", "or", "but", "." or ":".
    inner
        A side named between the sign and its result.
    carried
        Whether the sign was carried over from the claim before.
    reached
        The last sentence in which a result was told of its sign, carried over from it.
    rest
        Whether "otherwise" or "the rest" stands with it.
    knee
        Whether the knee itself is named in place of a sign.
    whole
        Whether it says that the whole knee is normal.
    of_named
        Whether, of the whole knee, it means only the signs named before it in its sentence.
    excepted, is_exception
        Whether an exception to it follows in the sentence; whether it is one, to "the same".
    subject
        Whether it only names the sign of which the next claims tell the results.
    same_sentence_side
        Whether its knees were named in its own sentence.
    has_side_behind
        Whether a side follows it directly.
    directions
        For a collateral stress test, varus or valgus as they were understood.
    twin
        The claim whose knees it shares, because one result was told of both their signs.
    method
        How its reading was taken, in the words of the text; None when that was not said.
    doubt, doubt_before, doubt_behind
        Whether words beside it, right before it, or right behind it were not understood.
    labelled
        Whether a colon follows its sign, as in a list of headings.
    sides
        The knees it is about, empty until they are known.
    ask
        Why it must be asked about, empty when it need not.
    note
        Of a lump, the words kept beside it; None where there are none.
    of_lump
        Of tenderness, why it may be that of a lump, empty when it cannot be.
    """

    head: Head | None
    sentence: int
    joined: str = ""
    mods: list[Mod] = field(default_factory=list)
    inner: SideNode | None = None
    reference: SideNode | None = None
    carried: bool = False
    reached: int = -1
    rest: bool = False
    knee: bool = False
    whole: bool = False
    of_named: bool = False
    subject: bool = False
    excepted: bool = False
    is_exception: bool = False
    same_sentence_side: bool = False
    has_side_behind: bool = False
    directions: tuple[str, ...] = ()
    method: str | None = None
    twin: Claim | None = None
    doubt: bool = False
    doubt_before: bool = False
    doubt_behind: bool = False
    labelled: bool = False
    pre_result: bool = False
    withdrawn: bool = False
    sides: tuple[Side, ...] = ()
    ask: str = ""
    note: str | None = None
    of_lump: str = ""
    told: bool = False
    negated_by_list: bool = False
    shares: bool = False
    extra: list[Piece] = field(default_factory=list)

    @property
    def word(self) -> SignWord | None:
        """Return the name of its sign; None where only a result was said."""
        return self.head.word if self.head is not None else None

    @property
    def text(self) -> str:
        """Return the words that name its sign; nothing where only a result was said."""
        return self.head.text if self.head is not None else ""

    def is_of(self, *kinds: Class) -> bool:
        """Say whether its sign is of one of these kinds."""
        return self.head is not None and self.head.word.kind in kinds

    def reads(self, reader: str) -> bool:
        """Say whether the numbers or sites of its sign are read in this way."""
        return self.head is not None and self.head.word.reader == reader

    @property
    def only_names(self) -> bool:
        """Whether its sign is one that says nothing when it is merely named, as a test."""
        return self.head is not None and not self.head.word.kind.tells

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Return the words that belong to it."""
        own = [*(self.head.pieces if self.head and not self.carried else ()), *self.extra]
        said = [mod for mod in self.mods if not mod.item.is_mark("preposition")]
        return (*own, *(piece for mod in said for piece in mod.pieces))

    @property
    def describing(self) -> tuple[tuple[Describing, bool], ...]:
        """Return the describing words, each with whether it is negated."""
        return tuple((mod.item.value, mod.negated) for mod in self.mods if mod.item.tag is Tag.DESCRIBING)

    @property
    def denials(self) -> int:
        """Return how often the sign itself is negated."""
        return sum(mod.item.is_mark("no", "denies") for mod in self.mods) + self.negated_by_list

    @property
    def tried(self) -> bool:
        """Whether it was tried in vain, which a reason makes untestable: "could not elicit it for pain"."""
        return any(
            mod.item.text.startswith(_IN_VAIN)
            for mod in self.mods
            if mod.item.is_mark("no", "cannot", "not_done") or mod.item.tag is Tag.DESCRIBING
        )

    @property
    def quantities(self) -> tuple[Quantity, ...]:
        """Return the numbers said of it."""
        return tuple(mod.item.value for mod in self.mods if mod.item.tag is Tag.NUMBER)

    @property
    def stretch(self) -> Stretch | None:
        """Return the range said of it."""
        return next((mod.item.value for mod in self.mods if mod.item.tag is Tag.RANGE), None)

    @property
    def bends_deg(self) -> tuple[float, ...]:
        """Return the bends of the knee at which it was tested, in degrees."""
        return tuple(bend for mod in self.mods if mod.item.tag is Tag.ANGLE for bend in mod.item.value)

    @property
    def compartments(self) -> tuple[str, ...]:
        """Return where or in which direction, in plain words: medial, varus and so on."""
        said = (mod.item.value for mod in self.mods if mod.item.tag in {Tag.COMPARTMENT, Tag.BOW})
        return tuple(dict.fromkeys(_PLAIN.get(each, each) for each in said))

    @property
    def has_result(self) -> bool:
        """Whether anything was said of the sign beyond its name."""
        said = {mod.slot for mod in self.mods}
        return bool(said & _RESULTS or self.denials or self.tells_alignment)

    @property
    def has_own_result(self) -> bool:
        """Whether anything but a denial was said of the sign."""
        return bool({mod.slot for mod in self.mods} & _RESULTS)

    @property
    def tells_alignment(self) -> bool:
        """Whether varus or valgus is what was said of the alignment."""
        return bool(self.compartments) and self.reads("alignment")

    @property
    def landmark(self) -> Piece | None:
        """Return the words that say at what height something was measured."""
        heights = (mod.item for mod in self.mods if mod.item.tag is Tag.LANDMARK)
        return next(((item.first, item.last) for item in heights), None)

    def marks(self, *values: str) -> tuple[Mod, ...]:
        """Return the marks of speech of these kinds that stand with it."""
        return tuple(mod for mod in self.mods if mod.item.is_mark(*values))


_IN_VAIN = ("could", "couldn't", "can", "cannot", "can't", "unable", "failed", "not done")
_RESULTS = {"result", "grade", "degree", "number", "pain", "barred"}
_PLAIN = {
    "medially": "medial",
    "laterally": "lateral",
    "anteriorly": "anterior",
    "posteriorly": "posterior",
    "actively": "active",
    "passively": "passive",
}


_TOLD = ("den", "never", "no history", "no complaint")


def is_denied_history(claim: Claim) -> bool:
    """Say whether it was the patient who denied it: "denies swelling", "no history of swelling"."""
    return any(mod.item.text.startswith(_TOLD) for mod in claim.marks("denies", "no"))


def is_illness(claim: Claim) -> bool:
    """Say whether naming the sign of a claim alone says that it is there."""
    return claim.is_of(Class.ILLNESS)


Event = Claim | SideNode | Turn
"""What follows one another in a dictation once it is parsed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """An event in its sentence, and whether a break parts it from the one before."""

    event: Event
    sentence: int
    after_break: bool
