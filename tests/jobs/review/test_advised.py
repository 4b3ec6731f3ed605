"""The words of an advice agree with themselves, whatever the ages; JSON says the same."""

import itertools
from types import SimpleNamespace
from typing import Any

import pytest

from inventory.shop.models import ShopSettings
from jobs.replacement.advice import advice_for
from jobs.replacement.wheel import Battery, Policy
from jobs.review.advised import WheelAdvised
from tests.jobs.replacement.cast import DEAD, clamp_in, part, snap_in

POLICY = Policy()
# Of the wheel itself only what the words of an advice ask: nothing was done to it on this job.
UNTOUCHED: Any = SimpleNamespace(fitted_here=False, broken_here=False)
AGES = (0.5, 3, 6, 7, 8, 9, 12)


def said(*wheels):
    return [
        WheelAdvised(
            case=UNTOUCHED, advice=found, shop=ShopSettings(), close_below=POLICY.close_below
        )
        for found in advice_for(wheels, POLICY)
    ]


def many():
    """Dead, weak and good bodies of every age on stems of every age; plans near and far."""
    found: list[dict[str, Any]] = [DEAD, {"battery": Battery.WEAK}, {}, {"tire_off": True}]
    for body, stem, years, more in itertools.product(AGES, AGES, (1.0, 4.0), found):
        for build, rubber in ((clamp_in, "metal_stem"), (snap_in, "rubber_stem")):
            yield build(
                body=part("body", body),
                stem=part(rubber, stem),
                years_to_tire_change=years,
                visits_left=4,
                **more,
            )


class TestWheelAdvised:
    def test_never_calls_close_what_a_hard_rule_asks_for_or_most_agree_on(self):
        all_said = said(*many())
        for one in all_said:
            if one.advice.strength == "must" or one.advice.share >= POLICY.close_below:
                assert "close" not in one.sure.lower(), (one.because, one.sure)
                assert one.advice.strength != "offer" or not one.is_close
        # Each kind of sentence is among them.
        starts = {one.sure.partition(":")[0] for one in all_said}
        assert {"Sure", "Likely", "Too close to call", ""} <= starts
        assert any(one.sure.startswith("Look at it to choose: this, or") for one in all_said)
        assert any("; in the long run “" in one.sure for one in all_said)

    def test_a_weak_battery_is_named_as_the_reason_and_not_the_age(self):
        [young] = said(clamp_in(body=part("body", 0.5), battery=Battery.WEAK))
        assert young.because == (
            "Its battery is weak and sealed in, and a new one now costs less than a visit later."
        )

    @pytest.mark.parametrize("stem", AGES)
    def test_says_in_json_what_the_page_says(self, stem):
        [one] = said(clamp_in(body=part("body", 8), stem=part("metal_stem", stem), **DEAD))
        assert one.is_close == one.sure.startswith("Look at it to choose")
