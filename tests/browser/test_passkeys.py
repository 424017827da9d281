"""A passkey in a real browser: made, used after the password and instead of it, removed."""

import re

from playwright.sync_api import expect

from tests.browser.looks import faults_of

PASSWORD = "open sesame 12"


def with_a_key(page):
    """A security key in the page's browser that recognises its holder, as a tablet with a fingerprint reader does."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    options = {
        "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True,
        "isUserVerified": True, "automaticPresenceSimulation": True,
    }  # fmt: skip
    number = devtools.send("WebAuthn.addVirtualAuthenticator", {"options": options})["authenticatorId"]
    return lambda recognises: devtools.send(
        "WebAuthn.setUserVerified", {"authenticatorId": number, "isUserVerified": recognises}
    )


def test_a_passkey_is_made_signs_in_both_ways_and_is_removed(tablet, inspector):
    page = tablet(inspector)
    recognises = with_a_key(page)
    page.goto("/my-sign-in/")
    page.get_by_role("link", name="Make a passkey").click()
    assert faults_of(page) == []

    page.get_by_label("What you call it").fill("tablet in the van")
    page.get_by_label("Your password").fill("a guess")
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_text("This is not your password.")).to_be_visible()
    page.problems.clear()  # the browser notes the answer 422
    assert faults_of(page) == []
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Make it").click()
    expect(page.get_by_role("heading", name="Write these down")).to_be_visible(timeout=20_000)
    page.get_by_role("link", name="I have written them down").click()
    expect(page.get_by_text("tablet in the van").first).to_be_visible()
    assert faults_of(page) == []

    page.get_by_role("button", name="Sign out", exact=True).click()
    page.get_by_label("User name").fill("inspector")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="Second step")).to_be_visible()
    assert faults_of(page) == []
    page.get_by_role("button", name="Use your passkey").click()
    expect(page.get_by_text("signed in as")).to_be_visible(timeout=20_000)

    page.get_by_role("button", name="Sign out", exact=True).click()
    assert faults_of(page) == []
    recognises(False)
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page.get_by_text("No passkey was used")).to_be_visible(timeout=20_000)
    recognises(True)
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page.get_by_text("signed in as")).to_be_visible(timeout=20_000)

    page.goto("/my-sign-in/")
    expect(page.get_by_text("last used")).to_be_visible()
    page.get_by_role("link", name=re.compile("^Remove")).click()
    assert faults_of(page) == []
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Remove it").click()
    expect(page.get_by_text("is removed")).to_be_visible()
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.get_by_role("button", name="Sign in with a passkey").click()
    expect(page.get_by_text("not known here")).to_be_visible(timeout=20_000)
