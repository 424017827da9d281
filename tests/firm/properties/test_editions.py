from engine.vocabulary import BASIS_FACTS
from firm.properties.models import Property


def test_the_editions_a_property_offers_are_those_the_engine_knows():
    edition = next(fact for fact in BASIS_FACTS if fact.name == "edition")
    assert set(Property.Edition.values) == set(edition.choices)


def test_the_engine_judges_by_every_edition_on_offer():
    from engine.codes import edition

    for name in Property.Edition.values:
        assert edition(name).name == name
