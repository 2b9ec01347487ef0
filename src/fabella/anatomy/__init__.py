"""What a knee has: its sides, its structures, and the lesions they can suffer.

Manoeuvres, scales and order are things the examiner *does*; they live in :mod:`fabella.protocol`.
"""

from fabella.anatomy.lesions import Lesion, Lesions, Level, load_lesions
from fabella.anatomy.sides import Side, other
from fabella.anatomy.structures import STRUCTURES, Structure
from fabella.anatomy.tissues import Tissue, load_tissues

__all__ = [
    "STRUCTURES",
    "Lesion",
    "Lesions",
    "Level",
    "Side",
    "Structure",
    "Tissue",
    "load_lesions",
    "load_tissues",
    "other",
]
