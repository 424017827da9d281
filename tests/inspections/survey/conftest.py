import pytest

from inspections.survey.services import add_part
from tests.make import make_visit


@pytest.fixture
def visit(inspector):
    return make_visit(inspector)


@pytest.fixture
def page(signed_in, inspector):
    return signed_in(inspector)


@pytest.fixture
def joists(visit):
    return add_part(visit, "joist_field", by=visit.inspector, readings={"spacing_in": "16", "size": "2x8"})
