from tests.url_matrix import EVERYBODY, RECORDERS, row

ROWS = {
    "sync": row(post=RECORDERS),
    "sync-visit": row(get=RECORDERS),
    "sync-engine": row(get=RECORDERS),
    "sync-photo": row(get=RECORDERS, post=RECORDERS),
    "sync-problems": row(get=RECORDERS),
    "sync-settle": row(post=RECORDERS),
    "manifest": row(get=EVERYBODY),
    "service-worker": row(get=EVERYBODY),
    "off-line": row(get=EVERYBODY),
}
