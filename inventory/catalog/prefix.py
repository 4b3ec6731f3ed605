"""`field__prefix="ABC"`: begins with these letters and digits, by index on both databases.

Django's `startswith` becomes a LIKE that SQLite cannot answer from an index; a range it can. On
PostgreSQL the sort order of the database may not be that of the bytes, so there it stays a LIKE,
which Django's own pattern index serves. Meant for normalised fields only.
"""

from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import CharField, Lookup
from django.db.models.sql.compiler import SQLCompiler

LAST = "\U0010ffff"


@CharField.register_lookup
class Prefix(Lookup[Any]):
    lookup_name = "prefix"

    def as_sql(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper
    ) -> tuple[str, tuple[Any, ...]]:
        column, column_params = self.process_lhs(compiler, connection)
        return f"{column} LIKE %s", (*column_params, f"{self.rhs}%")

    def as_sqlite(
        self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **_: Any
    ) -> tuple[str, tuple[Any, ...]]:
        column, params = self.process_lhs(compiler, connection)
        return (
            f"({column} >= %s AND {column} < %s)",
            (*params, self.rhs, *params, f"{self.rhs}{LAST}"),
        )
