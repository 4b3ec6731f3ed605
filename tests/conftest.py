"""What all tests share: plain static files and quick password hashing."""

import pytest


@pytest.fixture(autouse=True)
def _plain_site(settings):
    settings.STORAGES = settings.STORAGES | {
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
    }
    # argon2 is meant to be slow, and the tests sign in hundreds of times.
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.WHITENOISE_AUTOREFRESH = True
