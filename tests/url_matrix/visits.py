from tests.url_matrix import BOOKERS, RECORDERS, RELEASERS, STAFF, row

ROWS = {
    "home": row(get=STAFF),
    "visit-list": row(get=STAFF),
    "visit-detail": row(get=STAFF),
    "visit-book": row(get=BOOKERS, post=BOOKERS),
    "visit-day": row(get=BOOKERS),
    "calendar": row(get=STAFF),
    "calendar-shift": row(post=BOOKERS),
    "visit-move": row(get=BOOKERS, post=BOOKERS),
    "visit-call-off": row(get=BOOKERS, post=BOOKERS),
    "visit-book-again": row(post=BOOKERS),
    "visit-begin": row(post=RECORDERS),
    "visit-take-rules": row(post=STAFF),
    "visit-hand-in": row(get=RECORDERS, post=RECORDERS),
    "visit-send-back": row(get=RELEASERS, post=RELEASERS),
}
