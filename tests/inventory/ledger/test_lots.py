from hypothesis import given
from hypothesis import strategies as st

from inventory.ledger.lots import share_of, split_evenly

CENTS = st.integers(0, 10**9)


class TestShareOf:
    def test_seven_for_ten_go_one_by_one_to_the_last_cent(self):
        cents, gone = 1000, []
        for left in range(7, 0, -1):
            gone.append(share_of(cents, 1, left))
            cents -= gone[-1]
        assert gone == [143, 143, 143, 143, 143, 143, 142]

    @given(CENTS, st.integers(1, 500), st.data())
    def test_is_within_half_a_cent_and_never_more_than_is_there(self, cents, left, data):
        pieces = data.draw(st.integers(1, left))
        share = share_of(cents, pieces, left)
        assert 0 <= share <= cents
        assert abs(2 * (share * left - cents * pieces)) <= left

    @given(CENTS, st.lists(st.integers(1, 9), min_size=1, max_size=30))
    def test_however_a_lot_is_split_its_cents_add_up(self, cents, takes):
        left, rest, gone = sum(takes), cents, []
        for pieces in takes:
            gone.append(share_of(rest, pieces, left))
            rest, left = rest - gone[-1], left - pieces
        assert (rest, sum(gone)) == (0, cents)


class TestSplitEvenly:
    def test_odd_cents_go_to_the_largest_remainders(self):
        # 100 over 1:1:4 is 16.67, 16.67 and 66.67: two cents are left for three equal remainders.
        assert split_evenly(100, [1, 1, 4]) == [17, 17, 66]

    @given(CENTS, st.lists(st.integers(0, 10**6), min_size=1, max_size=12))
    def test_adds_up_and_no_share_is_a_cent_off(self, cents, weights):
        shares = split_evenly(cents, weights)
        total = sum(weights)
        assert sum(shares) == cents
        for share, weight in zip(shares, weights, strict=True):
            if total:
                assert abs(share * total - cents * weight) < total
                assert weight or not share
