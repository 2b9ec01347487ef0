"""A practice patient does not contradict themselves: story, answers, findings and age go together."""

from __future__ import annotations

from functools import cache

from fabella.record import Acuity, Mechanism, Setting
from fabella.teach import Hidden, Recipe, draw_patient, load_curricula
from fabella.teach.injuries import NO_INJURY
from fabella.teach.speech import story_words

PATIENTS = 400
AGES = (None, None, 4, 10, 15, 40, 100)


@cache
def crowd() -> tuple[Hidden, ...]:
    """Patients of all settings and curricula, some of them children, some very old."""
    curricula, settings = tuple(load_curricula()), tuple(Setting)
    return tuple(
        draw_patient(
            Recipe(
                seed=seed,
                setting=settings[seed % len(settings)],
                curriculum=curricula[seed // 4 % len(curricula)],
                age_years=AGES[seed % len(AGES)],
            )
        )
        for seed in range(PATIENTS)
    )


def test_what_came_by_itself_did_not_happen_all_at_once() -> None:
    """Whoever tells of no injury does not tell of a moment at which it happened."""
    fresh = [
        draw_patient(Recipe(seed=seed, acuity=Acuity.ACUTE, mechanism=mechanism))
        for seed in range(10)
        for mechanism in (Mechanism.OVERUSE, Mechanism.TWIST)
    ]
    said = {
        slow: {
            story_words(each, "time_since_onset")
            for each in fresh
            if (each.person.context.mechanism in NO_INJURY) is slow
        }
        for slow in (True, False)
    }
    told = [words for words in said[True] if "happened" in words or "at once" in words]
    assert not told
    assert any("happened" in words for words in said[False])
