import pytest

from inventory.catalog.models import MadeOf
from tests.inventory.reorder.pages import behind, page
from tests.make import make_part, make_plan_line

pytestmark = pytest.mark.django_db

JOBS = "/plan/jobs/"
ASSEMBLIES = "/plan/assemblies/"


@pytest.fixture
def jobs(site, run):
    """Forty jobs of the year, as a plan writes them down."""

    def add(*parts):
        run.figures["whole_jobs"] = {
            str(site.pk): {
                "asks": 0.92,
                "jobs": 40,
                "fill": 0.881,
                "as_asked": 0.8,
                "kept_jobs": 30,
                "kept_fill": 0.95,
                "waits": [[part.pk, 12, 3.5] for part in parts],
                "common": [[9, 0.914, [[part.pk, 4]]] for part in parts],
            }
        }
        run.save()

    return add


class TestPlanJobs:
    def test_says_how_many_jobs_find_everything_and_what_the_others_wait_for(
        self, manager, site, run, jobs, plan_line
    ):
        jobs(plan_line.part)
        told = page(manager, JOBS)
        assert "Everything a job needs is there in 88% of jobs" in told
        assert "In 80% that is exactly what was asked for" in told
        assert "weighed by the 40 jobs" in told
        assert f"/plan/lines/{plan_line.pk}/why/" in told
        assert "3.5" in told
        assert "91.4" in told

    def test_without_jobs_or_a_plan_it_says_what_to_do(self, manager, site, client):
        assert "Nothing is planned yet" in page(manager, JOBS)

    def test_without_jobs_it_says_where_they_come_from(self, manager, site, run):
        assert "No job to weigh the plan by" in page(manager, JOBS)

    def test_is_on_the_pages_of_the_plan_and_of_the_budget(self, manager, run, jobs, plan_line):
        jobs(plan_line.part)
        assert (
            "The plan fills 92% of asks; everything a job needs is there in 88% of jobs."
            in page(manager, "/plan/")
        )
        assert f'<a href="{JOBS}">Everything a job needs</a> is there in 88%' in page(
            manager, "/plan/budget/"
        )

    def test_costs_the_same_for_many_parts(
        self, manager, site, run, jobs, django_assert_num_queries
    ):
        parts = [make_part() for _ in range(6)]
        for part in parts:
            make_plan_line(site, None, run=run, part=part)
        jobs(parts[0])
        with django_assert_num_queries(7):
            page(manager, JOBS)
        jobs(*parts)
        with django_assert_num_queries(7):
            page(manager, JOBS)


class TestPlanAssemblies:
    def made(self, site, run, *, cents=5_000.0):
        """An assembly that is hardly asked for, of a body that is kept anyway."""
        whole, body = make_part(number="WHOLE-1"), make_part("body", number="BODY-1")
        MadeOf.objects.create(whole=whole, piece=body)
        usual = {"order_quantity": 1, "target": 0.95, "job_fill": 0.96, "pack_price_cents": 100}
        for part, unit, asks, kept in ((whole, cents, 0.02, 1.5), (body, 100.0, 1.0, 4.0)):
            figures = behind() | {"unit_cents": unit}
            make_plan_line(
                site,
                None,
                run=run,
                part=part,
                asks=asks,
                mean_on_hand=kept,
                figures=figures,
                reorder_point=round(kept),
                **usual,
            )

    def test_says_which_to_keep_in_pieces_and_opens_the_figures(self, manager, site, run):
        self.made(site, run)
        told = page(manager, ASSEMBLIES)
        assert "Keep 1 of 1 assembly as body and stem" in told
        assert "<strong>Keep its pieces</strong>" in told
        assert "Bought in pieces, one costs $49.00 less" in told
        assert "BODY-1" in told

    def test_says_when_all_are_better_kept_whole(self, manager, site, run):
        self.made(site, run, cents=1.0)
        assert "Keep every assembly whole" in page(manager, ASSEMBLIES)

    def test_without_assemblies_or_a_plan_it_says_what_is_weighed(self, manager, site):
        assert "Nothing is planned yet" in page(manager, ASSEMBLIES)

    def test_without_assemblies_it_says_so(self, manager, site, run):
        assert "No assembly kept here can be put together" in page(manager, ASSEMBLIES)

    def test_costs_the_same_for_many(self, manager, site, run, django_assert_num_queries):
        body = make_part("body")
        make_plan_line(site, None, run=run, part=body, figures=behind(), pack_price_cents=100)
        for count in (1, 5):
            for _ in range(count):
                whole = make_part()
                MadeOf.objects.create(whole=whole, piece=body)
                make_plan_line(site, None, run=run, part=whole, figures=behind())
            with django_assert_num_queries(7):
                page(manager, ASSEMBLIES)
