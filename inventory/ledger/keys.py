"""One key, one row: an insert that leaves a row of the same key alone and says which it was."""

from django.db import connections, models, router


def insert_once(row: models.Model) -> bool:
    """Insert a row unless its key is there; True if this call made it, whose pk is then set.

    A second writer of the same key waits here until the first has committed or given up. In plain
    SQL because the ORM can ignore a conflict, but not say whether there was one.
    """
    meta = row._meta
    database = connections[router.db_for_write(type(row), instance=row)]
    fields = [field for field in meta.local_concrete_fields if not field.primary_key]
    quote = database.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    marks = ", ".join(["%s"] * len(fields))
    with database.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {quote(meta.db_table)} ({columns}) VALUES ({marks}) "
            f"ON CONFLICT ({quote('key')}) DO NOTHING RETURNING {quote('id')}",
            [field.get_db_prep_save(field.pre_save(row, True), database) for field in fields],
        )
        made = cursor.fetchone()
    if made:
        row.pk = made[0]
        row._state.adding, row._state.db = False, database.alias
    return bool(made)
