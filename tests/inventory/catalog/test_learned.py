from datetime import date

import pytest

from inventory.catalog.evidence import confirm_fit, contradict_fit
from inventory.catalog.learned import borders
from tests.make import make_application, make_fitment, make_part

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

    def reckoned(self, application):
        (border,) = borders(application)
        return [(m.month, m.explains, m.against) for m in border.months]

    def test_a_part_of_the_earlier_side_that_did_not_fit_asks_for_an_earlier_split(self):
        early, late = make_application(built_to=FEBRUARY), make_application(built_from=MARCH)
        old, new, both = make_part(), make_part(), make_part()
        for application, part in ((early, old), (early, both), (late, new), (late, both)):
            make_fitment(application, part)
        january, november = date(2016, 1, 1), date(2015, 11, 1)
        answered(early, old, november)
        answered(early, old, january, job="J2")
        did_not_fit(early, old, january)
        did_not_fit(early, both, FEBRUARY)
        answered(early, new, FEBRUARY)
        answered(late, new, MARCH)
        # From February: the new part that answered there. From January: also the old one that did
        # not fit, against the old one that did. A part of both sides tells nothing of the border.
        assert self.reckoned(early) == [
            (november, 2, 2),
            (january, 2, 1),
            (FEBRUARY, 1, 0),
            (MARCH, 0, 0),
        ]
        # November explains no more than January does, and has more against it.
        (border,) = borders(early)
        assert border.best_months == [january, FEBRUARY]

    def test_a_part_of_the_later_side_that_did_not_fit_asks_for_a_later_split(self):
        make_application(built_to=FEBRUARY)
        late, new = make_application(built_from=MARCH), make_part()
        make_fitment(late, new)
        did_not_fit(late, new, MARCH)
        answered(late, new, None)
        # The month after it stands there to choose, though nothing was seen in it.
        assert self.reckoned(late) == [(MARCH, 0, 0), (APRIL, 1, 0), (None, 0, 0)]

    def test_what_is_decided_asks_for_nothing(self):
        early, old = make_application(built_to=FEBRUARY), make_part()
        make_application(built_from=MARCH)
        make_fitment(early, old)
        did_not_fit(early, old, FEBRUARY)
        (border,) = borders(early)
        assert border.best_months == [FEBRUARY]
        early.evidence.update(settled=True)
        (border,) = borders(early)
        assert border.best_months == []

    def test_one_alone_may_be_parted_where_something_did_not_fit(self):
        application, part, other = make_application(), make_part(), make_part()
        answered(application, part, FEBRUARY)
        (border,) = borders(application)
        assert border.best_months == []
        did_not_fit(application, part, MARCH)
        answered(application, other, MARCH)
        answered(application, part, APRIL, job="J2")
        (border,) = borders(application)
        assert border.later is None
        assert [(m.month, m.explains, m.against) for m in border.months] == [
            (FEBRUARY, 0, 0),
            (MARCH, 1, 1),
            (APRIL, 1, 1),
        ]

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
            with django_assert_num_queries(3):
                borders(early)
