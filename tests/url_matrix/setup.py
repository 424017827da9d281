from tests.url_matrix import ADMINISTRATORS, row

ROWS = {
    "set-up": row(get=ADMINISTRATORS),
    "set-up-step": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "set-up-leave": row(post=ADMINISTRATORS),
}
