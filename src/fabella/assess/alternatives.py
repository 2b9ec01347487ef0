"""Other rules that the same marks could have been decided by: one for each method there is material for."""

from __future__ import annotations

from dataclasses import replace

from fabella.assess.rules import CutMethod, Rules


def alternatives(rules: Rules) -> tuple[Rules, ...]:
    """Return the rules themselves, and then the same with each other method that can be tried.

    Angoff's method needs estimates, Hofstee's the judges' bounds, a fixed cut its number: without them it is
    left out. All else (allowance for error, stations, critical items) stays as declared.
    """
    there = {
        CutMethod.ANGOFF: bool(rules.estimates),
        CutMethod.HOFSTEE: bool(rules.bounds),
        CutMethod.FIXED: rules.fixed_cut is not None,
    }
    others = [each for each in CutMethod if each is not rules.method and there.get(each, True)]
    return (rules, *(replace(rules, method=each) for each in others))
