#!/usr/bin/env python
"""Command line of the planner."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopparts.settings")
    from django.core.management import execute_from_command_line
    from django.db import OperationalError, ProgrammingError

    try:
        execute_from_command_line(sys.argv)
    except (OperationalError, ProgrammingError):
        if has_all_tables():
            raise
        sys.exit(
            "This shop's database is not up to date yet; run “manage.py start” once, or "
            "“manage.py migrate”, then try again."
        )


def has_all_tables() -> bool:
    """Whether nothing is left to migrate: only then is a missing table a fault of ours."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return not executor.migration_plan(executor.loader.graph.leaf_nodes())


if __name__ == "__main__":
    main()
