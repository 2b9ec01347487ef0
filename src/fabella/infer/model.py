"""The compiled model of the knee: states, prior, manifestations and signs, in one edition of the evidence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from fabella.anatomy import Lesions, load_lesions
from fabella.evidence.facts import AccuracyUsed, Indicator, Knowledge
from fabella.evidence.knowledge import load_knowledge
from fabella.infer.by_age import at_this_age, years_alike
from fabella.infer.calibrate import LEAST, Exposure, achieved, draw_accuracy, draw_judgement, solve
from fabella.infer.context import REFERENCES, Setting
from fabella.infer.groups import GroupTable, group_manifestations, group_table, with_chances
from fabella.infer.healing import usual_while_healing, while_healing
from fabella.infer.images import Images
from fabella.infer.indicators import Response, reach
from fabella.infer.network import GUARDING, Manifestation, Network, quiet
from fabella.infer.prior import Prior, PriorFitter
from fabella.infer.quantities import quantities, tiles
from fabella.infer.shifts import drawn_shifts
from fabella.infer.signs import Outcome, Sign, outcome_of
from fabella.infer.sound import leak_share, without_complaint
from fabella.infer.states import States, enumerate_states

Floats = NDArray[np.float64]
_Circumstances = tuple[str | None, bool, int | None, str, float | None]

DRAWS = 400
SEED = 1963
"""Tells the draws of the rates from those of the manifestations; any number would do."""


class Model:
    """Everything needed to conclude or to simulate.

    Immutable once made; its parts are compiled when first needed.

    Parameters
    ----------
    lesions, knowledge
        What can be wrong and what is known about it.
    draws, seed
        Number (at least 1) and seed of the draws of the accuracy parameters that make the intervals.
    """

    def __init__(
        self, lesions: Lesions, knowledge: Knowledge, *, draws: int = DRAWS, seed: int = SEED
    ) -> None:
        self.lesions = lesions
        self.knowledge = knowledge
        self.draws = draws
        self.seed = seed
        self.states: States = enumerate_states(lesions)
        self._fitter = PriorFitter(self.states, lesions, knowledge)
        self._networks: dict[str | None, Network] = {}
        self._signs: dict[str, Mapping[str, Sign]] = {}
        self._tables: dict[tuple[_Circumstances, tuple[str, ...]], GroupTable] = {}
        self._quiet: dict[tuple[_Circumstances, str], NDArray[np.float32]] = {}
        self._outcomes: dict[tuple[str, str, bool, int], Outcome] = {}
        self._own_settings = frozenset(used.setting for used in knowledge.accuracy)
        self.groups = group_manifestations(knowledge)
        self._prior = lru_cache(maxsize=256)(self._fitter.prior)
        self.quantities, self.membership = quantities(self.states, lesions)
        self._tiles = tuple(tiles(self.membership))
        self.images = Images(self.states, knowledge, draws=draws, seed=seed)
        self.drawn_rates = drawn_shifts(self.states, knowledge, draws=draws, seed=seed)

    def prior(self, setting: Setting) -> Prior:
        """Return the prior for one knee's circumstances; ages count in whole years."""
        years = None if setting.age_years is None else float(int(setting.age_years))
        return self._prior(replace(setting, age_years=years))

    def prior_target(self, setting: Setting) -> Floats:
        """Return the prevalence of each slot that the prior is fitted to."""
        return self._fitter.target(setting)

    def totals(self, weights: Floats) -> Floats:
        """Add up weights (…, states) over the states that hold each quantity, (…, quantities).

        The same as a product with `membership`, most of which is 0.
        """
        total = np.zeros((*weights.shape[:-1], len(self.quantities)))
        for states, columns, inside in self._tiles:
            total[..., columns] += weights[..., states] @ inside
        return total

    def called(self, sign: str, setting: Setting) -> Floats:
        """Return the chance that a sign is called abnormal in every state (states,)."""
        table = self.table(setting, self.group_of(sign))
        point = self.outcome(sign, setting, 1).point[:, :, 1:].sum(axis=2)  # it is called, or it is not
        calm, guarded = (point @ table.joint.T)[:, table.configuration]
        guarding = self.guarding(setting)
        return np.asarray((1 - guarding) * calm + guarding * guarded)

    def chances(self, states: Floats) -> Mapping[tuple[str, str], float]:
        """Return the probability of every quantity, (lesion, level), from that of every state (states,)."""
        return dict(zip(self.quantities, self.totals(states).tolist(), strict=True))

    def network(self, acuity: str | None) -> Network:
        """Return the manifestations in one acuity; subacute counts as between acute and chronic."""
        key = acuity if acuity in ("acute", "chronic") else None
        if key not in self._networks:
            self._networks[key] = Network(self.states, self.knowledge, key)
        return self._networks[key]

    def signs(self, setting: str | None) -> Mapping[str, Sign]:
        """Return every sign as used in one setting ("" or None: anywhere)."""
        key = self._own_setting(setting)
        if key not in self._signs:
            self._signs[key] = {name: self._sign(name, key) for name in self.knowledge.indicators}
        return self._signs[key]

    def drawn_quiet(self, setting: Setting, manifestation: str) -> NDArray[np.float32]:
        """Return `quiet` of drawn chances (causes, levels, draws); each cause keeps its shape by level."""
        key = (self._comes_about(setting, (manifestation,)), manifestation)
        if key not in self._quiet:
            compiled = self._compiled(setting, manifestation)
            rng = np.random.default_rng([self.seed, *manifestation.encode()])
            mean = np.clip(compiled.chance[:, 0], LEAST, 1 - LEAST)
            strength = np.array([cause.strength for cause in compiled.causes])
            drawn = rng.beta(mean * strength, (1 - mean) * strength, size=(self.draws, len(mean))).T
            if self._leaks_seldom(setting, manifestation):
                drawn *= leak_share(compiled)[:, None]
            shape = compiled.chance / np.maximum(compiled.chance[:, :1], 1e-12)
            self._quiet[key] = quiet(drawn[:, None, :] * shape[:, :, None]).astype(np.float32)
        return self._quiet[key]

    def outcome(self, sign: str, setting: Setting, grades: int) -> Outcome:
        """Return the chances of each report of a sign, whose levels above normal are ``grades``."""
        key = (sign, self._own_setting(setting.setting), setting.is_sound, grades)
        if key not in self._outcomes:
            own = self.signs(setting.setting)[sign]
            if setting.is_sound:
                own = own.without_complaint()
            group = self.group_of(sign)
            levels = tuple(self.knowledge.manifestations[name] for name in group)
            self._outcomes[key] = outcome_of(own, group, levels, grades)
        return self._outcomes[key]

    def circumstances(self, setting: Setting) -> Setting:
        """Return all of a setting that `table` and `outcome` depend on."""
        return Setting(
            setting=self._own_setting(setting.setting) or None,
            acuity=self.network(setting.acuity).acuity,
            age_years=years_alike(self.knowledge, setting.age_years, self.knowledge.manifestations),
            symptomatic=not setting.is_sound,
            healing=setting.healing,
            operation=setting.operation if setting.tissue else "",
        )

    def _comes_about(self, setting: Setting, names: tuple[str, ...]) -> _Circumstances:
        """Return all of a setting that some manifestations depend on."""
        acuity = self.network(setting.acuity).acuity
        years = years_alike(self.knowledge, setting.age_years, names)
        return acuity, setting.is_sound, setting.healing, setting.tissue, years

    def _own_setting(self, setting: str | None) -> str:
        """Return the setting if any accuracy is kept apart for it, else ""."""
        return setting if setting in self._own_settings else ""

    def group_of(self, sign: str) -> tuple[str, ...]:
        """Return the manifestations that must be considered together for one sign."""
        return self.groups[self.knowledge.indicators[sign].manifestations[0][0]]

    def by_group(self, signs: Iterable[str]) -> dict[tuple[str, ...], list[int]]:
        """Return the positions of the signs of each group, in the order in which the groups first come."""
        positions: dict[tuple[str, ...], list[int]] = {}
        for i, sign in enumerate(signs):
            positions.setdefault(self.group_of(sign), []).append(i)
        return positions

    def _sign(self, name: str, setting: str) -> Sign:
        indicator = self.knowledge.indicators[name]
        rows = [used for used in self.knowledge.accuracy if used.sign == name]
        used = next((u for s in (setting, "") for u in rows if u.setting == s), None)

        def rng() -> np.random.Generator:
            return np.random.default_rng([self.seed, *name.encode()])

        if used is None:
            point = Response(np.array(indicator.hit), np.array(indicator.false_alarm))
            return Sign(indicator, point, lambda: draw_judgement(indicator, self.draws, rng()), None, None)
        exposure = self._exposure(indicator, used)
        point = solve(np.array(used.sensitivity), np.array(used.specificity), exposure)
        sensitivity, specificity = achieved(point, exposure)
        return Sign(
            indicator,
            point,
            lambda: solve(*draw_accuracy(used, indicator, self.draws, rng()), exposure),
            used,
            (float(sensitivity), float(specificity)),
        )

    def _exposure(self, indicator: Indicator, used: AccuracyUsed) -> Exposure:
        """Return how far the sign can show in its reference population.

        Apart for knees with and without the target lesions.
        """
        setting = REFERENCES[used.reference]
        prior = self.prior(setting).probability
        group = self.group_of(indicator.sign)
        table = self.table(setting, group)
        seen = (table.joint @ reach(indicator, group, table.levels))[table.configuration]
        seen = seen * (1 - indicator.guard_loss * self.guarding(setting))
        target = np.any([self.states.having(lesion) for lesion in used.targets], axis=0)
        return Exposure(
            float(seen[target] @ prior[target] / prior[target].sum()),
            float(seen[~target] @ prior[~target] / prior[~target].sum()),
        )

    def manifestation(self, setting: Setting, name: str) -> Manifestation:
        """Return one manifestation as it comes about in these circumstances."""
        compiled = self._compiled(setting, name)
        return without_complaint(compiled) if self._leaks_seldom(setting, name) else compiled

    def _leaks_seldom(self, setting: Setting, manifestation: str) -> bool:
        """Say whether one leaks as in a sound knee: nobody complains, and no operation makes it usual."""
        return setting.is_sound and usual_while_healing(manifestation, self.knowledge, setting) is None

    def _compiled(self, setting: Setting, name: str) -> Manifestation:
        """Return the same, of a knee complained of."""
        compiled = self.network(setting.acuity).manifestations[name]
        aged = at_this_age(compiled, self.knowledge, setting.age_years)
        return while_healing(aged, self.knowledge, setting)

    def table(self, setting: Setting, group: tuple[str, ...]) -> GroupTable:
        """Return the joint distribution of one group of manifestations over the states."""
        key = (self._comes_about(setting, group), group)
        if key not in self._tables:
            own = [self.manifestation(setting, name) for name in group]
            usual = replace(setting, symptomatic=True, healing=None, age_years=None)
            is_usual = key[0] == self._comes_about(usual, group)
            self._tables[key] = group_table(own) if is_usual else with_chances(self.table(usual, group), own)
        return self._tables[key]

    def guarding(self, setting: Setting) -> Floats:
        """Return the chance of guarding in each state (states,)."""
        manifestation = self.manifestation(setting, GUARDING)
        return np.asarray(manifestation.distribution()[:, 1][manifestation.configuration])


@cache
def load_model() -> Model:
    """Return the model of the latest edition, compiled once a process."""
    return Model(load_lesions(), load_knowledge())
