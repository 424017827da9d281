from tests.url_matrix import BOOKERS, RECORDERS, row

READERS = BOOKERS | RECORDERS

ROWS = {
    "walk": row(get=READERS),
    "walk-start": row(get=RECORDERS, post=RECORDERS),
    "walk-link": row(get=READERS),
    "part-add": row(post=RECORDERS),
    "part-remove": row(get=RECORDERS, post=RECORDERS),
    "reading-record": row(post=RECORDERS),
    "part-same": row(post=RECORDERS),
    "fasteners-add": row(post=RECORDERS),
}
