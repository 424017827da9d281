"""The plan drawings of a frozen deck, as the survey draws them, with how each part stands."""

from inspections.drawings.plan import Plan, draw_plan
from inspections.reports.digest import Digest


def plan_of(digest: Digest) -> Plan:
    """A drawing for each level; what fails or is open is marked on it. `missing` says what could not be drawn."""
    deck = digest.snapshot["deck"]
    standing: dict[str, str] = {}
    for check in digest.checks_worst_first:
        for part in digest.snapshot["parts"]:
            if part["key"] not in standing and check.is_about(part["key"]):
                standing[part["key"]] = "cannot tell" if check.is_disputed else check.verdict
    return draw_plan(deck, standing=standing)
