from tests.url_matrix import ADMINISTRATORS, EVERYBODY, STAFF, row

ROWS = {
    "sign-in": row(get=EVERYBODY, post=EVERYBODY),
    "sign-out": row(post=STAFF),
    "change-password": row(get=STAFF, post=STAFF),
    "people": row(get=ADMINISTRATORS),
    "person-add": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "person-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
}
