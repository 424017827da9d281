"""What a page of the walk sends, and what stands in the record after it."""

import json

from django.urls import reverse

HTMX = {"HX-Request": "true"}


def link(visit, slug="joists"):
    return reverse("walk-link", args=[visit.pk, slug])


def readings_url(part, fact=""):
    return reverse("reading-record", args=[part.visit_id, part.pk]) + "?link=joists" + (f"&fact={fact}" if fact else "")


def send(page, part, fact, typed, seen, how="measured", **more):
    """What the page sends when one field was changed; `seen` is version, how and text that it was drawn from."""
    data = {fact: typed, f"{fact}.how": how, f"{fact}.seen": seen if isinstance(seen, str) else json.dumps(seen)}
    return page.post(readings_url(part, fact), {**data, **more}, headers=HTMX)


def values(part):
    return {reading.fact: reading.value for reading in part.readings.all()}
