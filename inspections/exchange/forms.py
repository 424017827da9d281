from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from firm.web.forms import NoColon
from inspections.exchange.models import Import

MOST_BYTES = 20 * 1024 * 1024


class ImportForm(NoColon, forms.Form):
    what = forms.ChoiceField(label="What is in it", choices=Import.What.choices)
    file = forms.FileField(
        label="Table",
        help_text="CSV or Excel (.xlsx, first sheet), at most 20 MB and 60,000 rows. The first line names the columns.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file.size > MOST_BYTES:
            raise ValidationError("This file is larger than 20 MB. Cut it into parts.")
        return file
