"""A knee that nobody complains of: how seldom it shows what is not there.

The specificity of a sign is published for knees complained of that have another lesion, or nothing listed:
they hurt, swell and are held tight without it. The leaks of the manifestations and the false alarms of the
signs are those of such knees. In a knee without a complaint both are held down by one factor.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fabella.infer.indicators import Response
from fabella.infer.network import Manifestation

SELDOM = 0.1
"""Chance that a knee without a complaint shows what is not there, against that of a knee complained of.

Judgement: a sound leg shows two or three abnormal signs of some 170, most of them of `BUILD`. No study of all
signs in sound knees is among the tables. It lies below what two-gate studies leave room for: with 197 healthy
volunteers beside 213 patients 13 % of all knees without a torn medial meniscus were tender at its line, 6 %
had a positive McMurray test (Karachalios 2005).
"""
BUILD = (
    "anterior_laxity",
    "posterior_laxity",
    "valgus_laxity",
    "varus_laxity",
    "external_rotation",
    "varus_shape",
    "valgus_shape",
    "recurvatum",
    "high_patella",
    "crepitus",
    "tight_hamstrings",
    "general_laxity",
    "artery_pinched",
)
"""Manifestations that show how somebody is made, and leak alike in every knee.

Healthy knees are lax on one side and in one direction: only 32 % are normal in all (evidence, README 11).
Published of people without a complaint: varus 19.5 %, valgus 10.5 % (Nam 2014), one knee bending back 9.8 %
(J Sport Rehabil 1996), a pulse lost on moving the foot (causes table); the others are judgement.
"""


def leak_share(manifestation: Manifestation) -> NDArray[np.float64]:
    """Return by how much each cause (causes,) is weaker in a knee without a complaint: lesions are not."""
    seldom = 1.0 if manifestation.name in BUILD else SELDOM
    return np.array([1.0 if cause.parts else seldom for cause in manifestation.causes])


def without_complaint(manifestation: Manifestation) -> Manifestation:
    """Return a manifestation as it comes about in a knee that nobody complains of."""
    return replace(manifestation, chance=manifestation.chance * leak_share(manifestation)[:, None])


def called_seldom(response: Response) -> Response:
    """Return the response of a sign where there is no complaint: false alarms are rarer, hits are not."""
    return Response(response.hit, response.false_alarm * SELDOM)
