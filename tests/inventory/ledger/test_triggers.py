import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from inventory.ledger.actions import issue_stock
from inventory.ledger.audit import audit
from inventory.ledger.triggers import (
    APPEND_ONLY,
    check_triggers,
    create_triggers,
    drop_triggers,
    missing_triggers,
)
from tests.make import make_part, make_site, make_stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def posted():
    part, site = make_part(kind="kit"), make_site()
    make_stock(part, site, pieces=2)
    issue_stock(part, site=site, pieces=1, by=None, key="issued")


def run(sql):
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


@pytest.mark.parametrize("table", APPEND_ONLY)
class TestAppendOnly:
    """The tests run on a database on which all migrations have run."""

    def test_a_row_cannot_be_changed(self, posted, table):
        with pytest.raises(IntegrityError, match=f"{table} is append-only: post a correction"):
            run(f"UPDATE {table} SET id = id")

    def test_a_row_cannot_be_deleted(self, posted, table):
        with pytest.raises(IntegrityError, match=f"{table} is append-only: post a correction"):
            run(f"DELETE FROM {table}")


class TestCheckTriggers:
    def test_finds_nothing_when_all_are_there(self, db):
        assert missing_triggers(connection) == []
        assert check_triggers(["default"]) == []

    def test_names_each_that_is_missing(self, db):
        drop_triggers(connection)
        try:
            faults = check_triggers(["default"])
            assert len(faults) == len(missing_triggers(connection)) > 0
            assert "is missing from the database “default”." in faults[0].msg
            assert any("Trigger" in str(fault) for fault in audit())
        finally:
            create_triggers(connection)

    def test_the_check_command_fails_then(self, db):
        drop_triggers(connection)
        try:
            with pytest.raises(Exception, match="is missing from the database"):
                call_command("check", "--database", "default")
        finally:
            create_triggers(connection)
