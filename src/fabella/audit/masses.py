"""How the values of lumps are read: size, consistency, and whether they fluctuate."""

from __future__ import annotations

import re
from typing import Final

from fabella.audit.phrase import Draft, Drafts, Phrase, one
from fabella.audit.values import ABNORMAL, NORMAL
from fabella.record import State

_FIXED: Final = (
    r"\b(?:hard|fixed|adherent|immobile|tethered|non ?-?mobile|bony|solid|subfascial)\b"
    r"|\bdeep\b(?! palpation| flexion)"
)
_HARD: Final = rf"{_FIXED}|\bfirm\b"
_SOFT: Final = r"\b(?:mobile|soft|cystic|fluctua\w+|compressible)\b"
_FULLNESS: Final = r"\b(?:fullness|bulg\w+)\b"
_FLUID: Final = (
    r"\b(?:cystic|fluctua\w+|compressible)\b"  # what fluctuates holds fluid, however firm it feels
)


def reads_fluctuation(phrase: Phrase) -> Drafts:
    """Read fluctuation: of a lump it tells that it holds fluid, of a knee without one that the knee does."""
    if not phrase.lump:
        return one("cross_fluctuation", phrase.words("cross_fluctuation"))
    reading = phrase.words("cross_fluctuation")
    fluid = reading is not None and reading.state is State.ABNORMAL
    return one("mass_firm_fixed", NORMAL if fluid else None)


def reads_mass(phrase: Phrase, sign: str) -> Drafts:
    """Read a mass with its size and consistency."""
    sizes = [float(each) for each in re.findall(r"\d+(?:\.\d+)?(?=[\d.x* cm]* ?[cm]m\b)", phrase.everything)]
    factor = 0.1 if re.search(r"\d ?mm\b", phrase.everything) else 1.0
    described = any(re.search(words, phrase.value) for words in (_HARD, _SOFT, _FULLNESS))
    reading = phrase.words(sign) or (ABNORMAL if sizes or described else None)
    drafts = one(sign, reading)
    if reading is None or reading.state is not State.ABNORMAL:
        return drafts
    if sizes:
        drafts += one("mass_size", phrase.valued("mass_size", max(sizes) * factor))
    fluid = re.search(_FLUID, phrase.everything)
    if re.search(_FIXED if fluid else _HARD, phrase.everything):
        return (*drafts, Draft("mass_firm_fixed", ABNORMAL))
    if re.search(_SOFT, phrase.everything):
        return (*drafts, Draft("mass_firm_fixed", NORMAL))
    return drafts
