"""Who may open which address. One module per app, one row per url name; a url without a row fails the suite.

    ROWS = {"visit-book": row(get=BOOKERS, post=BOOKERS)}

`get` and `post` name who is let in; everybody else must be sent to sign in, or refused with 403. A method that is not
named is refused to all. The arguments of an address are made up (1, "x", a zero UUID), so "let in" may end in 404.
"""

from dataclasses import dataclass

SIGNED_OUT, OFFICE, INSPECTOR, MANAGER, ADMINISTRATOR = "signed out", "office", "inspector", "manager", "administrator"

STAFF = frozenset({OFFICE, INSPECTOR, MANAGER, ADMINISTRATOR})
EVERYBODY = STAFF | {SIGNED_OUT}
NOBODY: frozenset[str] = frozenset()

# Written out, not computed from the code under test.
BOOKERS = frozenset({OFFICE, MANAGER, ADMINISTRATOR})
RECORDERS = frozenset({INSPECTOR})
RELEASERS = frozenset({MANAGER})
TREND_READERS = frozenset({MANAGER})
ADMINISTRATORS = frozenset({ADMINISTRATOR})


@dataclass(frozen=True)
class Row:
    get: frozenset[str]
    post: frozenset[str]


def row(*, get: frozenset[str] = NOBODY, post: frozenset[str] = NOBODY) -> Row:
    return Row(get, post)
