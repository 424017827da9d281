from django import forms
from django.test import SimpleTestCase

from firm.web.forms import LongSelect

PEOPLE = [("", "Everybody"), (1, "Ann O'Hara"), (2, '<b>Wren</b> & "Co"'), (3, "Tess Marlow")]


class Django(forms.Form):
    who = forms.ChoiceField(choices=PEOPLE)


class Ours(forms.Form):
    who = forms.ChoiceField(choices=PEOPLE, widget=LongSelect)


def test_a_choice_among_people_is_drawn_as_django_draws_it_names_made_safe():
    for asked in (None, {"who": "2"}, {"who": ""}, {"who": "9"}):
        ours, django = str(Ours(asked)["who"]), str(Django(asked)["who"])
        SimpleTestCase().assertHTMLEqual(ours, django)
        assert "<b>" not in ours
