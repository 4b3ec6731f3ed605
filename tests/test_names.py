"""One string in four places: view, URL, template and test class carry the same name."""

import ast
from pathlib import Path

import pytest
from django.http import HttpResponseNotAllowed
from django.template.loader import get_template
from django.test import RequestFactory

from shopparts.models import User
from tests.addresses import Address, own_addresses

METHODS = ({"GET", "HEAD"}, {"POST"}, {"GET", "HEAD", "POST"})
TEST_CLASSES = {
    node.name
    for path in Path(__file__).parent.rglob("test_*.py")
    for node in ast.parse(path.read_text()).body
    if isinstance(node, ast.ClassDef)
}


def methods(address: Address) -> set[str]:
    request = RequestFactory().options("/")
    request.user = User(role="owner")
    answer = address.view(request, **dict.fromkeys(address.arguments, 1))
    assert isinstance(answer, HttpResponseNotAllowed), f"{address.name} does not say its methods"
    return set(answer["Allow"].split(", "))


@pytest.mark.parametrize("address", own_addresses(), ids=str)
class TestNames:
    def test_view_and_url_agree(self, address):
        assert address.view.__name__ == address.name.split(":")[-1]

    def test_view_says_its_methods(self, address):
        assert methods(address) in METHODS

    def test_page_has_its_template(self, address):
        if "GET" in methods(address):
            get_template(f"{address.name.replace(':', '/')}.html")

    def test_view_has_its_test_class(self, address):
        words = address.name.split(":")[-1].split("_")
        assert "Test" + "".join(word.capitalize() for word in words) in TEST_CLASSES
