from tests.url_matrix import ADMINISTRATORS, EVERYBODY, RELEASERS, row

ROWS = {
    "ready": row(get=EVERYBODY),
    "operations": row(get=ADMINISTRATORS),
    "backup-now": row(post=ADMINISTRATORS),
    "job-again": row(post=ADMINISTRATORS),
    "audit-trail": row(get=RELEASERS | ADMINISTRATORS),
    "audit-csv": row(get=RELEASERS | ADMINISTRATORS),
}
