"""What all tests share: seeded examples, plain static files, quick hashing, a ledger to empty."""

import hypothesis
import pytest
from django.conf import settings
from django.db import connection, transaction
from django.test import TransactionTestCase, override_settings

from inventory.ledger.triggers import create_triggers, drop_triggers

# The same examples in every run, however slow the machine happens to be at that moment.
hypothesis.settings.register_profile(
    "seeded",
    derandomize=True,
    deadline=None,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("seeded")

MEETS_DATABASE = {"db", "transactional_db", "live_server", "django_db_setup"}


@pytest.fixture(scope="session", autouse=True)
def _plain_site():
    plain = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    with override_settings(
        STORAGES=settings.STORAGES | {"staticfiles": plain},
        WHITENOISE_AUTOREFRESH=True,
        # argon2 is meant to be slow, and the tests sign in hundreds of times.
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
    ):
        yield


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items):
    """Marks what meets a database; the rest need not be run on two."""
    for item in items:
        marked = item.get_closest_marker("django_db") or _wants(item, *MEETS_DATABASE)
        if marked or issubclass(getattr(item, "cls", None) or object, TransactionTestCase):
            item.add_marker("database")


def _wants(request, *fixtures):
    return any(name in getattr(request, "fixturenames", ()) for name in fixtures)


@pytest.fixture(autouse=True)
def _ledger_can_be_emptied(request):
    """On SQLite the triggers forbid the deletes that end a test with real transactions."""
    marker = request.node.get_closest_marker("django_db")
    real = bool(marker and marker.kwargs.get("transaction")) or _wants(
        request, "transactional_db", "live_server"
    )
    if not real and not marker and not _wants(request, "db"):
        if issubclass(request.cls or object, TransactionTestCase) and connection.vendor == "sqlite":
            create_triggers(connection)
        yield
        return
    request.getfixturevalue("transactional_db" if real else "db")
    if connection.vendor == "sqlite":
        create_triggers(connection)
    yield
    if real and connection.vendor == "sqlite":
        drop_triggers(connection)


@pytest.fixture(scope="module")
def module_database(django_db_setup, django_db_blocker):
    """The database for all tests of a module; what its fixtures put there goes when it ends."""
    with django_db_blocker.unblock(), transaction.atomic():
        if connection.vendor == "sqlite":
            # A test with real transactions may have dropped them to empty the ledger.
            create_triggers(connection)
        yield
        transaction.set_rollback(True)
