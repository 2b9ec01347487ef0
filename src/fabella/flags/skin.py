"""Infection beside the joint: of the bursa in front of the patella, and of the skin."""

from fabella.flags.explanations import fresh_blow, unless
from fabella.flags.infection import more_than_injury
from fabella.flags.knee import Knee
from fabella.flags.logic import all_of, any_of, hint
from fabella.flags.picture import feverish, red_or_hot, swollen
from fabella.flags.reading import Reading


def septic_bursitis(knee: Knee) -> Reading:
    """A hot or red bursa with fever, broken skin or low resistance, or both hot and red."""
    criteria = {
        "bursa_swollen": knee.has("prepatellar_swelling"),
        "red": knee.has("erythema"),
        "warm": knee.has("warmth"),
        "fever_or_unwell": feverish(knee),
        "broken_skin": any_of(
            *map(knee.has, ("open_wound", "graze")),
            *map(knee.said, ("penetrating_injury", "skin_infection")),
        ),
        "low_resistance": any_of(knee.said("diabetes"), knee.said("immunosuppressed")),
    }
    bursa, red, warm, ill, *open_to_germs = criteria.values()
    inflamed = any_of(red, warm)
    risky = all_of(inflamed, any_of(ill, *open_to_germs))
    unfelt = all_of(ill, any_of(*open_to_germs), inflamed is not False)  # heat is felt for at the next look
    met = all_of(bursa, any_of(all_of(red, warm), risky, unfelt))
    return Reading(criteria=criteria, met=met, relevant=unless(fresh_blow(knee), hint(bursa)))


def skin_infection_with_fever(knee: Knee) -> Reading:
    """Redness or heat with fever, over a joint that is not full (common practice)."""
    criteria = {
        "red_or_hot": red_or_hot(knee),
        "fever_or_unwell": feverish(knee),
        "out_of_proportion": knee.said("pain_out_of_proportion"),
    }
    inflamed, ill, fierce = criteria.values()
    elsewhere = any_of(hint(swollen(knee)), hint(knee.has("prepatellar_swelling")), knee.replaced)
    return Reading(
        criteria=criteria,
        met=all_of(inflamed, any_of(ill, fierce)),
        relevant=all_of(hint(inflamed), more_than_injury(knee)),
        excluded=elsewhere is True,
    )
