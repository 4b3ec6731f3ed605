import pytest
from django.urls import reverse

from tests.jobs.review.test_options import DEAD, heard

pytestmark = pytest.mark.django_db


class TestJobOptions:
    def test_is_a_page_of_paper_with_prices_and_risks_and_no_cost(self, client, bay):
        client.force_login(bay.technician)
        heard(bay, w0=DEAD)
        shown = client.get(reverse("jobs:job_options", args=[bay.job.pk])).content.decode()
        assert 'class="paper"' in shown
        assert "<nav" not in shown
        assert "1. Least today" in shown
        assert "What it leaves at risk." in shown
        assert "replaced by a plain valve, if you so decide" in shown
        assert "19.37" not in shown

    def test_what_the_customer_chose_is_written_down_with_its_price(self, client, bay):
        client.force_login(bay.technician)
        heard(bay, w0=DEAD)
        shown = client.get(reverse("jobs:job_options", args=[bay.job.pk])).content.decode()
        lines = shown.partition('name="lines" value="')[2].partition('"')[0]
        assert lines.startswith("Least today")
        assert "(front left: replace the" in lines
        assert "for $" in lines
        client.post(
            reverse("jobs:job_approve", args=[bay.job.pk]), {"lines": lines, "who": "Mr Reed"}
        )
        assert bay.job.approvals.get().lines == lines

    def test_says_what_to_do_first_where_nothing_was_read(self, client, bay):
        client.force_login(bay.technician)
        shown = client.get(reverse("jobs:job_options", args=[bay.job.pk])).content.decode()
        assert "Read them first" in shown

    def test_keeps_its_number_of_queries(self, client, bay, django_assert_max_num_queries):
        client.force_login(bay.technician)
        heard(bay, w0=DEAD)
        with django_assert_max_num_queries(50):
            client.get(reverse("jobs:job_options", args=[bay.job.pk]))
