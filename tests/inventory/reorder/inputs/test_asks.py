from datetime import date

import numpy as np
import pytest

from inventory.planning.usage import usage
from inventory.reorder.inputs.asks import DAYS, first_day, history_of, split
from inventory.reorder.inputs.facts import LARGEST_ASK, Rows
from inventory.shop.models import Site
from tests.make import make_part, make_site

AS_OF = date(2026, 3, 4)


class TestFirstDay:
    def test_the_history_ends_with_the_day_of_the_plan(self):
        assert (AS_OF - first_day(AS_OF)).days == DAYS - 1


class TestSplit:
    def test_an_ask_for_very_many_counts_as_several(self):
        asked = [np.array([n]) for n in (0, 3, LARGEST_ASK + 2, 1)]
        row, day, pieces, count = (column.tolist() for column in split(*asked))
        assert (row, day, pieces, count) == ([0, 0], [3, 3], [LARGEST_ASK, 2], [1, 1])

    def test_no_piece_is_lost(self):
        pieces = np.array([1, 64, 40_000, 63, 128])
        count = np.array([3, 1, 2, 5, 1])
        row = np.arange(5)
        _, _, sizes, times = split(row, row, pieces, count)
        assert (sizes * times).sum() == (pieces * count).sum()
        assert sizes.max() == LARGEST_ASK


@pytest.mark.django_db
class TestHistoryOf:
    RATE = 0.4  # asks a day
    PARTS = 60

    def history(self, rng, *, logged):
        """Parts that are out of stock every other week, asked for at one rate all along."""
        site = make_site(asks_logged_from=first_day(AS_OF) if logged else None)
        pks = sorted(make_part().pk for _ in range(self.PARTS))
        rows = Rows(part=np.array(pks), site=np.full(self.PARTS, site.pk))
        day = np.arange(DAYS)
        in_stock = day // 7 % 2 == 0
        asks, moves = [], []
        for pk in pks:
            asked = rng.poisson(self.RATE, DAYS)
            kept = asked > 0 if logged else (asked > 0) & in_stock
            asks += [(pk, site.pk, d, 1, asked[d]) for d in day[kept]]
            # Stock comes on the eve of a week and is gone on its last day.
            moves += [
                (pk, site.pk, d - 1 if step else d + 6, 9 if step else -9)
                for d in range(0, DAYS, 14)
                for step in (1, 0)
            ]
        return history_of(AS_OF, rows, np.array(asks), np.array(moves), [], [site])

    @pytest.mark.parametrize("logged", [True, False], ids=["logged", "not logged"])
    def test_a_part_out_of_stock_half_of_the_time_keeps_its_rate(self, logged):
        history = self.history(np.random.default_rng(7), logged=logged)
        learned = usage(history.occasions, history.exposure_days, group=history.group)
        assert learned.rate.mean_rate.mean() == pytest.approx(self.RATE, rel=0.05)

    def test_asks_on_days_that_cannot_be_seen_do_not_count(self):
        site, part = make_site(), make_part()
        rows = Rows(part=np.array([part.pk]), site=np.array([site.pk]))
        asks = np.array([(part.pk, site.pk, 3, 1, 1), (part.pk, site.pk, 9, 1, 1)])
        moves = np.array([(part.pk, site.pk, 8, 5)])
        history = history_of(AS_OF, rows, asks, moves, [], [site])
        assert history.occasions.sum() == 1
        assert history.exposure_days.sum() == DAYS - 9

    def test_sizes_are_counted(self):
        site, part = make_site(asks_logged_from=date(2000, 1, 1)), make_part()
        rows = Rows(part=np.array([part.pk]), site=np.array([site.pk]))
        asks = np.array([(part.pk, site.pk, 3, 4, 2), (part.pk, site.pk, 9, 1, 1)])
        history = history_of(AS_OF, rows, asks, np.zeros((0, 4), dtype=np.int64), [], [site])
        assert history.asks_by_size.tolist() == [[0, 1, 0, 0, 2]]

    def test_kinds_at_two_sites_are_groups_of_their_own(self):
        sites, part = [make_site(), make_site()], make_part()
        rows = Rows(part=np.full(2, part.pk), site=np.array(sorted(s.pk for s in sites)))
        none = np.zeros((0, 5), dtype=np.int64)
        history = history_of(AS_OF, rows, none, none[:, :4], [], list(Site.objects.selling()))
        assert history.kind.tolist() == [0, 0]
        assert history.group.tolist() == [0, 1]
