"""Margins in whole cents, and comebacks charged to what caused them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.costing.margin import JobMargin, Margin, charged_to_cause, margin_of

CENTS = st.integers(-(10**6), 10**6)
MARGINS = st.builds(
    Margin, price_cents=CENTS, parts_cents=CENTS, labour_cents=CENTS, credit_cents=CENTS
)


def earned(key, cents, **comeback):
    return JobMargin(key=key, own=Margin(price_cents=cents), **comeback)


class TestMargin:
    def test_price_less_parts_less_labour_plus_what_the_supplier_gave_back(self):
        line = Margin(price_cents=6000, parts_cents=3500, labour_cents=900, credit_cents=400)
        assert line.margin_cents == 2000
        assert line.share == pytest.approx(1 / 3)

    def test_a_line_without_price_has_no_share(self):
        assert Margin(labour_cents=900).share is None


class TestMarginOf:
    @given(st.lists(MARGINS), st.lists(MARGINS))
    def test_lines_of_two_jobs_sum_to_both_jobs(self, one, other):
        both = margin_of([margin_of(one), margin_of(other)])
        assert both == margin_of(one + other)
        assert both.margin_cents == sum(line.margin_cents for line in one + other)


class TestChargedToCause:
    def test_a_failed_part_is_charged_to_the_job_that_fitted_it(self):
        jobs = charged_to_cause(
            [earned("a", 5000), earned("b", -1200, comeback_of="a", cause="part_failed")]
        )
        assert jobs["a"].margin_cents == 3800
        assert jobs["a"].comebacks == ("b",)
        assert jobs["b"].margin_cents == 0
        assert jobs["b"].charged_to == "a"

    @pytest.mark.parametrize("cause", ["new_fault", "damage", "other_shop"])
    def test_what_the_first_job_did_not_cause_stays_where_it_is(self, cause):
        jobs = charged_to_cause([earned("a", 5000), earned("b", 900, comeback_of="a", cause=cause)])
        assert (jobs["a"].margin_cents, jobs["b"].margin_cents) == (5000, 900)

    def test_a_second_comeback_goes_to_the_first_cause(self):
        jobs = charged_to_cause(
            [
                earned("a", 5000),
                earned("b", -100, comeback_of="a", cause="our_work"),
                earned("c", -200, comeback_of="b", cause="wrong_part"),
            ]
        )
        assert jobs["a"].margin_cents == 4700
        assert set(jobs["a"].comebacks) == {"b", "c"}

    def test_a_cause_outside_the_list_leaves_the_comeback_in_place(self):
        jobs = charged_to_cause([earned("b", -100, comeback_of="a", cause="our_work")])
        assert jobs["b"].margin_cents == -100

    def test_refuses_a_circle(self):
        circle = [
            earned("a", 1, comeback_of="b", cause="our_work"),
            earned("b", 1, comeback_of="a", cause="our_work"),
        ]
        with pytest.raises(ValueError, match="circle") as refused:
            charged_to_cause(circle)
        assert str(refused.value) == (
            "jobs a, b come back from one another in a circle; "
            "correct which job each comes back from"
        )

    @given(st.lists(st.tuples(CENTS, st.integers(0, 30), st.booleans()), max_size=30))
    def test_charging_moves_margin_and_makes_none(self, rows):
        jobs = [
            earned(
                str(place),
                cents,
                comeback_of=str(back) if back < place else None,
                cause="part_failed" if charged else "damage",
            )
            for place, (cents, back, charged) in enumerate(rows)
        ]
        charged = charged_to_cause(jobs)
        assert sum(job.margin_cents for job in charged.values()) == sum(
            job.own.margin_cents for job in jobs
        )
