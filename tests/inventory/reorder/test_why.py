from datetime import date

import pytest
from scipy import stats

from inventory.reorder.models import PlanRun
from inventory.reorder.why import aim_sentence, often, percent, picture, why
from inventory.shop.models import ShopSettings
from tests.make import make_part, make_plan_line, make_site, make_supplier

pytestmark = pytest.mark.django_db


@pytest.fixture
def make_line():
    run = PlanRun.objects.create(
        as_of=date(2026, 3, 4),
        figures={
            "holding_rate": 0.25,
            "laws": {"None": {"days": {"7": 1.0}, "review_days": 0.0}},
        },
    )
    site = make_site()

    def line_of(**facts):
        figures = {
            "asks_seen": 30,
            "season": 1.0,
            "rate_shape": 4.0,
            "unit_cents": 2_000.0,
            "keeping_cents": 700.0,
            "serving_cents": 9_000.0,
            "sizes": {"1": 1.0},
        }
        defaults = {"run": run, "part": make_part(), "asks": 2.0, "figures": figures}
        return make_plan_line(site, None, **defaults | facts)

    return line_of


class TestWhy:
    def test_one_piece_more_serves_better_and_costs_more(self, make_line):
        levels = why(make_line(reorder_point=2), ShopSettings.load()).levels
        assert [level.reorder_point for level in levels] == [1, 2, 3]
        assert [level.chosen for level in levels] == [False, True, False]
        assert sorted(levels, key=lambda level: level.job_fill) == list(levels)
        assert sorted(levels, key=lambda level: level.keeping_cents) == list(levels)

    def test_a_goal_below_the_shops_target_is_not_told_as_one(self, make_line):
        line = make_line(reorder_point=0, job_fill=0.61)
        assert why(line, ShopSettings.load()).sentences[1].endswith("on the shelf (target 95%).")
        goal = {"kind": "at_least", "what": "at least 1 kept", "words": "w", "by": ""}
        line.figures["goal"] = goal | {"on": "2026-02-01"}
        told = why(line, ShopSettings.load()).sentences[1]
        assert told.endswith("61% of asks find all they need on the shelf.")

    def test_what_was_superseded_is_no_question_of_cost(self, make_line):
        line = make_line(reorder_point=-1, on_hand=1, words="Superseded by B: use it up.")
        line.figures["superseded"] = True
        told = why(line, ShopSettings.load())
        assert told.sentences == (
            "Superseded by B: use it up.",
            f"Who asks for {line.part} is counted among the asks for the newer part.",
            "1 here and 0 coming, less 0 promised, leave 1: nothing to order.",
        )
        assert (told.aim, told.rows, told.levels, told.picture) == ("", (), (), None)

    def test_nothing_is_below_bought_when_asked(self, make_line):
        levels = why(make_line(reorder_point=-1), ShopSettings.load()).levels
        assert [level.reorder_point for level in levels] == [-1, 0]

    @pytest.mark.parametrize(
        ("seen", "expected", "words"),
        [
            (30, 0.0, "30 asks in the weeks looked at, recent ones weighing more, make 2.0 a week, "
             "1.0 pieces each."),
            (1, 1.4, "1 ask in the weeks looked at, recent ones weighing more, make 2.0 a week, "
             "1.0 pieces each; as they are few, it counts that the vehicles on the books lead us "
             "to expect 1.4 in half a year."),
            (0, 1.4, "Nobody asked for QX-1 here in the weeks looked at; the vehicles on the books "
             "lead us to expect 1.4 in half a year."),
            (0, 0.0, "Nobody asked for QX-1 here in the weeks looked at; parts of its kind are the "
             "guide."),
        ],
    )  # fmt: skip
    def test_says_what_usage_was_learned_from(self, make_line, seen, expected, words):
        line = make_line(part=make_part(number="QX-1"))
        line.figures |= {"asks_seen": seen, "expected": expected}
        assert why(line, ShopSettings.load()).sentences[0] == words

    @pytest.mark.parametrize(
        ("seen", "words"),
        [
            (30, "30 asks in the weeks looked at, recent ones weighing more, make 1.7 a week, and "
             "1.3 a month stand in for parts that are out, 1.0 pieces each."),
            (0, "Nobody asked for QX-1 here in the weeks looked at; parts of its kind are the "
             "guide, and 1.3 a month stand in for parts that are out."),
        ],
    )  # fmt: skip
    def test_says_how_many_asks_come_from_parts_that_are_out(self, make_line, seen, words):
        line = make_line(part=make_part(number="QX-1"))
        line.figures |= {"asks_seen": seen, "sent_on": 0.3}
        told = why(line, ShopSettings.load())
        assert told.sentences[0] == words
        rows = {row.label: row.value for row in told.rows}
        assert (rows["Asks"], rows["Of them standing in"]) == ("2.0 a week", "1.3 a month")

    def test_what_stands_in_once_in_a_lifetime_is_not_told(self, make_line):
        line = make_line()
        line.figures["sent_on"] = 0.0002
        told = why(line, ShopSettings.load())
        assert "stand in" not in told.sentences[0]
        assert "Of them standing in" not in [row.label for row in told.rows]

    def test_a_line_whose_reasons_were_not_kept_says_so(self, make_line):
        told = why(make_line(figures={}), ShopSettings.load())
        assert told.sentences[0].endswith("were not kept with the plan; plan again to see why.")
        assert told.sentences[1] == (
            "0 here and 0 coming, less 0 promised, leave 0, reorder point 2: nothing to order."
        )
        assert (told.rows, told.levels, told.picture) == ((), (), None)

    def test_a_supplier_whose_law_was_not_kept_is_said_too(self, make_line):
        line = make_line()
        line.supplier = make_supplier()
        assert why(line, ShopSettings.load()).picture is None

    def test_says_how_many_deliveries_told_the_wait(self, make_line):
        words = {row.label: row.words for row in why(make_line(), ShopSettings.load()).rows}
        assert (
            words["Order to delivery, days"]
            == "as the supplier states, with the wait for an order day"
        )


class TestAimSentence:
    def said(self, line, target=0.95, **figures):
        line.target = target
        line.figures |= figures
        return aim_sentence(line, ShopSettings.load())

    def test_the_shops_one_target(self, make_line):
        assert self.said(make_line()) == "Its target is the shop's for all parts, 95% of jobs."

    def test_what_is_not_kept_has_a_target_only_if_it_were(self, make_line):
        assert self.said(make_line(reorder_point=-1)) == (
            "If it were kept, its target would be the shop's for all parts, 95% of jobs."
        )

    def test_its_class_and_what_it_brings(self, make_line):
        line = make_line()
        brought = {"name": "A", "share": 0.0314, "margin_cents": 41_250}
        assert self.said(line, 0.97, **{"class": brought}) == (
            f"Its target is 97% because it is in class A, the parts that bring the first 80% of "
            f"the margin at {line.site}: it brings $412.50 a year, 3.1% of it."
        )

    def test_the_cheapest_and_what_a_miss_costs(self, make_line):
        assert self.said(make_line(), None, miss_cents=2_310) == (
            "It has no target but whatever costs least: an ask that finds none of it costs $23.10 "
            "in margin, rush and time, holding a piece for a year $5.00."
        )

    @pytest.mark.parametrize(("by", "who"), [("Ines Karr", " by Ines Karr"), ("", "")])
    def test_its_own_goal_by_whom_and_why(self, make_line, by, who):
        goal = {
            "kind": "at_least",
            "what": "at least 4 kept",
            "words": "The fleet does not wait.",
            "by": by,
            "on": "2026-03-02",
        }
        assert self.said(make_line(), goal=goal) == (
            f"Its own goal, at least 4 kept, was set{who} on 2026-03-02: The fleet does not wait."
        )

    def test_without_a_target_the_reorder_point_names_none(self, make_line):
        line = make_line()
        line.target = None
        sentence = why(line, ShopSettings.load()).sentences[1]
        assert "target" not in sentence
        assert sentence.endswith("of asks find all they need on the shelf.")

    def test_bought_when_asked_by_its_own_goal_claims_no_saving(self, make_line):
        line = make_line(reorder_point=-1)
        line.figures |= {
            "goal": {
                "kind": "asked",
                "what": "bought when asked",
                "words": "x",
                "by": "",
                "on": "2026-03-02",
            }
        }
        assert why(line, ShopSettings.load()).sentences[1] == (
            "Nothing of it is kept on the shelf: it is bought when asked, by its own goal."
        )


class TestPicture:
    def test_bars_are_the_negative_binomial_law(self, make_line):
        # A gamma rate of shape 4 and 2 asks in the wait: negative binomial with p = 4 / (4 + 2);
        # scipy.stats.nbinom is the authority.
        drawn = picture(make_line(reorder_point=5))
        expected = [100 * stats.nbinom.pmf(n, 4, 4 / 6) for n in range(len(drawn.bars))]
        assert [bar.value for bar in drawn.bars] == pytest.approx(expected, abs=0.006)
        assert drawn.mark_after == 5

    def test_says_how_often_the_reorder_point_is_not_enough(self, make_line):
        drawn = picture(make_line(reorder_point=5))
        # scipy.stats.nbinom.sf(5, 4, 4 / 6) = 0.0424, pmf(0, 4, 4 / 6) = 0.1975 (computed)
        assert drawn.description == "None in 20% of all times, more than 5 in 4%."

    def test_many_pieces_share_bars(self, make_line):
        drawn = picture(make_line(reorder_point=400, asks=700.0))
        assert len(drawn.bars) <= 20
        assert drawn.x_label == "pieces, from this number on, 21 a bar"


class TestOften:
    def test_speaks_in_the_unit_that_is_easiest_to_picture(self):
        assert [often(rate) for rate in (2.0, 0.5, 0.046)] == [
            "2.0 a week",
            "2.2 a month",
            "2.4 a year",
        ]


class TestPercent:
    def test_almost_all_is_not_all(self):
        assert [percent(share) for share in (0.5, 0.998, 1.0, None)] == [
            "50%",
            "99.8%",
            "100%",
            "not known",
        ]
