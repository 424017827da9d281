"""What the action words, times and people mean, in one line each; and the links as they stand in an address."""

from django.utils.text import slugify

from engine.vocabulary import Link
from inspections.findings.models import Action

ACTION_MEANING = {
    Action.KEEP_OFF: "Part or all of the deck must not be used until it is repaired.",
    Action.LIMIT_USE: "Usable within a stated limit until repaired: how many people, which area, no storage.",
    Action.PUT_RIGHT: "A repair is needed, in a stated time.",
    Action.FIND_OUT: "Cannot be judged from what could be seen; say what or who would settle it.",
    Action.LOOK_AFTER: "Upkeep that keeps the deck from getting worse.",
    Action.SOUND: "Seen, measured or tested, and good.",
}


def link_named(text: str) -> str:
    """The link of the load path that an address names, by its own words or its slug; empty if none is meant."""
    return next((link.value for link in Link if text in (link.value, slugify(link.value))), "")


def in_order_of_the_load_path(rows) -> list[tuple[str, list]]:
    """Rows that have a `link`, grouped by it, from the surface down to the ground and then what stands beside."""
    by_link: dict[str, list] = {link.value: [] for link in Link}
    for row in rows:
        by_link[row.link].append(row)
    return [(link.capitalize(), group) for link, group in by_link.items() if group]
