from tests.url_matrix import ADMINISTRATORS, EVERYBODY, STAFF, row

ROWS = {
    "sign-in": row(get=EVERYBODY, post=EVERYBODY),
    "sign-out": row(post=STAFF),
    "change-password": row(get=STAFF, post=STAFF),
    "second-step": row(get=EVERYBODY, post=EVERYBODY),
    "password-forgotten": row(get=EVERYBODY, post=EVERYBODY),
    "set-password": row(get=EVERYBODY, post=EVERYBODY),
    "my-sign-in": row(get=STAFF),
    "second-factor": row(get=STAFF, post=STAFF),
    "second-factor-off": row(post=STAFF),
    "passkey-sign-in": row(post=EVERYBODY),
    "passkey-question": row(post=EVERYBODY),
    "passkey-add": row(get=STAFF, post=STAFF),
    "passkey-add-question": row(post=STAFF),
    "passkey-remove": row(get=STAFF, post=STAFF),
    "sign-out-devices": row(post=STAFF),
    "person-invite": row(post=ADMINISTRATORS),
    "person-shut-out": row(post=ADMINISTRATORS),
    "people": row(get=ADMINISTRATORS),
    "person-add": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "person-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
}
