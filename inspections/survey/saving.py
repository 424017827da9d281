"""A sheet that was sent: what was changed on it is recorded, what was refused is kept with the reason beside it."""

from django.http import QueryDict

from engine.vocabulary import Fact
from inspections.survey.models import Part, Reading
from inspections.survey.pages import Said
from inspections.survey.services import (
    Changed,
    NotYours,
    RecordClosed,
    Unreadable,
    clear_reading,
    name_part,
    record_reading,
)
from inspections.survey.sheets import Entry, shown, was_shown
from inspections.survey.typed import candidates_in


def save_sheet(part: Part, data: QueryDict, *, only: str = "", by) -> Said:
    """Record every fact of the form that its writer changed (or only the fact `only`), each by itself.

    A field that was not touched is left alone even if another wrote it meanwhile. A field that both wrote comes back
    with both values.
    """
    said = Said()
    readings = {one.fact: one for one in part.readings.select_related("by")}
    if "part-name" in data and not only:
        try:
            name_part(part, data["part-name"], by=by)
        except (Unreadable, RecordClosed, NotYours) as refusal:
            said.names[part.key] = (data["part-name"], str(refusal))
    for fact in part.vocabulary.facts:
        if (only and fact.name != only) or (fact.name not in data and f"{fact.name}.how" not in data):
            continue
        reading = readings.get(fact.name)
        how, text = shown(fact, reading)
        entry = Entry(part, fact, reading, [], text=text, how=how)
        if data.get(f"{fact.name}.keep") == "theirs":
            continue
        if (given := _save_fact(part, fact, entry, data, by)) is not None:
            said.entries[part.key, fact.name] = given
    return said


def _save_fact(part: Part, fact: Fact, entry: Entry, data: QueryDict, by) -> Entry | None:
    """The entry as the page is to show it, or None where nothing was changed."""
    how = data.get(f"{fact.name}.how", Reading.How.MEASURED)
    seen = was_shown(data.get(f"{fact.name}.seen", ""))
    version, was_how, was_text = seen or (None, *shown(fact, entry.reading))
    typed = _typed(fact, data, was_text)
    if (typed, how) == (was_text, was_how):
        return None
    if how == was_how == Reading.How.NOT_REACHABLE and typed != was_text:
        how = Reading.How.MEASURED  # a value typed over "not reachable": it was reached after all
    if how == Reading.How.NOT_REACHABLE:
        typed = ""
    entry.text, entry.how = typed, how
    try:
        if typed or how == Reading.How.NOT_REACHABLE:
            record_reading(part, fact.name, typed, how=how, by=by, seen=version)
            entry.saved = True
        elif was_text or was_how == Reading.How.NOT_REACHABLE:
            clear_reading(part, fact.name, by=by, seen=version)
            entry.saved = True
    except Changed as clash:
        entry.theirs, entry.has_clash = clash.reading, True
    except Unreadable as error:
        entry.error = error.reason
    except (RecordClosed, NotYours) as refusal:
        entry.error = str(refusal)
    return entry


def _typed(fact: Fact, data: QueryDict, was_text: str) -> str:
    """What the form says of a fact: its field, or several values of which it is one, where the writer is not sure.

    Words are ticked (`.any`); a number is put behind the one in the field (`.or`).
    """
    typed, more = data.get(fact.name, "").strip(), data.get(f"{fact.name}.or", "").strip()
    ticked = [one for one in fact.choices if one in data.getlist(f"{fact.name}.any")]
    if set(ticked) != set(candidates_in(fact, was_text)) and (len(ticked) > 1 or (ticked and typed == was_text)):
        return " or ".join(ticked)
    return " or ".join(filter(None, (typed, more)))
