"""Tables for a spreadsheet, as CSV."""

import csv
from collections.abc import Iterable, Sequence
from numbers import Number

from django.http import HttpResponse
from django.utils.http import content_disposition_header

# A cell that begins so is run as a formula by spreadsheets (OWASP, "CSV Injection").
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def safe_cell(value: object) -> str:
    """The value as text that no spreadsheet takes for a formula: such a one gets an apostrophe before it.

    Numbers stay numbers: a longitude west of Greenwich begins with a minus and runs nothing.
    """
    text = "" if value is None else str(value)
    return f"'{text}" if text.startswith(_FORMULA) and not isinstance(value, Number) else text


def csv_answer(file_name: str, heads: Sequence[str], rows: Iterable[Sequence[object]]) -> HttpResponse:
    """A CSV file to be saved: UTF-8 with the mark by which spreadsheets know it, commas, CRLF (RFC 4180)."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = content_disposition_header(True, file_name)
    answer.write("\ufeff")
    writer = csv.writer(answer)
    writer.writerow(heads)
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    return answer
