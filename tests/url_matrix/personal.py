from tests.url_matrix import ADMINISTRATORS, row

ROWS = {
    "client-data": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "client-export": row(post=ADMINISTRATORS),
}
