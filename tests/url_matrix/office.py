from tests.url_matrix import ADMINISTRATORS, BOOKERS, STAFF, row

ROWS = {
    "client-list": row(get=BOOKERS),
    "client-new": row(get=BOOKERS, post=BOOKERS),
    "client-detail": row(get=BOOKERS),
    "client-edit": row(get=BOOKERS, post=BOOKERS),
    "property-new": row(get=BOOKERS, post=BOOKERS),
    "property-edit": row(get=BOOKERS, post=BOOKERS),
    "firm-edit": row(get=ADMINISTRATORS, post=ADMINISTRATORS),
    "firm-logo": row(get=STAFF),
}
