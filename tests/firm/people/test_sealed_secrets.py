"""The key of an authenticator app lies sealed in the database: the file alone lets nobody in."""

from io import StringIO

import pyotp
import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.urls import reverse
from django.utils import timezone

from firm.people import second_factor
from firm.people.models import SecondFactor
from firm.people.sealing import Locked, is_locked, seal, unseal

PASSWORD = "open sesame 12"


def code_of(factor):
    return pyotp.TOTP(factor.key).at(timezone.now())


@pytest.fixture
def protected(inspector):
    """The inspector with an app that was set up some time ago, and the recovery codes."""
    factor = second_factor.begin(inspector)
    codes = second_factor.confirm(inspector, code_of(factor))
    SecondFactor.objects.update(last_step=0)
    return inspector, SecondFactor.objects.get(), codes


def on_another_machine(settings):
    settings.SECRET_KEY = "the secret of another installation, long enough to be one"


def test_what_is_sealed_is_not_to_be_read_in_the_row_and_opens_again(db, inspector):
    factor = second_factor.begin(inspector)
    with connection.cursor() as cursor:
        cursor.execute("SELECT secret FROM people_secondfactor")
        (lies_there,) = cursor.fetchone()
    assert factor.key not in lies_there and len(factor.key) == 32
    assert unseal(lies_there) == factor.key


def test_twice_the_same_looks_different_and_a_changed_one_does_not_open(settings):
    assert seal("KEY") != seal("KEY")
    sealed = seal("KEY")
    with pytest.raises(Locked):
        unseal(sealed[:-4] + "AAA=")


def test_a_former_secret_still_opens_and_reseal_makes_it_needless(protected, settings):
    inspector, factor, _ = protected
    former, key = settings.SECRET_KEY, factor.key
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "the next secret of this installation", [former]
    assert second_factor.is_right(inspector, code_of(factor))
    call_command("reseal", stdout=StringIO())
    settings.SECRET_KEY_FALLBACKS = []
    assert SecondFactor.objects.get().key == key


def test_reseal_says_what_it_cannot_open_and_leaves_it_alone(protected, settings):
    _, factor, _ = protected
    on_another_machine(settings)
    with pytest.raises(CommandError, match="left as they are: 1"):
        call_command("reseal", stdout=StringIO())
    assert SecondFactor.objects.get().secret == factor.secret


def test_on_a_machine_with_another_secret_a_recovery_code_lets_in_and_the_app_is_set_up_anew(
    protected, client, settings
):
    inspector, factor, codes = protected
    key = factor.key
    on_another_machine(settings)
    client.post(reverse("sign-in"), {"username": "inspector", "password": PASSWORD})
    assert b"cannot read the key" in client.get(reverse("second-step")).content
    refused = client.post(reverse("second-step"), {"code": pyotp.TOTP(key).at(timezone.now())})
    assert refused.status_code == 200, "the app's code is refused in words"
    client.post(reverse("second-step"), {"code": codes[0]})
    assert client.session["_auth_user_id"] == str(inspector.pk)
    assert b"Set it up anew" in client.get(reverse("my-sign-in")).content

    client.get(reverse("second-factor"))
    anew = SecondFactor.objects.get()
    assert not is_locked(anew.secret) and anew.key != key
    assert second_factor.is_asked_of(inspector), "the other recovery codes hold until the new app is proved"
    shown = client.post(reverse("second-factor"), {"code": code_of(anew), "password": "open sesame 12"})
    assert len(shown.context["codes"]) == 10
    assert not second_factor.is_right(inspector, codes[1]), "the former codes are worthless now"


def test_who_has_nobody_to_ask_takes_the_second_factor_away_at_the_machine(protected):
    inspector, _, _ = protected
    call_command("take_second_factor_away", "inspector", stdout=StringIO())
    assert not second_factor.is_asked_of(inspector) and second_factor.codes_left(inspector) == 0
    for name in ("inspector", "nobody of this name"):
        with pytest.raises(CommandError):
            call_command("take_second_factor_away", name)


@pytest.mark.django_db(transaction=True)
def test_keys_that_lay_open_are_sealed_by_the_upgrade_and_opened_by_the_way_back(inspector):
    before, after = [("people", "0003_passkey")], [("people", "0004_sealed_secrets")]
    with connection.cursor() as cursor:
        MigrationExecutor(connection).migrate(before)
        old = MigrationExecutor(connection).loader.project_state(before).apps.get_model("people", "SecondFactor")
        old.objects.create(person_id=inspector.pk, secret="GEZDGNBVGY3TQOJQ", confirmed_at=timezone.now())
        MigrationExecutor(connection).migrate(after)
        assert SecondFactor.objects.get().key == "GEZDGNBVGY3TQOJQ"
        assert SecondFactor.objects.get().secret != "GEZDGNBVGY3TQOJQ"
        MigrationExecutor(connection).migrate(before)
        cursor.execute("SELECT secret FROM people_secondfactor")
        assert cursor.fetchone() == ("GEZDGNBVGY3TQOJQ",)
        MigrationExecutor(connection).migrate(MigrationExecutor(connection).loader.graph.leaf_nodes())
