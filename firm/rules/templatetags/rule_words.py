"""What a reader is told of a rule that the engine names by a key."""

from django import template

from firm.rules.keys import known_keys

register = template.Library()


@register.filter
def rule_words(key: str) -> str:
    """The rule's own words, "guard height of a deck, at least"; the key itself where it is not known any more."""
    rule = known_keys().get(key)
    return rule.words if rule else key
