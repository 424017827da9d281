"""Spanish: our own words are known, an inspector's own are left alone, and no number is lost on the way."""

import gettext
import json
import re
from pathlib import Path

import pytest
from django.template.loader import get_template
from django.urls import reverse
from django.utils import translation

import inspections.spanish as spanish
from engine import CAUTION
from engine.checks.registry import questions
from engine.vocabulary import Link
from inspections.findings.models import Action, Finding
from inspections.reports.giving import make_link
from inspections.reports.services import issue_report
from inspections.reports.templatetags.report_words import day
from inspections.spanish import in_spanish, said
from inspections.spanish.templatetags.spoken import as_written, said_or_marked

HERE = Path(spanish.__file__).parent
PAGES = Path(__file__).parents[3] / "templates" / "inspections" / "reports"
CATALOGUE = json.loads((HERE.parent / "findings" / "catalogue.json").read_text("utf-8"))["defects"]
MO = HERE / "locale" / "es" / "LC_MESSAGES" / "django.mo"


def compiled():
    with MO.open("rb") as file:
        return gettext.GNUTranslations(file)


def written():
    """The pairs of the .po file: msgid (and plural) -> msgstr, read without gettext's tools."""
    text = MO.with_suffix(".po").read_text("utf-8")
    return {
        json.loads(f'"{one}"'): json.loads(f'"{other}"')
        for one, other in re.findall(r'^msgid "(.+)"\n(?:msgid_plural .*\n)?msgstr(?:\[0\])? "(.*)"$', text, re.M)
    }


@pytest.mark.parametrize("defect", CATALOGUE, ids=lambda defect: defect["slug"])
def test_every_entry_of_the_catalogue_is_known(defect):
    for name in ("title", "meaning", "remedy"):
        assert in_spanish(defect[name]), defect[name]


@pytest.mark.parametrize("defect", CATALOGUE, ids=lambda defect: defect["slug"])
def test_no_measure_is_lost_or_changed_in_an_entry(defect):
    for name in ("title", "meaning", "remedy"):
        numbers = re.findall(r"\d+(?:/\d+)?(?:x\d+)?", defect[name])
        assert sorted(numbers) == sorted(re.findall(r"\d+(?:/\d+)?(?:x\d+)?", in_spanish(defect[name])))


@pytest.mark.parametrize("count", ["Two", "11", "22"])
def test_what_falls_short_is_said_in_spanish_however_many_checks_it_is(count):
    words = (
        f"11 checks fall short of what the rules ask, beside the findings. {count} checks of what carries the deck have"
        " no clear answer. The repair alone does not clear the deck."
    )
    spanish = in_spanish(words)
    assert spanish and "checks" not in spanish and spanish.startswith("Además de los hallazgos, 11 revisiones")


def test_action_words_limits_and_links_are_known():
    words = [*Action.labels, *Finding.HowSoon.labels, *Finding.Who.labels, *(str(link) for link in Link), CAUTION]
    assert [word for word in words if not in_spanish(word)] == []


def test_titles_of_checks_are_known():
    """Nearly all: a new check may come before its words, and then stands in English, marked as such."""
    titles = {question.title for question in questions()}
    unknown = {title for title in titles if not in_spanish(title)}
    assert len(unknown) <= len(titles) // 20, unknown


@pytest.mark.parametrize(
    ("english", "expected"),
    [
        ("Keep off", "No usar"),
        ("Find out", "Averiguar"),
        ("Falls short, 131 %", "No cumple, 131 %"),
        ("3 checks fall short; 2 findings", "3 revisiones no cumplen; 2 hallazgos"),
        ("beam B1, span 2", "viga B1, claro 2"),
        ("Within two weeks, by December 9, 2026", "En dos semanas, a más tardar el 9 de diciembre de 2026"),
        ("Must carry 1,200 lb, can carry 950 lb", "Debe llevar 1,200 lb, puede llevar 950 lb"),
        (
            "Keep off the deck: nobody should use it until the repairs that call for it are made and checked.",
            "No use la terraza: nadie debe usarla hasta que las reparaciones que lo exigen estén hechas y revisadas.",
        ),
        (
            "not recorded: base of post P1 (at the foot)",
            "no registrado: base de poste P1 (en el pie)",
        ),
    ],
)
def test_sentences_keep_their_numbers_and_keys(english, expected):
    assert in_spanish(english) == expected


@pytest.mark.parametrize(
    "own",
    ["post by the stairs", "Chairs against the wall", "beam near the grill", "Ask Bob, by noon", "the 2x4 at left"],
)
def test_an_inspectors_own_words_are_never_half_translated(own):
    assert in_spanish(own) is None
    with translation.override("es-mx"):
        assert said(own) == own and said_or_marked(own) == f'<span lang="en">{own}</span>'


def test_a_date_is_written_as_spanish_writes_it():
    with translation.override("es-mx"):
        assert day("2026-11-25T12:00:00+00:00") == "25 de noviembre de 2026"
    assert day("2026-11-25T12:00:00+00:00") == "November 25, 2026"


def test_in_english_nothing_is_touched():
    assert said("Keep off") == "Keep off" and said_or_marked("Keep off") == "Keep off"


def test_markup_in_somebodys_words_stays_text():
    for language in ("en-us", "es-mx"):
        with translation.override(language):
            shown = as_written("<script>alert(1)</script>")
            assert "<script" not in shown and "&lt;script&gt;" in shown and "<p>" in shown


def test_the_compiled_words_are_those_of_the_po_file():
    mo = compiled()
    pairs = written()
    assert len(pairs) > 80
    assert {one: mo.gettext(one) for one in pairs if "way to repair" not in one and "s page." not in one} == {
        one: other for one, other in pairs.items() if "way to repair" not in one and "s page." not in one
    }


def test_every_fixed_word_of_the_clients_page_is_translated():
    known = written()
    files = [*PAGES.glob("_*.html"), *(PAGES / "client").glob("*.html"), PAGES.parent / "outside" / "visit.html"]
    used = {m for file in files for m in re.findall(r'{% translate "((?:[^"\\]|\\.)*)" %}', file.read_text("utf-8"))}
    code = [HERE.parent / "outside" / f"{name}.py" for name in ("forms", "services", "views")]
    used |= {m for file in code for m in re.findall(r'\b_\("([^"]*)"\)', file.read_text("utf-8"))}
    # A percent sign in the tag is doubled on its way to the words; a sign that is not is never found there.
    assert len(used) > 60 and {words for words in used if words.replace("%", "%%") not in known} == set()


@pytest.mark.parametrize("name", ["text", "html"])
def test_the_spanish_mail_is_there(name):
    get_template(f"inspections/reports/mail/link.es.{'txt' if name == 'text' else 'html'}")


@pytest.mark.django_db
def test_the_choice_is_kept_for_the_link_and_the_answer_is_in_spanish(client, inspector, manager, settings, tmp_path):
    from tests.inspections.reports.records import handed_in_visit

    settings.MEDIA_ROOT = tmp_path
    visit = handed_in_visit(inspector, photo=False)
    issue_report(visit, by=manager)
    _, token = make_link(visit, recipient="Ines", by=manager)
    page = reverse("client-report", args=[token])
    assert 'lang="en"' in client.get(page).content.decode()
    client.post(reverse("client-report-language", args=[token]), {"language": "es"})
    client.cookies.clear()
    text = client.get(page).content.decode()
    assert '<html lang="es">' in text and "No use la terraza" in text and "Lo que se encontró" in text
    assert "no reemplaza a un profesional de diseño con licencia" in text
    assert "en inglés" in text  # what stays as written is said
    client.post(reverse("client-report-language", args=[token]), {"language": "xx"})
    assert '<html lang="es">' in client.get(page).content.decode()
