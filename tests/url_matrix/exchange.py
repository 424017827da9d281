from tests.url_matrix import ADMINISTRATORS, row

ROWS = {
    "exchange": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "import-detail": row(get=ADMINISTRATORS),
    "import-fates": row(get=ADMINISTRATORS),
    "import-take-over": row(post=ADMINISTRATORS),
    "export-ask": row(post=ADMINISTRATORS),
    "export-download": row(get=ADMINISTRATORS),
}
