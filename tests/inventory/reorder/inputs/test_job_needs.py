from datetime import UTC, date, datetime, timedelta

import pytest

from inventory.catalog.models import MadeOf, Supersession
from inventory.ledger.actions import log_ask, settle_ask
from inventory.ledger.models import How
from inventory.reorder.inputs.job_needs import read_job_needs, read_recipes
from inventory.shop.models import SiteKind
from tests.make import make_part, make_site

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 4)


@pytest.fixture
def site():
    return make_site()


def ask(part, site, job, *, pieces=1, days_before=10, **more):
    at = datetime(2026, 3, 4, 12, tzinfo=UTC) - timedelta(days=days_before)
    key = f"{job}-{part.pk}-{pieces}-{days_before}"
    return log_ask(part, site=site, pieces=pieces, by=None, key=key, job_key=job, at=at, **more)


def told():
    """By site, what jobs needed and how many of them did."""
    found = read_job_needs(TODAY)
    return sorted(
        (site, times, [tuple(need) for pattern, *need in found.needs.tolist() if pattern == row])
        for row, (site, times) in enumerate(found.jobs.tolist())
    )


class TestReadJobNeeds:
    def test_jobs_that_needed_the_same_are_told_once(self, site):
        kit, body = make_part("kit"), make_part("body")
        for job in ("A", "B"):
            ask(kit, site, job, pieces=4)
            ask(body, site, job)
        ask(kit, site, "C", pieces=4)
        assert told() == [
            (site.pk, 1, [(kit.pk, 4)]),
            (site.pk, 2, [(kit.pk, 4), (body.pk, 1)]),
        ]

    def test_asks_of_one_job_for_one_part_add_up(self, site):
        kit = make_part("kit")
        ask(kit, site, "A", pieces=1)
        ask(kit, site, "A", pieces=3)
        assert told() == [(site.pk, 1, [(kit.pk, 4)])]

    def test_each_site_has_its_own_jobs(self, site):
        kit, other = make_part("kit"), make_site()
        ask(kit, site, "A")
        ask(kit, other, "B")
        assert told() == sorted([(site.pk, 1, [(kit.pk, 1)]), (other.pk, 1, [(kit.pk, 1)])])

    def test_only_what_jobs_needed_in_the_last_year(self, site):
        kit, loose = make_part("kit"), make_part("cap", counted="not")
        ask(kit, site, "OLD", days_before=365)
        ask(kit, site, "", pieces=2)
        ask(kit, site, "WISH", wish=True)
        ask(loose, site, "LOOSE")
        ask(kit, make_site(kind=SiteKind.TRANSIT), "ROAD")
        assert told() == []
        ask(kit, site, "NEW", days_before=364)
        assert told() == [(site.pk, 1, [(kit.pk, 1)])]

    def test_what_was_declined_or_withdrawn_was_not_needed(self, site):
        kit, body = make_part("kit"), make_part("body")
        settle_ask(ask(kit, site, "A", pieces=4), how=How.DECLINED, pieces=1)
        settle_ask(ask(body, site, "A"), how=How.WITHDRAWN, pieces=1)
        settle_ask(ask(body, site, "B"), how=How.LOST, pieces=1)
        settle_ask(ask(kit, site, "C"), how=How.DECLINED, pieces=1)
        assert told() == [(site.pk, 1, [(kit.pk, 3)]), (site.pk, 1, [(body.pk, 1)])]

    def test_an_old_part_stands_for_the_newest(self, site):
        old, new = make_part("kit"), make_part("kit")
        Supersession.objects.create(old=old, new=new)
        ask(old, site, "A")
        ask(new, site, "A", pieces=2)
        assert told() == [(site.pk, 1, [(new.pk, 3)])]

    def test_costs_the_same_for_many_jobs(self, site, django_assert_num_queries):
        kit = make_part("kit")
        for job in range(12):
            ask(kit, site, f"J{job}", pieces=1 + job % 3)
        with django_assert_num_queries(3):
            assert len(read_job_needs(TODAY).jobs) == 3


class TestReadRecipes:
    def test_are_of_counted_pieces(self):
        whole, body, loose = make_part(), make_part("body"), make_part("cap", counted="not")
        for piece, quantity in ((body, 2), (loose, 1)):
            MadeOf.objects.create(whole=whole, piece=piece, quantity=quantity)
        assert read_recipes().tolist() == [[whole.pk, body.pk, 2]]
