"""How the page says lesions, diagnoses, alarms and probabilities: names as in a letter, never ids."""

from __future__ import annotations

from fabella.anatomy import load_lesions
from fabella.audit.validation import Raised
from fabella.flags import load_rules

_IN_FULL = {
    "acl": "anterior cruciate ligament",
    "pcl": "posterior cruciate ligament",
    "mcl": "medial collateral ligament",
    "lcl": "lateral collateral ligament",
    "dvt": "deep vein thrombosis",
    "cppd": "calcium pyrophosphate",
    "pvns": "pigmented villonodular synovitis",
    "sufe": "slipped upper femoral epiphysis",
    "perthes": "Perthes disease",
    "bakers": "Baker's",
    "bucket_handle": "bucket-handle",
    "charcot": "Charcot",
    "extra_articular": "extra-articular",
    "para_articular": "para-articular",
    "hoffa": "Hoffa",
    "lyme": "Lyme",
    "morel_lavallee": "Morel-Lavallée",
    "pellegrini_stieda": "Pellegrini-Stieda lesion",
    "segond": "Segond",
    "sinding_larsen_johansson": "Sinding-Larsen-Johansson disease",
}
"""What stands for an abbreviation, a hyphen or a person's name in the id of a diagnosis."""


def lesion_words(lesion: str) -> str:
    """Return the name of a lesion."""
    return load_lesions()[lesion].name


def diagnosis_words(diagnosis: str) -> str:
    """Return a published diagnosis in words: the name of the lesion of this id, else the id written out."""
    if diagnosis in load_lesions():
        return lesion_words(diagnosis)
    padded = f"_{diagnosis}_"
    for short, full in _IN_FULL.items():
        padded = padded.replace(f"_{short}_", f"_{full}_")
    return padded.strip("_").replace("_", " ")


def alarm_words(alarm: Raised) -> str:
    """Return an alarm as its name with its urgency."""
    rules = load_rules()
    name = rules[alarm.rule].name if alarm.rule in rules else alarm.rule.replace("_", " ")
    return f"{name} ({alarm.urgency.replace('_', ' ')})"
