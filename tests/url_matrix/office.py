from tests.url_matrix import ADMINISTRATORS, BOOKERS, STAFF, row

ROWS = {
    "client-list": row(get=BOOKERS),
    "client-new": row(get=BOOKERS, post=BOOKERS),
    "client-detail": row(get=BOOKERS),
    "client-edit": row(get=BOOKERS, post=BOOKERS),
    "property-new": row(get=BOOKERS, post=BOOKERS),
    "property-edit": row(get=BOOKERS, post=BOOKERS),
    "rule-sets": row(get=BOOKERS),
    "rule-set-new": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "rule-set-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "amendment-add": row(post=ADMINISTRATORS),
    "amendment-remove": row(post=ADMINISTRATORS),
    "confirmation-add": row(post=ADMINISTRATORS),
    "confirmation-remove": row(post=ADMINISTRATORS),
    "firm-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "firm-logo": row(get=STAFF),
}
