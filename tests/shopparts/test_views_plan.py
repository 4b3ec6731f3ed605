import pytest
from django.urls import reverse

from inventory.shop.roles import Role
from shopparts.runs.models import Run, RunKind
from tests.make import make_site, make_user

pytestmark = pytest.mark.django_db

KEY = "0123456789abcdef01234567"


@pytest.fixture
def manager(client):
    client.force_login(make_user(Role.PARTS_MANAGER, home_site=make_site()))
    return client


class TestPlanAgain:
    def test_asks_a_worker_once(self, manager):
        for _ in range(2):
            answer = manager.post(reverse("plan_again"), {"key": KEY})
        run = Run.objects.get(kind=RunKind.PLAN)
        assert answer.headers["Location"] == reverse("run_detail", args=[run.pk])

    def test_the_page_of_the_plan_asks_with_a_key_of_its_own(self, manager):
        text = manager.get(reverse("inventory:plan_detail")).content.decode()
        key = text.split('name="key" value="')[1].split('"')[0]
        manager.post(reverse("plan_again"), {"key": key})
        assert Run.objects.get().key == key

    def test_an_old_page_is_told_so(self, manager):
        text = manager.post(reverse("plan_again"), follow=True).content.decode()
        assert "This page was out of date; ask once more." in text
        assert not Run.objects.exists()
