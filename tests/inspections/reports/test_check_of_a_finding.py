"""Which check stands beside a finding: one about the piece it means, never the same question about another."""

import pytest

from inspections.reports.digest import Digest


def check(subject, verdict="fails", ratio=1.5):
    return {
        "id": "decay.soft",
        "link": "water",
        "title": "Soft wood",
        "subject": subject,
        "verdict": verdict,
        "ratio": ratio,
    }


def part(key, kind, link):
    return {"key": key, "kind": kind, "name": "", "link": link, "readings": []}


@pytest.fixture
def digest_of():
    """`digest_of(link="posts")`: a record with a soft ledger and soft posts, and one finding with that check."""

    def make(**finding):
        nothing = dict.fromkeys(("firm", "client", "property", "basis", "inspector", "cautions", "tables"))
        given = {
            "id": "f", "check_id": "decay.soft", "place": "", "part_key": "", "part_name": "", "action": "put_right",
            "how_soon": "no_date", **finding,
        }  # fmt: skip
        checks = [check("ledger LD1", ratio=3.0), check("post P1", ratio=1.2), check("post P2", ratio=2.0)]
        parts = [part("LD1", "ledger", "ledger and house"), part("P1", "post", "posts"), part("P2", "post", "posts")]
        return Digest(
            {
                **nothing, "visit": {"begun_at": None, "starts_at": "2026-05-05T14:00:00+00:00"}, "photos": [],
                "parts": parts, "findings": [given], "assessment": {"checks": checks},
            }
        )  # fmt: skip

    return make


def subject_beside(digest):
    (finding,) = digest.findings
    return finding.check and finding.check.subject


def test_a_rotten_post_is_not_answered_by_the_soft_ledger_that_is_worse(digest_of):
    assert subject_beside(digest_of(link="posts")) == "post P2"
    assert subject_beside(digest_of(link="posts", place="post P1")) == "post P1"
    assert subject_beside(digest_of(link="posts", part_key="P1")) == "post P1"


def test_a_link_whose_parts_were_not_asked_has_no_check_beside_it(digest_of):
    record = digest_of(link="beam")
    record.snapshot["parts"].append(part("B1", "beam", "beam"))
    assert subject_beside(record) is None


def test_water_has_no_parts_of_its_own_and_takes_the_worst(digest_of):
    assert subject_beside(digest_of(link="water")) == "ledger LD1"
