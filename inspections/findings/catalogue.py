"""The catalogue that the program comes with, read from `catalogue.json` into the firm's own."""

import json
from pathlib import Path

from django.apps import apps as global_apps
from django.db import transaction

from engine import tables
from inspections.findings.models import Defect

CATALOGUE = Path(__file__).with_name("catalogue.json")
NO_SOURCE = "common practice, no published source"


@transaction.atomic
def load_catalogue(*, overwrite: bool = False) -> tuple[int, int]:
    """Add the entries that are not there yet, by slug. Returns how many were added and how many rewritten.

    What the firm has changed stays as it is; with `overwrite` the entries of the file get the file's words again.
    """
    rewritten = 0
    there = {defect.slug: defect for defect in Defect.objects.select_for_update()}
    new = []
    for entry in json.loads(CATALOGUE.read_text("utf-8"))["defects"]:
        fields = {
            **{name: entry[name] for name in ("link", "title", "meaning", "remedy", "action")},
            "citation": citation_of(entry["rules"]),
            "check_id": entry.get("check", ""),
        }
        defect = there.get(entry["slug"])
        if defect is None:
            new.append(Defect(slug=entry["slug"], **fields))
        elif overwrite and any(getattr(defect, name) != value for name, value in fields.items()):
            Defect.objects.filter(pk=defect.pk).update(**fields)
            rewritten += 1
    Defect.objects.bulk_create(new)
    return len(new), rewritten


def citation_of(rule_keys: list[str]) -> str:
    """The clauses of some rules of the engine's data, each once; one that was written from memory says so.

    Raises KeyError for a rule that the engine does not have.
    """
    rules = {str(row["key"]): row for row in tables.load("rules").rows}
    clauses = []
    for key in rule_keys:
        memory = ", from memory" if rules[key]["confirmed"] == "memory" else ""
        clauses.append(f"{rules[key]['citation']}{memory}")
    return "; ".join(dict.fromkeys(clauses)) or NO_SOURCE


def load_into_empty_catalogue(apps=global_apps, **_) -> None:
    """After a migration: a firm that has no catalogue yet starts with ours.

    A migration that stops half-way has an older table, or none; then there is nothing to load into yet.
    """
    try:
        table = apps.get_model("findings", "Defect")
    except LookupError:
        return
    columns = {field.column for field in table._meta.fields}
    if columns == {field.column for field in Defect._meta.fields} and not Defect.objects.exists():
        load_catalogue()
