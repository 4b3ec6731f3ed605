"""Advice for whole wheels: trade checks, prices, plans, and how sure it is.

Trade checks are common practice, no source; bodies dead where nothing else is said, prices and
labour as the cast has them, four years to the next tire change.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.replacement.actions import ACTIONS, Action
from jobs.replacement.advice import Strength, advice, advice_for, sibling_advice
from jobs.replacement.need import Need
from jobs.replacement.siblings import SiblingChoice
from jobs.replacement.wheel import (
    Amounts,
    Battery,
    Construction,
    Heard,
    LabourAmounts,
    LeakAt,
    PartAmounts,
    Policy,
)
from tests.jobs.replacement.cast import DEAD, PARTS, PRICES, clamp_in, one_piece, part, snap_in

POLICY = Policy()
OLD = {"body": part("body", 8)}


def asked(wheel, policy=POLICY):
    return advice(wheel, policy)


def row(answer, action):
    return answer.rows[ACTIONS.index(action)]


class TestTradeChecks:
    def test_a_dead_body_on_a_young_metal_stem_is_a_body(self):
        answer = asked(clamp_in(**OLD, stem=part("metal_stem", 1), **DEAD))
        assert (answer.action, answer.strength) == (Action.BODY, Strength.MUST)
        assert answer.because == (
            "The body is dead: silent after 2 tries, and its battery is sealed in."
        )

    def test_on_an_eight_year_old_metal_stem_it_is_an_assembly(self):
        answer = asked(clamp_in(**OLD, stem=part("metal_stem", 8), **DEAD))
        assert (answer.action, answer.strength) == (Action.ASSEMBLY, Strength.MUST)
        assert answer.because == (
            "The body is dead: silent after 2 tries, and its battery is sealed in; the stem is "
            "8 years old, and a new one now costs less than its 40% risk of failing before the "
            "next tire change."
        )

    def test_one_piece_it_is_an_assembly(self):
        answer = asked(one_piece(**OLD, stem=part("metal_stem", 1), **DEAD))
        assert answer.action is Action.ASSEMBLY
        assert answer.because == (
            "The body is dead: silent after 2 tries, and its battery is sealed in; a one-piece "
            "sensor is replaced whole."
        )

    @pytest.mark.parametrize(("apart", "in_two"), [(5000, False), (4700, True)])
    def test_snap_in_with_the_tire_off_it_is_body_and_stem_whichever_is_cheaper(
        self, apart, in_two
    ):
        prices = replace(PRICES, parts=replace(PARTS, body_and_stem=apart))
        answer = asked(
            snap_in(**OLD, stem=part("rubber_stem", 6), tire_off=True, prices=prices, **DEAD)
        )
        assert answer.action is Action.ASSEMBLY
        assert row(answer, Action.ASSEMBLY).price_now_cents == min(apart, 4900)
        assert answer.wheel.prices.parts.in_two_parts is in_two

    def test_all_answer_and_the_ids_do_not_match_is_a_re_learn(self):
        answer = asked(clamp_in(**OLD, id_stored=False, all_answer=True, ids_match=False))
        assert (answer.need, answer.action) == (Need.RELEARN, Action.LEAVE)
        assert answer.strength is Strength.LEAVE
        assert answer.because == (
            "It answers, but the vehicle does not know its id: re-learn, no part needed."
        )


class TestAdvice:
    def test_with_the_tire_on_a_leaking_core_is_a_core(self):
        answer = asked(clamp_in(leak_at=LeakAt.CORE))
        assert (answer.need, answer.action) == (Need.CORE, Action.LEAVE)

    def test_silent_once_with_the_tire_off_is_tried_again_and_resealed(self):
        answer = asked(clamp_in(heard=Heard.SILENT, tire_off=True))
        assert (answer.need, answer.action) == (Need.TRY_AGAIN, Action.RESEAL)
        assert answer.because == (
            "Silent once is not dead: turn the wheel, move the tool and try again. The tire is "
            "off, and the seal of a clamp-in is used once."
        )

    def test_nothing_wrong_and_nothing_old_is_left(self):
        dear = replace(PRICES, labour=LabourAmounts(dismount=2500, return_visit=3800))
        answer = asked(clamp_in(prices=dear))
        assert (answer.need, answer.action) == (Need.NONE, Action.LEAVE)
        assert answer.because == ("Replacing a part now would cost more than the risk of waiting.")

    def test_a_good_old_body_with_the_tire_off_is_an_offer(self):
        answer = asked(clamp_in(**OLD, stem=part("metal_stem", 1), tire_off=True))
        assert (answer.need, answer.action) == (Need.PART, Action.BODY)
        assert (answer.strength, answer.must_at_least) == (Strength.OFFER, Action.RESEAL)

    def test_a_young_wheel_with_the_tire_off_gets_its_kit(self):
        young = {"body": part("body", 1), "stem": part("metal_stem", 1)}
        answer = asked(clamp_in(**young, tire_off=True))
        assert (answer.action, answer.strength) == (Action.RESEAL, Strength.MUST)

    def test_unknown_construction_is_looked_at(self):
        answer = asked(clamp_in(construction=Construction.UNKNOWN, **DEAD))
        assert (answer.need, answer.action) == (Need.INSPECT, None)
        assert answer.because == (
            "Nobody knows yet whether this sensor is one piece or two: look at it first."
        )

    def test_with_nothing_to_be_had_it_says_so(self):
        nothing = PartAmounts(reseal=400, body=None, stem=None, assembly=None)
        answer = asked(clamp_in(prices=replace(PRICES, parts=nothing), **DEAD))
        assert answer.action is None
        assert answer.because == (
            "No action that the rules allow has a part with a price; price one or look again."
        )

    def test_a_weak_battery_counts_as_a_failure_to_come(self):
        assert asked(clamp_in(battery=Battery.WEAK)).body_fails == 1
        assert asked(clamp_in(battery=Battery.WEAK)).action in (Action.BODY, Action.ASSEMBLY)

    def test_a_temporary_spare_is_left_alone(self):
        answer = asked(clamp_in(heard=Heard.TEMPORARY_SPARE, tire_off=True))
        assert (answer.need, answer.action) == (Need.NO_SENSOR_HERE, Action.LEAVE)

    def test_price_now_is_what_the_job_does_not_sell_already(self):
        labour = LabourAmounts(dismount=2000, relearn=1500, prepare=300, return_visit=6000)
        prices = Amounts(parts=PARTS, labour=labour)
        on = asked(clamp_in(prices=prices, wheels_sharing=3))
        off = asked(clamp_in(prices=prices, wheels_sharing=3, tire_off=True))
        copied = asked(clamp_in(prices=prices, copied_id=True))
        # 42.00 + 20.00 dismounting + 3.00 preparing + a third of 15.00 re-learn (computed).
        assert row(on, Action.BODY).price_now_cents == 7000
        assert row(off, Action.BODY).price_now_cents == 5000
        assert row(copied, Action.BODY).price_now_cents == 6500
        assert row(on, Action.STEM).price_now_cents == 3200

    def test_close_when_few_laws_agree(self):
        close = asked(clamp_in(body=part("body", 4.2), tire_off=True))
        sure = asked(clamp_in(body=part("body", 9), stem=part("metal_stem", 0.2), tire_off=True))
        assert close.close
        assert close.share < 0.65
        assert not sure.close
        assert sure.share > 0.9

    def test_where_plans_differ_the_cheaper_today_is_advised_and_marked_close(self):
        found = 0
        for age in np.arange(0, 10, 0.25):
            wheel = clamp_in(
                body=part("body", float(age)),
                stem=part("metal_stem", float(age) / 2),
                tire_off=True,
                visits_left=3,
            )
            answer = asked(wheel)
            open_rows = [r for r in answer.rows if not r.masked]
            soon = min(open_rows, key=lambda r: r.expected_cents)
            ahead = min(open_rows, key=lambda r: r.over_visits_cents)
            if soon.action is not ahead.action:
                found += 1
                cheaper = min(soon, ahead, key=lambda r: r.price_now_cents)
                assert (answer.action, answer.close) == (cheaper.action, True)
        assert found

    def test_planned_one_visit_ahead_both_tables_agree(self):
        for r in asked(clamp_in(tire_off=True)).rows:
            assert r.over_visits_cents == pytest.approx(r.expected_cents, abs=1)

    @settings(deadline=None, max_examples=60)
    @given(
        st.sampled_from([clamp_in, snap_in, one_piece]),
        st.floats(0, 12),
        st.floats(0, 12),
        st.booleans(),
        st.sampled_from([{}, DEAD, {"battery": Battery.WEAK}, {"leak_at": LeakAt.STEM}]),
        st.integers(1, 4),
    )
    def test_advises_only_what_the_rules_allow(self, make, body, stem, off, found, visits):
        family = "rubber_stem" if make is snap_in else "metal_stem"
        wheel = make(
            body=part("body", body),
            stem=part(family, stem),
            tire_off=off,
            visits_left=visits,
            **found,
        )
        answer = asked(wheel)
        assert answer.action is not None
        assert row(answer, answer.action).masked == ""
        assert answer.because.endswith(".")
        assert sum(r.share for r in answer.rows) == pytest.approx(1)
        assert all(r.share == 0 for r in answer.rows if r.masked)


class TestAdviceFor:
    def test_each_wheel_as_if_alone(self):
        wheels = [clamp_in(**DEAD), snap_in(tire_off=True), one_piece(), clamp_in(visits_left=3)]
        together = advice_for(wheels, POLICY)
        for wheel, answer in zip(wheels, together, strict=True):
            alone = asked(wheel)
            assert (answer.action, answer.because) == (alone.action, alone.because)
            assert answer.rows == alone.rows

    def test_no_wheels_no_advice(self):
        assert advice_for([], POLICY) == []


class TestBreakEven:
    def test_below_it_waiting_is_cheaper_above_it_a_new_body(self):
        answer = asked(clamp_in(tire_off=True))
        age = answer.body_break_even_years
        assert age is not None
        for years, cheaper in ((age - 0.3, Action.RESEAL), (age + 0.3, Action.BODY)):
            other = asked(clamp_in(body=part("body", years), tire_off=True))
            costs = {a: row(other, a).expected_cents for a in (Action.RESEAL, Action.BODY)}
            assert min(costs, key=costs.__getitem__) is cheaper

    def test_a_stem_that_must_go_has_none(self):
        assert asked(snap_in(tire_off=True)).stem_break_even_years is None
        assert asked(clamp_in()).stem_break_even_years is not None

    def test_without_any_price_there_is_none(self):
        free = PartAmounts(reseal=0, body=0, stem=0, assembly=0)
        answer = asked(clamp_in(prices=Amounts(parts=free, labour=LabourAmounts())))
        assert (answer.body_break_even_years, answer.stem_break_even_years) == (None, None)


class TestShopRows:
    COSTS = Amounts(
        parts=PartAmounts(reseal=100, body=2000, stem=400, assembly=2400),
        labour=LabourAmounts(return_visit=1500),
    )

    def test_without_costs_there_is_no_table(self):
        assert asked(clamp_in()).shop_rows(POLICY) == ()

    def test_earned_today_less_what_the_warranty_will_cost(self):
        wheel = clamp_in(costs=self.COSTS, body=part("body", 3, our_years_left=0.5))
        for r in asked(wheel).shop_rows(POLICY):
            assert r.earned_cents == r.margin_now_cents - r.warranty_cents
        body = asked(wheel).shop_rows(POLICY)[ACTIONS.index(Action.BODY)]
        assert body.margin_now_cents == 4200 - 2000

    def test_leaving_a_part_out_of_warranty_costs_the_shop_nothing(self):
        leave = asked(clamp_in(costs=self.COSTS)).shop_rows(POLICY)[0]
        assert (leave.margin_now_cents, leave.warranty_cents) == (0, 0)

    def test_what_the_supplier_credits_comes_off(self):
        wheel = clamp_in(costs=self.COSTS)
        ours = replace(POLICY, our_warranty_years=3.0, supplier_warranty_years=0.0)
        theirs = replace(POLICY, our_warranty_years=3.0, supplier_warranty_years=3.0)
        place = ACTIONS.index(Action.BODY)
        bare, credited = (asked(wheel).shop_rows(p)[place].warranty_cents for p in (ours, theirs))
        assert credited < bare


class TestSiblingAdvice:
    PRICES = replace(PRICES, labour=LabourAmounts(dismount=2200, return_visit=5200))

    def test_a_young_sibling_waits_and_an_old_one_goes_now(self):
        young, old = (
            sibling_advice(clamp_in(body=part("body", age), prices=self.PRICES, visits_left=3))
            for age in (1, 9)
        )
        assert (young.choose, old.choose) == (SiblingChoice.WAIT, SiblingChoice.NOW)

    def test_refuses_without_a_price(self):
        nothing = PartAmounts(reseal=400, body=None, stem=None, assembly=None)
        with pytest.raises(ValueError, match="no sensor") as refused:
            sibling_advice(clamp_in(prices=replace(PRICES, parts=nothing)))
        assert str(refused.value) == ("no sensor with a price fits this wheel; price one first")
