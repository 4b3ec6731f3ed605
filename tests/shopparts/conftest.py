"""The demo shop for the tests that ask it questions."""

from io import StringIO

import pytest
from django.core.management import call_command

from inventory.catalog.names import names


@pytest.fixture(scope="module")
def demo(module_database):
    """The demo shop, loaded once for the tests of a module and taken out again after them."""
    out = StringIO()
    names.forget()
    call_command("demo_shop", stdout=out)
    yield out.getvalue()
    names.forget()
