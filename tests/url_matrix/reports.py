from tests.url_matrix import BOOKERS, EVERYBODY, INSPECTOR, RELEASERS, row

READERS = BOOKERS | {INSPECTOR}

ROWS = {
    "review-list": row(get=RELEASERS),
    "review-detail": row(get=RELEASERS),
    "report-draft": row(post=RELEASERS),
    "report-release": row(post=RELEASERS),
    "report-correct": row(post=RELEASERS),
    "report-progress": row(get=READERS),
    "report-again": row(post=RELEASERS),
    "report-stop": row(post=RELEASERS),
    "report-reopen": row(post=RELEASERS),
    "report-pdf": row(get=READERS),
    "link-new": row(get=BOOKERS, post=BOOKERS),
    "link-revoke": row(post=BOOKERS),
    "link-again": row(post=BOOKERS),
    "link-came-back": row(post=BOOKERS),
    # Whoever holds the link; the made-up token of the test opens nothing and gets the page that says so.
    "client-report": row(get=EVERYBODY, post=EVERYBODY),
    "client-nowhere": row(get=EVERYBODY, post=EVERYBODY),
    "client-report-pdf": row(get=EVERYBODY),
    "client-report-version": row(get=EVERYBODY),
    "client-report-version-pdf": row(get=EVERYBODY),
    "client-report-language": row(post=EVERYBODY),
    "client-report-done": row(post=EVERYBODY),
    "client-report-picture": row(get=EVERYBODY),
    "client-report-logo": row(get=EVERYBODY),
    "client-report-photo": row(get=EVERYBODY),
}
