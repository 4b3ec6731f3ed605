"""The bridge between two margins closes to the cent, whatever the periods."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.costing.bridge import Cause, Period, Work, bridge

CENTS = st.integers(-(10**7), 10**7)
WORKS = st.builds(Work, count=st.integers(1, 500), price_cents=CENTS, cost_cents=CENTS)
PERIODS = st.builds(
    Period,
    works=st.dictionaries(st.sampled_from("abcdefg"), WORKS),
    comebacks_cents=CENTS,
    write_offs_cents=CENTS,
    service_data_cents=CENTS,
)


def period(**works):
    return Period(
        works={
            name: Work(count=count, price_cents=price, cost_cents=cost)
            for name, (count, price, cost) in works.items()
        }
    )


def moved(before, after):
    return {str(cause): cents for cause, cents in bridge(before, after).bars.items() if cents}


class TestBridge:
    @given(PERIODS, PERIODS)
    def test_closes_to_the_cent(self, before, after):
        answer = bridge(before, after)
        change = after.margin_cents - before.margin_cents
        assert sum(answer.bars.values()) == sum(answer.cells.values()) == change
        assert answer.before_cents + change == answer.after_cents

    @given(PERIODS)
    def test_nothing_moves_between_a_period_and_itself(self, period):
        assert not any(bridge(period, period).cells.values())

    def test_a_dearer_price_alone_is_price(self):
        assert moved(period(body=(10, 60000, 40000)), period(body=(10, 66000, 40000))) == {
            "price": 6000
        }

    def test_a_dearer_part_alone_is_cost(self):
        assert moved(period(body=(10, 60000, 40000)), period(body=(10, 60000, 45000))) == {
            "cost": -5000
        }

    def test_twice_as_much_of_everything_is_volume(self):
        before = period(body=(10, 60000, 40000), kit=(40, 20000, 8000))
        after = period(body=(20, 120000, 80000), kit=(80, 40000, 16000))
        assert moved(before, after) == {"volume": 32000}

    def test_more_of_the_better_work_at_the_same_number_of_jobs_is_mix(self):
        # Each body earns 20.00, each kit 3.00: five kits become bodies, 5 × 17.00 (computed).
        before = period(body=(10, 60000, 40000), kit=(40, 20000, 8000))
        after = period(body=(15, 90000, 60000), kit=(35, 17500, 7000))
        assert moved(before, after) == {"mix": 8500}

    def test_new_work_is_mix_and_a_first_period_is_volume(self):
        before, after = period(kit=(10, 5000, 2000)), period(kit=(10, 5000, 2000), body=(1, 60, 40))
        assert bridge(before, after).cells[Cause.MIX, "body"] == 20
        assert moved(period(), after) == {"volume": 3020}

    def test_comebacks_write_offs_and_service_data_count_against(self):
        before = Period(works={}, comebacks_cents=500, write_offs_cents=100)
        after = Period(works={}, comebacks_cents=900, service_data_cents=70)
        assert after.margin_cents == -970
        assert moved(before, after) == {"comebacks": -400, "write_offs": 100, "service_data": -70}

    def test_refuses_amounts_without_a_count(self):
        with pytest.raises(ValueError, match="count of 0") as refused:
            bridge(period(), period(body=(0, 100, 0)))
        assert str(refused.value) == "“body” has amounts but a count of 0"
