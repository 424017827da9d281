from tests.url_matrix import ADMINISTRATOR, MANAGER, RECORDERS, STAFF, row

KEEPERS_OF_THE_CATALOGUE = frozenset({MANAGER, ADMINISTRATOR})

ROWS = {
    "finding-list": row(get=STAFF),
    "finding-new": row(get=RECORDERS, post=RECORDERS),
    "finding-edit": row(get=RECORDERS, post=RECORDERS),
    "finding-remove": row(post=RECORDERS),
    "defect-list": row(get=KEEPERS_OF_THE_CATALOGUE),
    "defect-new": row(get=KEEPERS_OF_THE_CATALOGUE, post=KEEPERS_OF_THE_CATALOGUE),
    "defect-edit": row(get=KEEPERS_OF_THE_CATALOGUE, post=KEEPERS_OF_THE_CATALOGUE),
    "photo-add": row(get=RECORDERS, post=RECORDERS),
    "photo-edit": row(get=RECORDERS, post=RECORDERS),
    "photo-marks": row(get=RECORDERS, post=RECORDERS),
    "photo-file": row(get=STAFF),
    "photo-tile": row(get=STAFF),
    "photo-remove": row(post=RECORDERS),
    "photo-again": row(post=RECORDERS),
}
