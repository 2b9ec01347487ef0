"""What a knee has: its sides, its structures, and the lesions they can suffer.

Manoeuvres, scales and order are things the examiner *does*; they live in :mod:`fabella.protocol`.
"""

from fabella.anatomy.lesions import Lesion, Lesions, Level, load_lesions
from fabella.anatomy.sides import Side, other
from fabella.anatomy.structures import STRUCTURES, Structure

__all__ = ["STRUCTURES", "Lesion", "Lesions", "Level", "Side", "Structure", "load_lesions", "other"]
