from django.db import models

from firm.jobs.models import Job


class OutgoingMail(Job):
    """One mail to one address, sent by a worker.

    `dedupe_key` says what the mail is ("visit 12 confirmed, version 3"): asking for the same mail again sends nothing.
    `message_id` is fixed per row: if a worker dies between the server's "accepted" and our note of it, the mail goes
    out a second time under the same Message-ID, which receiving programs may recognise as one.
    """

    task_name = "firm.mail.deliver"

    kind = models.CharField(max_length=40)  # "visit_confirmed"; for counting and for tests
    dedupe_key = models.CharField(max_length=200, unique=True)
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField()
    html = models.TextField(blank=True)
    attachments = models.JSONField(default=list)  # [{"name", "content_type", "base64"}]
    # What makes the address that stands in the place of `late.MARK` in the text, as it is sent: "visit_page 12".
    address_of = models.CharField(max_length=60, blank=True, default="")
    message_id = models.CharField(max_length=200, unique=True)
    sending_at = models.DateTimeField(null=True, blank=True)  # when it was last handed to the mail server
    sent_at = models.DateTimeField(null=True, blank=True)  # when the mail server said it had it

    class Meta(Job.Meta):
        ordering = ["-created_at", "-pk"]
        verbose_name = "outgoing mail"

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"
