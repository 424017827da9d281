"""A tablet as the server hears it: operations with ids of their own, sent when and as often as a test likes."""

import hashlib
import json
from uuid import uuid4

from django.urls import reverse
from django.utils import timezone


class Tablet:
    def __init__(self, client, person, visit):
        self.client, self.person, self.visit = client, person, visit

    def made(self, kind, /, follows=None, made_at=None, visit=None, **payload):
        return {
            "id": str(uuid4()),
            "visit": (visit or self.visit).pk,
            "kind": kind,
            "payload": payload,
            "follows": follows,
            "made_at": (made_at or timezone.now()).isoformat(),
        }

    def send(self, *operations, sent_at=None, person=None):
        body = {
            "person": person or self.person.pk,
            "sent_at": (sent_at or timezone.now()).isoformat(),
            "operations": list(operations),
        }
        self.answer = self.client.post(reverse("sync"), json.dumps(body), content_type="application/json")
        return self.answer.json()["outcomes"] if self.answer.status_code == 200 else None

    def part(self, kind, **payload):
        return self.made("add_part", part=str(uuid4()), kind=kind, **payload)

    def send_piece(self, photo_id, data, starts, whole):
        address = reverse(
            "sync-photo",
            args=[photo_id],
            query={"sha256": hashlib.sha256(whole).hexdigest(), "bytes": len(whole), "from": starts},
        )
        return self.client.post(address, data, content_type="application/octet-stream")


def outcomes(answers):
    return [one["outcome"] for one in answers]
