from wsgiref.util import setup_testing_defaults

import pytest
import waitress
from django.core.management.base import CommandError
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from shopparts.backup import about_of, backups
from shopparts.management.commands.start import backup_before_migrating, serving


@pytest.fixture
def folder(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path / "backups"
    return settings.BACKUP_DIR


def waiting():
    """The newest migration of jobs as it is before it is applied."""
    ((app, name),) = MigrationLoader(connection).graph.leaf_nodes("jobs")
    MigrationRecorder.Migration.objects.filter(app=app, name=name).delete()


@pytest.mark.django_db
class TestBackupBeforeMigrating:
    def test_a_shop_that_is_up_to_date_is_not_backed_up_at_each_start(self, folder):
        assert backup_before_migrating() is None
        assert backups() == []

    def test_a_shop_to_be_migrated_is_backed_up_first(self, folder):
        waiting()
        made = backup_before_migrating()
        assert made == backups()[0].path
        assert "inventory.0004_append_only" in about_of(made)["migrations"]

    def test_an_empty_database_has_nothing_to_back_up(self, folder):
        MigrationRecorder.Migration.objects.all().delete()
        assert backup_before_migrating() is None

    def test_without_a_good_backup_nothing_is_migrated(self, folder):
        waiting()
        folder.write_text("a file in the way")
        with pytest.raises(CommandError) as refused:
            backup_before_migrating()
        assert str(refused.value).endswith("then back up again. Nothing was migrated.")


def told_of(*, proxy):
    """Whom and what the site believes to see, when a caller says it comes by HTTPS for another."""

    def site(environ, start_response):
        start_response("200 OK", [])
        return [f"{environ['wsgi.url_scheme']} {environ['REMOTE_ADDR']}".encode()]

    options = {"host": "127.0.0.1", "port": 0, "threads": 1, "proxy": proxy}
    server = waitress.create_server(site, **serving(options))
    asked: dict[str, object] = {}
    setup_testing_defaults(asked)
    asked |= {"REMOTE_ADDR": "127.0.0.1", "HTTP_X_FORWARDED_PROTO": "https"}
    asked |= {"HTTP_X_FORWARDED_FOR": "203.0.113.9"}
    try:
        assert not server.adj.ident
        return b"".join(server.application(asked, lambda status, headers: None)).decode()
    finally:
        server.task_dispatcher.shutdown()
        server.close()


class TestServing:
    def test_the_proxy_named_is_believed(self):
        assert told_of(proxy="127.0.0.1") == "https 203.0.113.9"

    def test_nobody_else_is(self):
        assert told_of(proxy=None) == "http 127.0.0.1"
        assert told_of(proxy="198.51.100.7") == "http 127.0.0.1"
