from datetime import date, time, timedelta

import pytest
from django.utils import timezone

from inventory.ledger.actions import hold_parts, mark_arrived
from inventory.reorder.models import Claim, Order, OrderLine
from inventory.shop.roles import Role
from jobs.models import Job
from jobs.workshop.actions.lines import issue_part_for_job
from shopparts.today import own_jobs, waiting_for
from tests.make import (
    make_job,
    make_part,
    make_plan_line,
    make_site,
    make_stock,
    make_supplier,
    make_user,
    make_vehicle,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def site():
    return make_site(name="Mill Road")


def told(role, site):
    found = waiting_for(make_user(role, home_site=site), site)
    return [f"{thing.count} {thing.words}" for thing in found]


class TestWaitingFor:
    def test_says_what_to_order_from_whom_and_by_when(self, site):
        supplier = make_supplier(
            name="Harbor Wheel Parts", order_days="1234567", cut_off=time(23, 59)
        )
        first = make_plan_line(site, supplier, suggested_packs=2)
        first.run.status = "done"
        first.run.save()
        make_plan_line(site, supplier, run=first.run, suggested_packs=1)
        make_plan_line(site, supplier, run=first.run, suggested_packs=0)
        make_plan_line(site, None, run=first.run, suggested_packs=1)
        assert told(Role.PARTS_MANAGER, site) == [
            "2 lines to order from Harbor Wheel Parts before 23:59",
            "1 line to order that nobody offers",
        ]
        assert told(Role.TECHNICIAN, site) == []

    def test_names_the_day_of_a_cut_off_that_is_not_today(self, site):
        tomorrow = site.today() + timedelta(days=1)
        supplier = make_supplier(order_days=str(tomorrow.isoweekday()), cut_off=time(15))
        line = make_plan_line(site, supplier, suggested_packs=2)
        line.run.status = "done"
        line.run.save()
        (said,) = told(Role.PARTS_MANAGER, site)
        assert said.endswith(f"before {tomorrow:%a} 15:00")

    def test_counts_deliveries_drafts_promises_and_claims(self, site):
        supplier, part = make_supplier(), make_part()
        make_stock(part, site, pieces=3)
        Order.objects.create(key="O-1", supplier=supplier, site=site)
        sent = {"status": "sent", "sent_at": timezone.now(), "supplier": supplier, "site": site}
        Order.objects.create(key="O-2", expected_on=site.today(), **sent)
        Order.objects.create(key="O-3", expected_on=site.today() - timedelta(days=3), **sent)
        hold = hold_parts(part, site=site, pieces=1, job_key="J-1", by=None, key="h")
        mark_arrived(hold)
        Claim.objects.create(
            key="C-1",
            supplier=supplier,
            part=part,
            failed_on=date(2026, 3, 1),
            claim_by=date(2026, 3, 20),
        )
        assert told(Role.PARTS_MANAGER, site) == [
            "1 late on order",
            "1 delivery due today",
            "1 drafted and not sent",
            "1 arrived and not collected",
            "1 failed part to claim, the first by 2026-03-20",
        ]

    def test_asks_the_database_the_same_however_much_waits(self, site, django_assert_num_queries):
        user = make_user(Role.PARTS_MANAGER, home_site=site)
        supplier = make_supplier()
        line = make_plan_line(site, supplier, suggested_packs=2)
        line.run.status = "done"
        line.run.save()
        for more in range(3):
            with django_assert_num_queries(16):
                waiting_for(user, site)
            make_plan_line(site, make_supplier(), run=line.run, suggested_packs=1 + more)


class TestOwnJobs:
    def test_a_technician_has_his_own_with_the_parts_they_wait_for(self, site):
        mine, other = make_user(home_site=site), make_user(home_site=site)
        jobs = [
            make_job(make_vehicle(), site=site, technician=person) for person in (mine, other, None)
        ]
        order = Order.objects.create(
            key="O-1", supplier=make_supplier(), site=site, status="sent", sent_at=timezone.now()
        )
        part = make_part(number="AB-1")
        OrderLine.objects.create(order=order, part=part, line=1, packs=2, job_key=jobs[0].key)
        (one,) = own_jobs(mine, site)
        assert one.job == jobs[0]
        assert [(line.part.number, line.pieces_open) for line in one.awaited] == [("AB-1", 2)]
        boss = make_user(Role.OWNER, home_site=site)
        assert len(own_jobs(boss, site)) == 3


class TestToday:
    def test_a_technician_sees_for_which_part_a_job_waits(self, client, site):
        person = make_user(home_site=site)
        job = make_job(make_vehicle(), site=site, technician=person)
        order = Order.objects.create(
            key="O-1",
            supplier=make_supplier(),
            site=site,
            status="sent",
            sent_at=timezone.now(),
            expected_on=date(2026, 3, 20),
        )
        part = make_part(number="AB-1")
        OrderLine.objects.create(order=order, part=part, line=1, packs=2, job_key=job.key)
        client.force_login(person)
        page = client.get("/").content.decode()
        assert "Waits for 2 pieces of AB-1, expected 2026-03-20" in page

    def test_the_owner_sees_the_week_and_the_jobs_that_lost_money(self, client, site):
        job, part = make_job(make_vehicle(), site=site), make_part()
        make_stock(part, site, value_cents=1500)
        issue_part_for_job(job, part=part, by=None, key="s", price_cents=1000)
        Job.objects.update(closed_at=timezone.now(), closed_on=site.today())
        client.force_login(make_user(Role.OWNER, home_site=site))
        page = client.get("/").content.decode()
        assert f"{job.key} lost money" in page
        assert "$5.00 less than the same week a year ago" in page
        for role in (Role.TECHNICIAN, Role.PARTS_MANAGER):
            client.force_login(make_user(role, home_site=site))
            assert "lost money" not in client.get("/").content.decode()
