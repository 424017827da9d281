"""The order of a list, as the address says it: `?sort=name`, with a minus for the other way round."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.http import QueryDict


@dataclass(frozen=True)
class Column:
    """`fields` are what the rows are ordered by; what follows the first decides among equals."""

    label: str
    fields: tuple[str, ...]


@dataclass(frozen=True)
class Head:
    """One way to order the list: its address, and how it is ordered now, in the words of `aria-sort`."""

    name: str
    label: str
    query: str
    order: str


@dataclass(frozen=True)
class Order:
    """`usual` holds where nothing, or nothing known, is asked for; empty: the list has an order of its own."""

    asked: QueryDict
    columns: Mapping[str, Column]
    usual: str = ""

    @cached_property
    def now(self) -> str:
        asked = self.asked.get("sort", "")
        return asked if asked.removeprefix("-") in self.columns else self.usual

    @cached_property
    def kept(self) -> str:
        """The address without the page: for the next page, and for the same rows as a table."""
        return urlencode([(name, value) for name, value in self._choices() if name != "page"])

    @cached_property
    def heads(self) -> list[Head]:
        rest = [(name, value) for name, value in self._choices() if name not in ("page", "sort")]
        heads = []
        for name, column in self.columns.items():
            order = {name: "ascending", f"-{name}": "descending"}.get(self.now, "none")
            turned = f"-{name}" if order == "ascending" else name
            heads.append(Head(name, column.label, urlencode([*rest, ("sort", turned)]), order))
        return heads

    def put(self, rows: QuerySet) -> QuerySet:
        """The rows in the order that is asked for; as they are where none is."""
        if not self.now:
            return rows
        sign = "-" if self.now.startswith("-") else ""
        fields = [_turned(field, sign) for field in self.columns[self.now.removeprefix("-")].fields]
        return rows.order_by(*fields, f"{sign}pk")

    def _choices(self) -> list[tuple[str, str]]:
        return [(name, value) for name, values in self.asked.lists() for value in values if value]


def _turned(field: str, sign: str) -> str:
    return field if not sign else field.removeprefix("-") if field.startswith("-") else f"-{field}"
