import pytest
from django.urls import reverse

from jobs.models import AdviceGiven
from tests.jobs.review.test_lots import fit

pytestmark = pytest.mark.django_db


def shown(client, name, *args, **asked):
    return client.get(reverse(f"jobs:{name}", args=args), asked).content.decode()


class TestLifetimeList:
    def test_shows_a_family_with_its_curve_and_marks_what_is_mostly_assumption(
        self, signed_in, bay
    ):
        fit(bay, "A", failed=2, good=6)
        text = shown(signed_in, "lifetime_list")
        assert "Sensor body, clamp-in, two-piece" in text
        assert "8 records of our own, 2 failed." in text
        assert "Mostly assumption: fewer than 10 records." in text
        assert 'class="band"' in text
        assert "assumed before" in text

    def test_says_so_where_nothing_is_known(self, signed_in, bay):
        bay.vehicle.wheels.all().delete()
        assert "Nothing known yet of how long things last" in shown(signed_in, "lifetime_list")

    def test_keeps_its_number_of_queries(self, signed_in, bay, django_assert_max_num_queries):
        fit(bay, "A", failed=2, good=6)
        with django_assert_max_num_queries(10):
            shown(signed_in, "lifetime_list")


class TestLotList:
    def test_states_its_false_alarm_rate_over_all_lots_watched(self, signed_in, bay):
        fit(bay, "BAD-1", failed=6, good=6)
        text = shown(signed_in, "lot_list")
        assert "1 lot fails earlier than its family" in text
        assert "A sound lot alarms once in 100" in text
        assert "at most 0.01 by chance" in text

    def test_is_quiet_where_nothing_alarms(self, signed_in, bay):
        assert "No lot fails earlier than its family" in shown(signed_in, "lot_list")


class TestLotDetail:
    def test_opens_the_vehicles_that_still_drive_with_it(self, signed_in, bay):
        fit(bay, "BAD 1/2", failed=6, good=6)
        text = shown(signed_in, "lot_detail", bay.body.pk, code="BAD 1/2", kind="body")
        assert "Lot BAD 1/2 fails early: 2 vehicles still drive with it" in text
        assert "6 of the 12 that were seen again failed" in text
        assert "19.37" not in text
        assert "Claims to the supplier" not in text

    def test_a_lot_nobody_fitted_is_an_empty_page(self, signed_in, bay):
        text = shown(signed_in, "lot_detail", bay.body.pk, code="NONE", kind="wheel")
        assert "Lot NONE: 0 on the road, 0 off" in text


class TestAdviceRecord:
    def test_says_not_enough_until_it_is(self, signed_in, bay):
        assert not AdviceGiven.objects.exists()
        text = shown(signed_in, "advice_record")
        assert "Not enough yet to say what our advice was worth" in text
        assert "30 more are needed" in text
