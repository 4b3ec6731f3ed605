import re
from datetime import date, datetime, timedelta
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from lxml import html
from openpyxl import load_workbook

from inventory.ledger.actions import scrap_stock
from inventory.ledger.models import Lot
from inventory.models import Part, ShopSettings
from inventory.reorder.models import Delivery, DeliveryLine
from inventory.shop.roles import Role
from jobs.costing.bridge import Cause
from jobs.models import Job, Vehicle
from jobs.review.groups import GROUPS, grouped
from jobs.review.inputs.margins import earned
from jobs.review.period import Span, moved, periods_earned
from jobs.workshop.actions.jobs import open_job, record_comeback
from jobs.workshop.actions.lines import add_labour, issue_part_for_job, return_part_from_job
from tests.make import make_part, make_site, make_stock, make_supplier, make_user

pytestmark = pytest.mark.django_db


@pytest.fixture
def sold(bay):
    """A body for 42.00 that cost 19.37, and twenty minutes of work."""
    shop = ShopSettings.load()
    shop.labour_price_cents, shop.labour_cost_cents = 9000, 4500
    shop.save()
    issue_part_for_job(bay.job, part=bay.body, by=None, key="body", wheel=bay.wheel, action="body")
    add_labour(bay.job, minutes=20, words="Tire off and on")
    close(bay.job, bay)
    return bay


def close(job, bay):
    Job.objects.filter(pk=job.pk).update(closed_at=job.opened_at, closed_on=bay.site.today())


@pytest.fixture
def owner(client, bay):
    client.force_login(make_user(Role.OWNER, home_site=bay.site))
    return client


def margin_of(job):
    return earned(Job.objects.filter(pk=job.pk))[0]


class TestEarned:
    def test_takes_parts_at_what_they_really_cost_and_labour_at_cost(self, sold):
        one = margin_of(sold.job)
        assert one.own.price_cents == 4200 + 3000
        assert one.own.parts_cents == 1937
        assert one.own.labour_cents == 1500
        assert one.own.margin_cents == 7200 - 1937 - 1500
        assert one.work == "Body only"

    @pytest.mark.parametrize(
        ("with_tax", "per_mille", "price"),
        # 42.00 and 30.00 with 19 percent are 35.29 and 25.21 (computed by hand).
        [(True, 190, 3529 + 2521), (False, 190, 7200), (True, 0, 7200)],
    )
    def test_takes_prices_without_the_tax_they_are_entered_with(
        self, sold, with_tax, per_mille, price
    ):
        ShopSettings.objects.update(prices_include_tax=with_tax, tax_per_mille=per_mille)
        one = margin_of(sold.job)
        assert one.own.price_cents == price
        assert one.own.margin_cents == price - 1937 - 1500
        assert sum(line.margin.margin_cents for line in one.lines) == one.own.margin_cents

    def test_what_came_back_to_the_shelf_costs_nothing(self, bay):
        line = issue_part_for_job(bay.job, part=bay.kit, quantity=2, by=None, key="kit")
        return_part_from_job(line, pieces=1, by=None, key="back")
        assert margin_of(bay.job).own.parts_cents == 1937

    def test_what_we_pay_ourselves_takes_nothing(self, bay):
        issue_part_for_job(bay.job, part=bay.kit, by=None, key="kit", payer="goodwill")
        assert margin_of(bay.job).own.price_cents == 0
        assert margin_of(bay.job).own.margin_cents == -1937

    def test_a_comeback_is_charged_to_its_cause(self, sold):
        again = open_job(sold.vehicle, site=sold.site, kind="sensor", technician=sold.technician)
        record_comeback(again, of=sold.job, cause="part_failed", payer="us")
        again.refresh_from_db()
        issue_part_for_job(again, part=sold.body, by=None, key="again", payer="us")
        close(again, sold)
        first, second = margin_of(sold.job), margin_of(again)
        assert first.charged.margin_cents == first.own.margin_cents - 1937
        assert second.charged.charged_to == sold.job.key
        assert second.charged.margin_cents == 0


class TestPeriodsEarned:
    def test_a_comeback_in_later_days_is_charged_to_the_days_of_its_cause(self, sold):
        again = comeback(sold)
        day = sold.site.today()
        Job.objects.filter(pk=sold.job.pk).update(closed_on=day - timedelta(days=40))
        then, now = periods_earned(
            Span(first=day - timedelta(days=50), last=day - timedelta(days=30)),
            Span(first=day, last=day),
        )
        assert then.jobs[0].charged.comebacks == (again.key,)
        assert then.jobs[0].charged.comebacks_cents == -1937
        assert [one.charged.charged_to for one in now.jobs] == [sold.job.key]

    def test_write_offs_count_on_the_day_of_their_site(self, sold):
        zone = ZoneInfo("Pacific/Auckland")
        site = make_site(zone="Pacific/Auckland")
        part = make_part(kind="kit")
        make_stock(part, site, pieces=3, value_cents=900)
        at = datetime(2026, 3, 9, 1, 0, tzinfo=zone)  # still 8 March in UTC
        scrap_stock(part, site=site, pieces=1, words="Dropped", at=at, by=None, key="s")
        days = [date(2026, 3, 8), date(2026, 3, 9)]
        each = [periods_earned(Span(first=day, last=day))[0].write_offs_cents for day in days]
        assert each == [0, 300]


class TestGrouped:
    def test_groups_sum_to_what_all_jobs_left(self, sold):
        also_sold(sold, quantity=1)
        comeback(sold)
        jobs = all_closed(sold)
        left = sum(one.own.margin_cents for one in jobs)
        for by in GROUPS:
            groups = grouped(jobs, by)
            assert sum(group.margin_cents for group in groups) == left, by
            assert sum(group.own.price_cents for group in groups) == 4200 + 3000 + 400, by

    def test_parts_count_for_their_maker_and_comebacks_are_shared_by_pieces(self, sold):
        Part.objects.filter(pk=sold.body.pk).update(maker="Skandre")
        Part.objects.filter(pk=sold.kit.pk).update(maker="Ulvery")
        also_sold(sold, quantity=3)
        comeback(sold)
        found = {group.name: group for group in grouped(all_closed(sold), "maker")}
        # The comeback cost 19.37: a quarter by the body, three by the kits (computed by hand).
        assert found["Skandre"].comebacks_cents == -484
        assert found["Ulvery"].comebacks_cents == -1453
        assert found["Labour and others"].margin_cents == 3000 - 1500

    @pytest.mark.parametrize(
        ("closed", "week", "season"),
        [
            (date(2025, 12, 31), "2025-12-29", "December to February 2026"),
            (date(2026, 2, 28), "2026-02-23", "December to February 2026"),
            (date(2026, 3, 1), "2026-02-23", "March to May 2026"),
            (date(2026, 11, 30), "2026-11-30", "September to November 2026"),
        ],
    )
    def test_weeks_begin_on_monday_and_winter_in_december(self, sold, closed, week, season):
        Job.objects.update(closed_on=closed)
        jobs = periods_earned(Span(first=closed, last=closed))[0].jobs
        assert [group.name for group in grouped(jobs, "week")] == [week]
        assert [group.name for group in grouped(jobs, "season")] == [season]

    def test_a_part_counts_for_the_supplier_that_delivered_its_lot(self, sold):
        lot = Lot.objects.get(shelf__part=sold.body)
        supplier = make_supplier(name="Harbor Wheel Parts")
        delivery = Delivery.objects.create(key="D-1", supplier=supplier, site=sold.site)
        DeliveryLine.objects.create(
            delivery=delivery,
            line=1,
            part=sold.body,
            pieces=4,
            value_cents=4 * 1937,
            posting=lot.movements.earliest("pk").posting,
        )
        names = {group.name for group in grouped(all_closed(sold), "supplier")}
        assert names == {"Harbor Wheel Parts", "Labour and others"}


def pays_for_data():
    """A dollar a day."""
    shop = ShopSettings.load()
    shop.service_data_yearly_cents = 36500
    shop.save()


def also_sold(sold, *, quantity):
    Job.objects.filter(pk=sold.job.pk).update(closed_at=None, closed_on=None)
    sold.job.refresh_from_db()
    issue_part_for_job(sold.job, part=sold.kit, quantity=quantity, by=None, key="also")
    close(sold.job, sold)


def comeback(sold):
    again = open_job(sold.vehicle, site=sold.site, kind="sensor", technician=sold.technician)
    record_comeback(again, of=sold.job, cause="part_failed", payer="us")
    again.refresh_from_db()
    issue_part_for_job(again, part=sold.body, by=None, key="again", payer="us")
    close(again, sold)
    return again


def all_closed(sold):
    day = sold.site.today()
    return periods_earned(Span(first=day, last=day))[0].jobs


class TestMoved:
    def test_adds_up_to_the_change(self, sold):
        today = sold.site.today()
        span = Span(first=today, last=today)
        before, now = periods_earned(span.before, span)
        found = moved(before, now)
        assert sum(found.bars.values()) == now.margin_cents - before.margin_cents


class TestMoney:
    def test_takes_off_the_service_data_of_the_days_and_says_how_it_is_spread(self, owner, sold):
        pays_for_data()
        shown = " ".join(owner.get(reverse("jobs:money")).content.decode().split())
        # Thirty days at a dollar; the job left 37.63.
        assert "$365.00 a year, for 30 days: $30.00 for each of 1 sensor job." in shown
        assert "$7.63 earned from 1 job" in shown
        assert "Margin rose by $37.63" in shown  # as many days before: it moved nothing

    def test_says_where_to_write_what_service_data_costs(self, owner):
        shown = owner.get(reverse("jobs:money")).content.decode()
        assert f'write it in the <a href="{reverse("shop_settings")}">' in shown

    def test_asks_for_sensor_jobs_once_for_both_spans(self, owner, sold, django_assert_num_queries):
        pays_for_data()
        with django_assert_num_queries(12):
            owner.get(reverse("jobs:money"))

    def test_says_what_the_jobs_earned(self, owner, sold):
        shown = owner.get(reverse("jobs:money")).content.decode()
        assert "37.63" in shown
        assert "from 1 job" in shown
        assert "Body only" in shown

    def test_says_so_when_nothing_was_closed(self, owner):
        shown = owner.get(reverse("jobs:money")).content.decode()
        assert "No job was closed on these days" in shown

    def test_each_group_opens_its_jobs_and_leads_back(self, owner, sold):
        for by in GROUPS:
            page = html.fromstring(owner.get(reverse("jobs:money"), {"by": by}).content)
            names = page.xpath("//section[@aria-labelledby='groups']//td/a/@href")
            assert names, by
            behind = html.fromstring(owner.get(names[0]).content)
            assert sold.job.key in behind.text_content()
            back = behind.xpath("//a[starts-with(., 'Back to the')]/@href")[0]
            assert f"by={by}" in back

    def test_holds_the_days_against_others_that_the_address_names(self, owner, sold):
        day = sold.site.today().isoformat()
        other = {"other_first": day, "other_last": day}
        shown = owner.get(reverse("jobs:money"), {"first": day, "last": day} | other)
        assert "Margin rose by $0.00" in shown.content.decode()

    def test_sorts_as_the_address_asks(self, owner, sold):
        shown = owner.get(reverse("jobs:money"), {"sort": "-margin"}).content.decode()
        assert 'aria-sort="descending"' in shown

    def test_a_bar_opens_what_it_is_made_of(self, owner, sold):
        page = html.fromstring(owner.get(reverse("jobs:money")).content)
        bars = page.xpath("//*[local-name()='svg']/a/@href")
        assert len(bars) == 8
        assert {
            owner.get(reverse("jobs:money") + bar if bar[0] == "?" else bar).status_code
            for bar in bars
        } == {200}

    def test_is_the_owners_alone(self, client, bay):
        for role in (Role.TECHNICIAN, Role.PARTS_MANAGER):
            client.force_login(make_user(role, home_site=bay.site))
            assert client.get(reverse("jobs:money")).status_code == 403

    def test_asks_the_database_the_same_however_many_jobs(
        self, owner, sold, django_assert_num_queries
    ):
        with django_assert_num_queries(11):
            owner.get(reverse("jobs:money"))
        comeback(sold)
        with django_assert_num_queries(11):
            owner.get(reverse("jobs:money"))

    def test_survives_days_that_are_none(self, owner):
        for first, last in (("soon", "'; drop"), ("0001-01-01", "9999-12-31"), ("", "2099-12-31")):
            days = {"first": first, "last": last, "by": "'; drop"}
            assert owner.get(reverse("jobs:money"), days).status_code == 200


class TestMoneyJobs:
    def test_shows_all_jobs_of_the_days(self, owner, sold):
        shown = owner.get(reverse("jobs:money_jobs")).content.decode()
        assert "$37.63 from 1 job" in shown
        assert sold.job.key in shown
        assert re.search(r'<a href="/money/"[^>]* aria-current="page">Money</a>', shown)

    def test_a_group_that_is_not_there_is_empty(self, owner, sold):
        shown = owner.get(reverse("jobs:money_jobs"), {"by": "work", "is": "<b>"}).content.decode()
        assert "No job was closed on these days." in shown
        assert "<b>" not in shown


class TestWorkbook:
    def saved(self, owner, name, query):
        answer = owner.get(reverse(name), query | {"as": "workbook"})
        assert answer.headers["Content-Disposition"].endswith('.xlsx"')
        return load_workbook(BytesIO(answer.content))

    def test_holds_the_figures_of_the_page_and_its_filter(self, owner, sold):
        page = self.saved(owner, "jobs:money", {"by": "work", "site": sold.site.code}).active
        assert page["A2"].value.endswith(f"{sold.site}. Amounts in USD.")
        assert [cell.value for cell in page[4]][:3] == ["Work done", "Jobs", "Margin"]
        assert [cell.value for cell in page[5]][:3] == ["Body only", 1, 37.63]
        assert page["C5"].number_format == "#,##0.00"
        assert page["D5"].number_format == "0%"
        assert page.auto_filter.ref == "A4:I5"

    def test_holds_what_came_off_the_jobs(self, owner, sold):
        pays_for_data()
        page = self.saved(owner, "jobs:money", {})["What is left"]
        rows = list(page.iter_rows(min_row=5, max_col=2, values_only=True))
        assert rows == [("The jobs", 37.63), ("Written off", 0), ("Service data", -30)]

    def test_runs_nothing_that_somebody_typed(self, owner, sold):
        Vehicle.objects.filter(pk=sold.vehicle.pk).update(plate="=1+1")
        page = self.saved(owner, "jobs:money_jobs", {}).active
        assert page["D5"].value == "'=1+1"
        assert page["D5"].data_type == "s"

    @pytest.mark.parametrize("name", ["money_shelf", "money_comebacks", "money_prices"])
    def test_every_page_has_one(self, owner, sold, name):
        book = self.saved(owner, f"jobs:{name}", {})
        shown = owner.get(reverse(f"jobs:{name}")).content.decode()
        assert len(book.sheetnames) == shown.count("<table") >= 2

    def test_is_the_owners_alone(self, client, bay):
        client.force_login(make_user(Role.PARTS_MANAGER, home_site=bay.site))
        assert client.get(reverse("jobs:money"), {"as": "workbook"}).status_code == 403


class TestMoneyMoved:
    def test_its_rows_sum_to_the_bar(self, owner, sold):
        comeback(sold)
        pays_for_data()
        scrap_stock(sold.kit, site=sold.site, pieces=1, words="Dropped", by=None, key="s")
        found = {cause: self.rows_and_bar(owner, cause) for cause in Cause}
        assert found[Cause.COMEBACKS] == (-1937, -1937)
        assert found[Cause.WRITE_OFFS] == (-1937, -1937)
        # Ten days against four, at a dollar a day.
        assert found[Cause.SERVICE_DATA] == (-600, -600)
        assert all(rows == bar for rows, bar in found.values())

    def rows_and_bar(self, owner, cause):
        days = {"first": "2026-01-01", "last": "2026-01-10"}
        other = {"other_first": "2026-01-01", "other_last": "2026-01-04"}
        longer = days | other if cause == Cause.SERVICE_DATA else {}
        answer = owner.get(reverse("jobs:money_moved"), {"cause": cause} | longer)
        rows = [row.record for row in answer.context["table"].rows]
        if cause == Cause.COMEBACKS:
            return sum(row.own.margin_cents for row in rows), answer.context["cents"]
        if cause == Cause.SERVICE_DATA:
            now, before = (row.service_data.cents for row in rows)
            return before - now, answer.context["cents"]
        sign = -1 if cause == Cause.WRITE_OFFS else 1
        return sign * sum(row.cents for row in rows), answer.context["cents"]

    def test_what_is_no_cause_is_not_found(self, owner):
        assert owner.get(reverse("jobs:money_moved"), {"cause": "luck"}).status_code == 404


class TestJobMargin:
    def test_shows_price_cost_and_margin_of_each_line(self, owner, sold):
        shown = owner.get(reverse("jobs:job_margin", args=[sold.job.pk])).content.decode()
        assert "19.37" in shown
        assert "left" in shown

    def test_saves_its_lines_as_a_workbook(self, owner, sold):
        answer = owner.get(reverse("jobs:job_margin", args=[sold.job.pk]), {"as": "workbook"})
        assert f'filename="job_{sold.job.pk}.xlsx"' in answer.headers["Content-Disposition"]
        page = load_workbook(BytesIO(answer.content)).worksheets[0]
        rows = {row[1]: row[2:] for row in page.iter_rows(min_row=5, values_only=True)}
        assert rows[sold.body.number] == ("Customer", 42, 19.37, 0, 22.63)
