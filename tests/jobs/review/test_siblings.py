"""The other wheels when one body failed: alike ones together, priced for the customer."""

from datetime import timedelta

import pytest
from django.urls import reverse

from inventory.shop.models import ShopSettings
from jobs.models import Job
from jobs.review.advised import advised
from jobs.review.siblings import new_body_action, replaced_now, siblings_advised
from tests.jobs.review.test_options import DEAD, heard

pytestmark = pytest.mark.django_db


def siblings(bay, days_old):
    """Bodies so old, the rest new; first seen today, they tell nothing of how long such last."""
    today = bay.site.today()
    for wheel in bay.wheels:
        wheel.fitted.update(since=today, first_seen_on=today)
        wheel.fitted.filter(kind="body").update(since=today - timedelta(days=days_old))
    found = advised(Job.objects.for_list().get(pk=bay.job.pk))
    return siblings_advised(found)


class TestSiblingsAdvised:
    def test_leaves_young_bodies(self, bay):
        heard(bay, w0=DEAD)
        [others] = siblings(bay, days_old=2 * 365)
        assert others.words == (
            "Front right, Rear left, Rear right: leave the sensor bodies until the tire comes off"
        )
        assert others.because.startswith("They are about 2 years old. Waiting is expected to cost")
        assert replaced_now([others]) == {}

    def test_says_nothing_while_no_body_has_failed(self, bay):
        heard(bay)
        assert siblings(bay, days_old=9 * 365) == []

    def test_every_wheel_is_either_advised_for_itself_or_a_sibling(self, bay):
        """Old enough, a body pays by itself; between the two the sibling plan decides."""
        heard(bay, w0=DEAD)
        answers = {}
        for years in range(3, 10):
            groups = siblings(bay, days_old=years * 365)
            answers[years] = [group.now for group in groups]
            for group in groups:
                assert group.now == (group.advice.cost_now < group.advice.cost_wait)
                if group.now:
                    wheels = {one.case.now.wheel.pk for one in group.wheels}
                    assert set(replaced_now([group])) == wheels
                    assert {new_body_action(one) for one in group.wheels} <= {"body", "assembly"}
        assert answers[3] == [False]

    def test_old_ones_now_with_the_reason_written_for_who_follows_it(self, client, bay):
        """Tires due in a year, work dear: too early by itself, not with the vehicle here."""
        ShopSettings.objects.update_or_create(pk=1, defaults={"labour_price_cents": 12000})
        worn = bay.site.today() - timedelta(days=3 * 365)
        bay.vehicle.wheels.update(tire_fitted_on=worn)
        heard(bay, w0=DEAD)
        [others] = siblings(bay, days_old=round(8.5 * 365))
        assert others.words == (
            "Front right, Rear left, Rear right: replace the sensor bodies now as well"
        )
        assert {str(one.do) for one in others.wheels} == {"leave"}
        client.force_login(bay.technician)
        shown = client.get(reverse("jobs:job_detail", args=[bay.job.pk])).content.decode()
        assert shown.count("With the other wheel, while we are here") == 3
