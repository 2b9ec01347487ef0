"""What a rule asks for on the day of the examination: a passage whose time has passed is worded for now."""

from fabella.flags.knee import Knee
from fabella.flags.rule import Rule, Since, Window
from fabella.flags.story import operated_within, within_days


def action_now(rule: Rule, knee: Knee) -> str:
    """Return the action of a rule as it stands for this knee today.

    A passage is replaced only when its time is known to have passed; without any day the action stands.
    """
    action = rule.action
    for window in rule.windows:
        if _passed(window, knee):
            action = action.replace(window.within, window.late)
    return action


def _passed(window: Window, knee: Knee) -> bool:
    if window.since is Since.ONSET:
        return within_days(knee, window.days) is False
    dated = knee.examination.days_since_operation(knee.side) is not None
    return dated and not operated_within(knee, window.days)
