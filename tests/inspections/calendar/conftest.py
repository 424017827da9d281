from tests.inspections.visits.round_the_clock import everybody_works_round_the_clock  # noqa: F401
