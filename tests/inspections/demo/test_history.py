import pytest
from django.core.management import CommandError, call_command

from inspections.findings.catalogue import load_catalogue
from inspections.trends.models import CountedVisit
from inspections.visits.models import Visit

pytestmark = pytest.mark.django_db


def test_a_firm_is_given_a_past_once(inspector, capsys):
    load_catalogue()
    call_command("load_history", visits=30)
    assert Visit.objects.filter(state="released").count() == CountedVisit.objects.count() == 30
    assert "30 visits with" in capsys.readouterr().out
    with pytest.raises(CommandError, match="already"):
        call_command("load_history", visits=30)


def test_a_past_wants_an_inspector(db):
    with pytest.raises(CommandError, match="no inspector"):
        call_command("load_history")
