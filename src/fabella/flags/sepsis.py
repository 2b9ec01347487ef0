"""Sepsis from an infection at the knee: breathing, pulse, pressure, skin and mind, by age."""

from fabella.flags import bones, imaged, infection, operated, skin
from fabella.flags.explanations import unless
from fabella.flags.knee import Knee
from fabella.flags.logic import Truth, all_of, any_of, given, hint
from fabella.flags.picture import fever, feverish
from fabella.flags.reading import Reading

# High risk by NICE NG51 of 2016, carried into NG253 and NG254: under so many years, so many a minute.
BREATHS = ((1, 60), (3, 50), (5, 40), (6, 29), (8, 27), (12, 25), (130, 25))
BEATS = ((1, 160), (3, 150), (5, 140), (6, 130), (8, 120), (12, 115), (130, 131))
LOW_MMHG = 90.0  # that much or less
SLOW_BEATS = 60  # fewer, under 12 years
PRESSURE_YEARS = 12  # younger, and pressure is no criterion
SATURATION = 92.0  # percent: 91 or less scores most in NEWS2 (2017), from memory
SATURATION_CHILD = 90.0  # percent: NICE NG51 under 12 years, from memory

_INFECTED = (
    infection.septic_joint_adult,
    infection.septic_joint_child,
    infection.prosthetic_joint_infection,
    bones.osteomyelitis_child,
    bones.osteomyelitis_adult,
    operated.operated_joint_infection,
    imaged.bone_infection_shown,
    skin.septic_bursitis,
    skin.skin_infection_with_fever,
)


def sepsis(knee: Knee) -> Reading:
    """Any one sign of high risk in somebody infected; pulse, breathing and pressure found well answer."""
    signs = {
        "breathing": _at_least(knee, "respiratory_rate", BREATHS),
        "pulse": _pulse(knee),
        "pressure": _pressure(knee),
        "saturation": _saturation(knee),
        "skin": knee.has("mottled_skin"),
        "bleeding": _bleeds_into_the_skin(knee),
        "mind": knee.said("intoxicated_or_reduced_consciousness"),
    }
    bad, ill = any_of(*signs.values()), feverish(knee)
    at_knee = _infected_at_the_knee(knee) if bad or ill else None
    infected = any_of(ill, hint(any_of(knee.said("skin_infection"), at_knee)))
    counted = any_of(signs["breathing"], signs["pulse"], signs["pressure"])
    asks = all_of(ill, at_knee, None if counted is False else True)
    return Reading(
        criteria={"infected": infected, **signs},
        met=all_of(infected, bad),
        relevant=hint(any_of(all_of(infected, bad), asks)),
    )


def _infected_at_the_knee(knee: Knee) -> Truth:
    """Say whether a rule of infection is met on either knee; that none is says nothing."""
    knees = (knee, knee.across)
    return hint(any(each.reading(rule).rings for rule in _INFECTED for each in knees))


def _at_least(knee: Knee, sign: str, limits: tuple[tuple[int, int], ...]) -> Truth:
    """Say whether a rate reaches the limit of this age; of unknown age only what holds at every age."""
    at, age = knee.measure(sign), knee.age_years
    if age is not None:
        limit = next(limit for under, limit in limits if age < under)
        return given(at, lambda rate: rate >= limit)
    every = [limit for _, limit in limits]
    return given(at, lambda rate: rate >= min(every)) and (hint(given(at, lambda rate: rate >= max(every))))


def _pulse(knee: Knee) -> Truth:
    age, beats = knee.age_years, knee.measure("heart_rate")
    slow = given(beats, lambda rate: rate < SLOW_BEATS)
    young = given(age, lambda years: years < PRESSURE_YEARS)
    return any_of(_at_least(knee, "heart_rate", BEATS), all_of(young, slow))


def _saturation(knee: Knee) -> Truth:
    """Say whether oxygen is low in air; of unknown age only what is low at every age."""
    grown = given(knee.age_years, lambda years: years >= PRESSURE_YEARS)
    at = knee.measure("oxygen_saturation")
    low = given(at, lambda percent: percent < SATURATION)
    return any_of(given(at, lambda percent: percent < SATURATION_CHILD), all_of(grown, low))


def _bleeds_into_the_skin(knee: Knee) -> Truth:
    """Say whether somebody with a fever has bruises or pinpoint bleeding that nothing known explains.

    An anticoagulant and a bleeding disorder explain bruises, so that they are then unknown.
    """
    thin = any_of(knee.said("anticoagulant"), knee.said("bleeding_disorder"))
    return all_of(fever(knee), unless(thin, knee.has("bruises_elsewhere")))


def _pressure(knee: Knee) -> Truth:
    """Say whether the pressure is low; it is no criterion for a child."""
    grown = given(knee.age_years, lambda years: years >= PRESSURE_YEARS)
    return all_of(grown, given(knee.measure("systolic_pressure"), lambda mmhg: mmhg <= LOW_MMHG))
