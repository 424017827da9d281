from tests.url_matrix import ADMINISTRATORS, BOOKERS, EVERYBODY, RECORDERS, row

ROWS = {
    "letters": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "letter-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "letter-first-words": row(post=ADMINISTRATORS),
    "agreement-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "calendar-feed": row(get=RECORDERS, post=RECORDERS),
    "time-wish-put-aside": row(post=BOOKERS),
    # Whoever holds the address; the made-up token of the test opens nothing and gets the page that says so.
    "client-visit": row(get=EVERYBODY),
    "client-visit-confirm": row(post=EVERYBODY),
    "client-visit-ask": row(post=EVERYBODY),
    "client-visit-language": row(post=EVERYBODY),
    "client-visit-accept": row(post=EVERYBODY),
    "calendar-feed-read": row(get=EVERYBODY),
}
