"""The catalogue the program comes with: complete, sourced, and loaded without touching what the firm wrote."""

import json

import pytest
from django.core.management import call_command

from engine import tables
from engine.checks.registry import questions
from engine.vocabulary import Link
from firm.audit.models import AuditEntry
from inspections.findings.catalogue import CATALOGUE, NO_SOURCE, citation_of, load_catalogue, load_into_empty_catalogue
from inspections.findings.models import Action, Defect
from inspections.findings.services import save_defect

ENTRIES = json.loads(CATALOGUE.read_text("utf-8"))["defects"]
RULES = {row["key"]: row for row in tables.load("rules").rows}
QUESTIONS = {question.id: question for question in questions()}


def test_there_are_enough_and_each_has_a_slug_of_its_own():
    assert len(ENTRIES) >= 45
    assert len({entry["slug"] for entry in ENTRIES}) == len({entry["title"] for entry in ENTRIES}) == len(ENTRIES)


def test_every_link_of_the_load_path_has_at_least_four():
    links = [entry["link"] for entry in ENTRIES]
    assert set(links) == {link.value for link in Link}
    assert min(links.count(link) for link in links) >= 4


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry["slug"])
def test_an_entry_explains_itself_names_its_rules_and_fits(entry):
    assert set(entry) <= {"slug", "link", "check", "action", "rules", "title", "meaning", "remedy"}
    assert set(entry["rules"]) <= RULES.keys()
    assert entry["action"] in Action.values
    assert len(entry["title"]) <= 90
    assert len(entry["meaning"].split()) >= 10, "says why it matters"
    assert len(entry["remedy"].split()) >= 10, "says what to do, and not only that something must be done"
    assert "as necessary" not in entry["remedy"]
    assert "!" not in entry["meaning"] + entry["remedy"]
    assert len(citation_of(entry["rules"])) <= Defect._meta.get_field("citation").max_length


@pytest.mark.parametrize("entry", [e for e in ENTRIES if "check" in e], ids=lambda entry: entry["slug"])
def test_the_check_an_entry_answers_exists_on_its_link(entry):
    assert QUESTIONS[entry["check"]].link == entry["link"]


def test_no_two_entries_answer_the_same_check():
    checks = [entry["check"] for entry in ENTRIES if "check" in entry]
    assert len(checks) == len(set(checks))


def test_numbers_in_a_remedy_are_those_of_the_rules_it_names():
    by_slug = {entry["slug"]: entry for entry in ENTRIES}
    for slug, rule, words in [
        ("guard-missing", "guard.min_height", "36 in"),
        ("guard-missing", "guard.opening_sphere", "4 in ball"),
        ("guard-opening-too-wide", "guard.opening_sphere", "4 in ball"),
        ("no-handrail", "handrail.min_height", "34 to 38 in"),
        ("ledger-nailed-only", "ledger.fastener_diameter", "1/2 in"),
    ]:
        value = {"1/2 in": 0.5}.get(words) or float(words.split()[0])
        assert RULES[rule]["value"] == value
        assert words in by_slug[slug]["remedy"]


def test_a_rule_known_from_memory_says_so():
    assert citation_of(["guard_post.max_spacing"]) == "DCA 6-2012 Figure 23-24, from memory"
    assert citation_of(["guard.min_height"]) == "IRC R312.1.2"
    assert citation_of([]) == NO_SOURCE
    with pytest.raises(KeyError):
        citation_of(["no.such_rule"])


@pytest.mark.django_db
def test_a_new_database_has_the_catalogue_and_loading_again_adds_nothing(capsys):
    assert Defect.objects.count() == len(ENTRIES)
    call_command("load_catalogue")
    assert capsys.readouterr().out == "0 added, 0 rewritten.\n"
    assert Defect.objects.count() == len(ENTRIES)


@pytest.mark.django_db
def test_what_the_firm_changed_stays_unless_it_asks_for_ours():
    Defect.objects.filter(slug="no-handrail").update(title="Handrail wanted")
    Defect.objects.filter(slug="guard-missing").delete()
    assert load_catalogue() == (1, 0)
    assert Defect.objects.get(slug="no-handrail").title == "Handrail wanted"
    assert load_catalogue(overwrite=True) == (0, 1)
    assert Defect.objects.get(slug="no-handrail").title == "No handrail at the stairs"


@pytest.mark.django_db
def test_a_firm_that_emptied_part_of_its_catalogue_is_not_given_it_back_by_an_upgrade():
    Defect.objects.exclude(slug="no-handrail").delete()
    load_into_empty_catalogue()
    assert Defect.objects.count() == 1


@pytest.mark.django_db
def test_a_table_that_does_not_exist_yet_is_left_alone():
    from django.db.migrations.state import ProjectState

    Defect.objects.all().delete()
    load_into_empty_catalogue(apps=ProjectState().apps)
    assert not Defect.objects.exists()


@pytest.mark.django_db
def test_a_new_entry_gets_a_slug_and_a_line_in_the_audit(manager):
    for expected in ("rot-at-the-hatch", "rot-at-the-hatch-2"):
        defect = save_defect(Defect(link="water", title="Rot at the hatch", meaning="..."), by=manager)
        assert defect.slug == expected
    assert AuditEntry.objects.about(defect).get().verb == "added"


# --- its pages ---


def test_the_list_shows_every_entry_with_its_word(signed_in, manager, django_assert_max_num_queries):
    client = signed_in(manager)
    with django_assert_max_num_queries(8):
        page = client.get("/catalogue/").content.decode()
    for entry in ENTRIES:
        assert entry["title"] in page
    assert "not used yet" in page


def test_a_manager_changes_an_entry_and_findings_keep_their_words(client, manager, visit):
    defect = Defect.objects.get(slug="no-handrail")
    finding = visit.findings.create(
        link="way up", title=defect.title, defect=defect, action="find_out", by=visit.inspector
    )
    client.force_login(manager)
    answer = client.post(
        f"/catalogue/{defect.pk}/",
        {
            "link": "way up",
            "title": "Handrail wanted",
            "meaning": "M",
            "remedy": "R",
            "citation": "",
            "action": "put_right",
        },
    )
    assert answer.status_code == 302
    defect.refresh_from_db()
    finding.refresh_from_db()
    assert (defect.title, defect.is_offered) == ("Handrail wanted", False)
    assert finding.title == "No handrail at the stairs"
    assert AuditEntry.objects.about(defect).get().before["title"] == "No handrail at the stairs"


def test_a_refused_entry_keeps_what_was_typed(client, manager):
    client.force_login(manager)
    page = client.post("/catalogue/new/", {"link": "water", "title": "Rot", "meaning": "", "action": "put_right"})
    assert page.status_code == 200
    assert 'value="Rot"' in page.content.decode()
    assert "This field is required" in page.content.decode()
