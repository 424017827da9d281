from tests.inspections.reports.conftest import _media_of_its_own, _no_bell, client_with_mail, visit  # noqa: F401
