import pytest
from django.core.management.base import CommandError
from django.db.migrations.recorder import MigrationRecorder

from shopparts.backup import about_of, backups
from shopparts.management.commands.start import backup_before_migrating

pytestmark = pytest.mark.django_db
LAST = {"app": "jobs", "name": "0002_review"}


@pytest.fixture
def folder(settings, tmp_path):
    settings.BACKUP_DIR = tmp_path / "backups"
    return settings.BACKUP_DIR


def waiting():
    """The newest migration of jobs as it is before it is applied."""
    MigrationRecorder.Migration.objects.filter(**LAST).delete()


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
