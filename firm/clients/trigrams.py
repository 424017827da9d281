"""The index of three-letter pieces with which names that are misspelt are found among many.

On PostgreSQL it is the extension pg_trgm, on SQLite the trigram tokenizer of FTS5. Where neither may be had (a database
user who may not create extensions), `likely` reads every client: slower, and nothing else is lost.

It is put after every `migrate`, and puts itself right: an extension that the owner of the database adds later is used
from the next `migrate` on. PostgreSQL's `unaccent` is not needed: accents are taken off before the words are stored.
"""

from typing import Any

from django.db import DatabaseError, connections, transaction
from django.db.models import F, FloatField, Func, Lookup, QuerySet, TextField, Value
from django.db.models.expressions import Col
from django.db.models.lookups import Contains

_POSTGRESQL = [
    "CREATE INDEX IF NOT EXISTS clients_client_pieces ON clients_client USING gin (search_all gin_trgm_ops)",
    "CREATE INDEX IF NOT EXISTS properties_pieces ON properties_property USING gin (search_text gin_trgm_ops)",
]
_SQLITE = [
    """CREATE VIRTUAL TABLE IF NOT EXISTS clients_pieces
        USING fts5(search_all, content='clients_client', content_rowid='id', tokenize='trigram')""",
    """CREATE TRIGGER IF NOT EXISTS clients_pieces_added AFTER INSERT ON clients_client BEGIN
        INSERT INTO clients_pieces (rowid, search_all) VALUES (new.id, new.search_all); END""",
    """CREATE TRIGGER IF NOT EXISTS clients_pieces_changed AFTER UPDATE OF search_all ON clients_client BEGIN
        INSERT INTO clients_pieces (clients_pieces, rowid, search_all) VALUES ('delete', old.id, old.search_all);
        INSERT INTO clients_pieces (rowid, search_all) VALUES (new.id, new.search_all); END""",
    """CREATE TRIGGER IF NOT EXISTS clients_pieces_removed AFTER DELETE ON clients_client BEGIN
        INSERT INTO clients_pieces (clients_pieces, rowid, search_all) VALUES ('delete', old.id, old.search_all);
        END""",
]
LEAST_ALIKE = 0.3  # of 1, as pg_trgm counts: "smyth" and "smith" are 0.33


class WordSimilar(Lookup):
    """`search_all__word_similar="hallam"`: some word there shares enough pieces with this one. PostgreSQL only."""

    lookup_name = "word_similar"

    def as_sql(self, compiler: Any, connection: Any) -> tuple[str, list[Any]]:
        left, left_params = self.process_lhs(compiler, connection)
        right, right_params = self.process_rhs(compiler, connection)
        return f"{left} %%> {right}", [*left_params, *right_params]


class Within(Contains):
    """`search_all__within="hallam"`: as `contains`, by the index of pieces on SQLite. Wants three letters there."""

    lookup_name = "within"

    def as_sqlite(self, compiler: Any, connection: Any) -> tuple[str, list[Any]]:
        number, _ = compiler.compile(Col(self.lhs.alias, self.lhs.target.model._meta.pk))
        return f"{number} IN (SELECT rowid FROM clients_pieces WHERE clients_pieces MATCH %s)", [_quoted(self.rhs)]  # noqa: S608 (a column)


TextField.register_lookup(WordSimilar)
TextField.register_lookup(Within)


def lookup_for(word: str, using: str) -> str:
    """The quickest lookup on `search_all` that says where the word occurs: the index of pieces, where it helps."""
    is_helpful = connections[using].vendor == "sqlite" and len(word) >= 3
    return "search_all__within" if is_helpful and is_there(using) else "search_all__contains"


def put(using: str = "default", **_: Any) -> None:
    """Make the index where the database can have one; the receiver of `post_migrate`."""
    connection = connections[using]
    put_it = {"postgresql": _put_on_postgresql, "sqlite": _put_on_sqlite}.get(connection.vendor)
    try:
        with transaction.atomic(using=using), connection.cursor() as cursor:
            put_it(cursor)
    except DatabaseError:
        return  # `is_there` tells, and a search reads every row instead


def _put_on_postgresql(cursor: Any) -> None:
    cursor.execute("SELECT count(*) FROM pg_extension WHERE extname = 'pg_trgm'")
    if not cursor.fetchone()[0]:
        cursor.execute("CREATE EXTENSION pg_trgm")
    for statement in _POSTGRESQL:
        cursor.execute(statement)


def _put_on_sqlite(cursor: Any) -> None:
    cursor.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'clients_pieces_%ed'")
    is_whole = cursor.fetchone()[0] == len(_SQLITE) - 1
    for statement in _SQLITE:
        cursor.execute(statement)
    if not is_whole:
        cursor.execute("INSERT INTO clients_pieces (clients_pieces) VALUES ('rebuild')")


def is_there(using: str) -> bool:
    connection = connections[using]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT count(*) FROM pg_extension WHERE extname = 'pg_trgm'")
        else:
            cursor.execute("SELECT count(*) FROM sqlite_master WHERE name = 'clients_pieces'")
        return bool(cursor.fetchone()[0])


def likely(clients: QuerySet, words: list[str], most: int) -> list[tuple[int, str]]:
    """Number and search words of the clients that may be meant: each word shares pieces with one of theirs."""
    if not is_there(clients.db):
        return list(clients.values_list("pk", "search_all"))
    if connections[clients.db].vendor == "postgresql":
        return _likely_on_postgresql(clients, words, most)
    return _likely_on_sqlite(clients, words, most)


def _likely_on_postgresql(clients: QuerySet, words: list[str], most: int) -> list[tuple[int, str]]:
    shares = Value(0.0)
    for word in words:
        clients = clients.filter(search_all__word_similar=word)
        shares += Func(Value(word), F("search_all"), function="WORD_SIMILARITY", output_field=FloatField())
    with transaction.atomic(using=clients.db), connections[clients.db].cursor() as cursor:
        cursor.execute("SELECT set_config('pg_trgm.word_similarity_threshold', %s, true)", [str(LEAST_ALIKE)])
        # The planner takes the comparison of pieces for as cheap as any other, and would read every row.
        cursor.execute("SET LOCAL enable_seqscan = off")
        return list(clients.order_by(shares.desc()).values_list("pk", "search_all")[:most])


def _likely_on_sqlite(clients: QuerySet, words: list[str], most: int) -> list[tuple[int, str]]:
    asked = " AND ".join(f"({' OR '.join(_quoted(piece) for piece in _pieces(word))})" for word in words)
    found = "SELECT rowid FROM clients_pieces WHERE clients_pieces MATCH %s ORDER BY rank LIMIT %s"
    with connections[clients.db].cursor() as cursor:
        cursor.execute(found, [asked, most])
        numbers = [row[0] for row in cursor.fetchall()]
    return list(clients.filter(pk__in=numbers).values_list("pk", "search_all"))


def _pieces(word: str) -> list[str]:
    padded = f" {word} "
    return [padded[start : start + 3] for start in range(len(padded) - 2)]


def _quoted(piece: str) -> str:
    return '"' + piece.replace('"', '""') + '"'
