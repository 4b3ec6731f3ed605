from datetime import date

import pytest

from inventory.catalog.evidence import confirm_fit, contradict_fit
from inventory.catalog.learned import borders
from tests.make import make_application, make_part

pytestmark = pytest.mark.django_db
FEBRUARY, MARCH, APRIL = (date(2016, month, 1) for month in (2, 3, 4))


def answered(application, part, month, job="J1"):
    confirm_fit(application, [part], job_key=job, built_month=month, by=None)


def did_not_fit(application, part, month, job="J9"):
    contradict_fit(application, part, reason="silent", job_key=job, built_month=month, by=None)


class TestBorders:
    def test_two_that_meet_are_seen_together(self):
        early = make_application(built_to=FEBRUARY)
        late = make_application(built_from=MARCH)
        old, new = make_part(number="OLD"), make_part(number="NEW")
        answered(early, old, date(2016, 1, 20))
        did_not_fit(early, old, FEBRUARY)
        for job in ("J2", "J3"):
            answered(late, new, MARCH, job=job)
        for application in (early, late):
            (border,) = borders(application)
            assert (border.earlier, border.later) == (early, late)
            seen = [(m.month, m.side, m.answered, len(m.did_not_fit)) for m in border.months]
            assert seen == [
                (date(2016, 1, 1), early, (("OLD", 1),), 0),
                (FEBRUARY, early, (), 1),
                (MARCH, late, (("NEW", 2),), 0),
            ]

    def test_the_split_may_move_to_any_month_but_where_it_is(self):
        early = make_application(built_from=FEBRUARY, built_to=FEBRUARY)
        late, part = make_application(built_from=MARCH), make_part()
        for application, month in ((early, FEBRUARY), (late, MARCH), (late, APRIL), (late, None)):
            answered(application, part, month, job=f"J{month}")
        (border,) = borders(late)
        assert [(m.month, m.may_split) for m in border.months] == [
            (FEBRUARY, False),
            (MARCH, False),
            (APRIL, True),
            (None, False),
        ]

    def test_one_alone_may_be_parted_where_something_did_not_fit(self):
        application, part = make_application(), make_part()
        answered(application, part, FEBRUARY)
        (border,) = borders(application)
        assert not border.may_move
        did_not_fit(application, part, MARCH)
        (border,) = borders(application)
        assert border.later is None
        assert [m.may_split for m in border.months] == [True, True]

    def test_a_middle_one_has_two_borders(self):
        first = make_application(built_to=FEBRUARY)
        middle = make_application(built_from=MARCH, built_to=MARCH)
        last = make_application(built_from=APRIL)
        make_application(built_from=APRIL, trim="GT")
        assert [(b.earlier, b.later) for b in borders(middle)] == [(first, middle), (middle, last)]

    def test_costs_the_same_for_much_evidence(self, django_assert_num_queries):
        early, late = make_application(built_to=FEBRUARY), make_application(built_from=MARCH)
        for number in range(2):
            for month in range(1, 12):
                answered(late, make_part(), date(2016, month, 1), job=f"J{number}{month}")
            with django_assert_num_queries(2):
                borders(early)
