"""What docs/model.md says of the size of the model, and of what its signs reach, is so today."""

import re
from pathlib import Path

import numpy as np

from fabella.evidence.facts import AccuracyUsed
from fabella.infer import Setting, load_model
from fabella.infer.states import MOST_AT_ONCE

PAGE = (Path(__file__).parents[2] / "docs" / "model.md").read_text("utf-8")
ROW_OF = {
    ("posterior_drawer", ""): "posterior drawer,",
    ("posterior_sag", ""): "posterior sag,",
    ("dial_30", ""): "dial test at 30°",
    ("lachman_end_point", ""): "end point of the Lachman test",
    ("moving_patellar_apprehension", ""): "moving patellar apprehension",
    ("patellar_tilt", ""): "patellar tilt",
    ("mcmurray", ""): "McMurray test, primary care",
    ("valgus_stress_30", "primary_care"): "valgus stress at 30°, primary care",
    ("joint_line_tenderness", ""): "tender joint line, primary care",
}
"""How the page calls the signs that miss their published accuracy, by sign and setting of the row."""


def rows(*, beginning: str) -> list[list[str]]:
    """The cells of the rows of tables that begin so."""
    found = [line for line in PAGE.splitlines() if line.startswith(f"| {beginning}")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in found]


def test_the_states_are_counted_as_they_are() -> None:
    """The table of states has each number of lesions with as many states as there are, and their sum."""
    states = load_model().states
    held = (states.members < len(states.slots)).sum(axis=1)
    for size, count in enumerate(np.bincount(held, minlength=MOST_AT_ONCE + 1).tolist()):
        (cells,) = [each for each in rows(beginning=f"{size} |") if len(each) == 3]
        assert cells[2] == f"{count:,}"
    assert f"{len(states):,} of them" in PAGE


def test_lesions_manifestations_and_signs_are_counted_as_they_are() -> None:
    """Lesions, their levels, manifestations, signs, and the signs that are fitted."""
    model = load_model()
    known = model.knowledge
    assert f"There are {len(model.states.lesions)} lesions with {len(model.states.slots)} levels" in PAGE
    assert f"Between them stand {len(known.manifestations)} *manifestations*" in PAGE
    fitted = {used.sign for used in known.accuracy}
    assert f"{len(fitted)} of the {len(known.indicators)} signs are fitted" in PAGE
    brought = [cause for cause in known.causes if cause.manifestation == "flexion_loss"]
    assert f"the {len(brought)} rows that bring lost flexion about" in PAGE


def test_every_sign_that_misses_its_accuracy_is_listed_with_what_it_reaches() -> None:
    """The table has the signs that miss by more than a hundredth, with both pairs, and no others."""
    model = load_model()

    def reached(used: AccuracyUsed) -> tuple[float, float]:
        values = model.signs(used.setting)[used.sign].reached
        assert values is not None
        return values

    def misses(used: AccuracyUsed) -> bool:
        published = (used.sensitivity, used.specificity)
        return bool(np.abs(np.subtract(reached(used), published)).max() > 0.01)

    missing = {(used.sign, used.setting): used for used in model.knowledge.accuracy if misses(used)}
    assert missing.keys() == ROW_OF.keys()
    for key, used in missing.items():
        (cells,) = rows(beginning=ROW_OF[key])
        published = f"{used.sensitivity:.2f}, {used.specificity:.2f}"
        assert cells[1:] == [published, "{:.2f}, {:.2f}".format(*reached(used))]
    table = PAGE[PAGE.index("| sign | sensitivity and specificity, published") :].split("\n\n", 1)[0]
    assert len(table.splitlines()) == len(missing) + 2


def test_torn_menisci_beside_a_torn_cruciate_are_as_common_as_said() -> None:
    """One or both menisci, by the prior of each place, freshness and age."""
    model = load_model()
    states = model.states
    cruciate = states.having("acl_tear")
    menisci = states.having("medial_meniscus_tear") | states.having("lateral_meniscus_tear")
    for place, setting, acuity, age_years in (
        ("specialist clinic, fresh, at 28", "specialist_clinic", "acute", 28),
        ("emergency department, fresh, at 28", "emergency", "acute", 28),
        ("clinic, old, at 28", "specialist_clinic", "chronic", 28),
        ("clinic, old, at 35", "specialist_clinic", "chronic", 35),
    ):
        prior = model.prior(Setting(setting=setting, acuity=acuity, age_years=age_years)).probability
        share = prior[cruciate & menisci].sum() / prior[cruciate].sum()
        (cells,) = rows(beginning=place)
        assert re.fullmatch(rf"{100 * share:.0f} %", cells[1]), (place, share)
