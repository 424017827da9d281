from tests.url_matrix import EVERYBODY, row

ROWS = {"health": row(get=EVERYBODY, post=EVERYBODY)}
