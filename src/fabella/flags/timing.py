"""What a rule asks for of this patient today: a passage whose time or age has passed is worded for now."""

from fabella.flags.knee import Knee
from fabella.flags.rule import Rule, Since, Window
from fabella.flags.story import child, operated_within, within_days


def action_now(rule: Rule, knee: Knee) -> str:
    """Return the action of a rule as it stands for this knee today.

    A passage is replaced only when its time is known to have passed, and one for the young left out only for
    whoever is known to be older; without day or age the action stands.
    """
    action = rule.action
    for window in rule.windows:
        if _passed(window, knee):
            action = action.replace(window.within, window.late)
    for young in rule.of_the_young:
        if child(knee, under_years=young.under_years) is False:
            action = action.replace(young.passage, "")
    return action


def _passed(window: Window, knee: Knee) -> bool:
    if window.since is Since.ONSET:
        return within_days(knee, window.days) is False
    dated = knee.examination.days_since_operation(knee.side) is not None
    return dated and not operated_within(knee, window.days)
