from tests.url_matrix import RECORDERS, RELEASERS, row

ROWS = {
    "comment-new": row(get=RELEASERS, post=RELEASERS),
    "comment-answer": row(post=RELEASERS | RECORDERS),
}
