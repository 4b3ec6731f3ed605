"""What became of a body we gave a chance to; only what was known later counts."""

from datetime import date, timedelta

import numpy as np
import pytest

from jobs.models import AdviceGiven, Fitted
from jobs.review.outcomes import BodyLife, Outcome, Told, advice_record, outcome_of
from tests.jobs.review.test_options import heard
from tests.make import make_job, make_vehicle, make_wheels

DAY, UNTIL, TODAY = date(2022, 3, 1), date(2024, 3, 1), date(2025, 1, 1)
TOLD = Told(job=1, wheel=7, day=DAY, chance=0.3, until=UNTIL)


def body(pk=1, *, wheel=7, since=date(2018, 1, 1), ended_on=None, reason="", good=None, **more):
    told = {"continues": None, "ended_by": None} | more
    return BodyLife(
        pk=pk,
        wheel=wheel,
        since=since,
        ended_on=ended_on,
        end_reason=reason,
        last_good_on=good,
        **told,
    )


def outcome(*bodies, told=TOLD, today=TODAY):
    return outcome_of(told, bodies, today=today)


class TestOutcomeOf:
    @pytest.mark.parametrize(
        ("what", "how"),
        [
            ({"ended_on": date(2023, 5, 1), "reason": "silent"}, Outcome.FAILED),
            ({"ended_on": date(2024, 5, 1), "reason": "silent"}, Outcome.LASTED),
            ({"good": date(2024, 4, 1)}, Outcome.LASTED),
            ({"good": date(2023, 4, 1)}, Outcome.NOT_SEEN),
            ({"ended_on": date(2024, 4, 1), "reason": "replaced_good"}, Outcome.LASTED),
            ({"ended_on": date(2023, 4, 1), "reason": "replaced_good"}, Outcome.NOT_SEEN),
            ({"ended_on": DAY, "reason": "silent", "ended_by": 1}, None),
        ],
    )
    def test_is_by_what_was_seen_of_it(self, what, how):
        assert outcome(body(**what)) is how

    def test_is_open_until_all_of_the_time_is_over_even_where_it_failed_early(self):
        failed = body(ended_on=date(2022, 5, 1), reason="silent")
        assert outcome(failed, today=UNTIL - timedelta(days=1)) is Outcome.NOT_OVER
        assert outcome(failed, today=UNTIL) is Outcome.FAILED

    def test_follows_the_body_into_another_rim_and_not_the_next_one_on_this_wheel(self):
        first = body(ended_on=date(2022, 10, 1), reason="moved")
        moved = body(2, wheel=8, since=date(2022, 10, 1), good=date(2024, 6, 1), continues=1)
        new = body(3, since=date(2022, 10, 1), ended_on=date(2023, 1, 1), reason="silent")
        assert outcome(first, moved, new) is Outcome.LASTED

    def test_nothing_is_known_of_a_body_nobody_wrote_down(self):
        assert outcome() is None


@pytest.mark.django_db
class TestAdviceRecord:
    def given(self, bay, count, *, fails, chance):
        """So many bodies told one chance on a job two years and more ago; some then failed."""
        wheels = [
            wheel
            for _ in range(0, count, 4)
            for wheel in make_wheels(make_vehicle(bay.application), on=date(2021, 1, 1))
        ][:count]
        for number, wheel in enumerate(wheels):
            job = make_job(wheel.vehicle, site=bay.site)
            advice = AdviceGiven(job=job, wheel=wheel, action="leave", strength="leave")
            advice.because, advice.body_fails_per_mille = "so", round(chance * 1000)
            advice.horizon_days, advice.at = 730, "2022-03-01T12:00:00Z"
            advice.save()
            end = {"ended_on": date(2023, 1, 1), "end_reason": "silent"}
            good = {"last_good_on": date(2024, 9, 1)}
            Fitted.objects.filter(wheel=wheel, kind="body").update(
                **(end if number < fails else good)
            )

    def test_holds_what_was_said_against_what_came(self, bay):
        self.given(bay, 20, fails=2, chance=0.1)
        self.given(bay, 20, fails=13, chance=0.7)
        record = advice_record(today=TODAY)
        assert record.is_enough
        assert record.expected == pytest.approx(16)
        assert (record.failed, record.lasted) == (15, 25)
        assert [group.happened for group in record.said] == [0.1, 0.65]
        assert np.allclose(record.picture.lines[0].points, [(10, 10), (70, 65)])

    def test_says_how_many_are_missing(self, bay):
        self.given(bay, 8, fails=1, chance=0.2)
        record = advice_record(today=TODAY)
        assert not record.is_enough
        assert record.missing == 22

    def test_advice_of_today_is_of_time_that_is_not_over(self, bay):
        heard(bay)
        AdviceGiven.objects.create(
            job=bay.job,
            wheel=bay.wheel,
            action="leave",
            strength="leave",
            because="so",
            body_fails_per_mille=100,
            horizon_days=300,
        )
        assert advice_record(today=bay.site.today()).not_over == 1
