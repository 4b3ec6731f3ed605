"""A check constraint judged in Python says what the database says."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.db.models import CheckConstraint, F, Q, Value
from django.db.models.functions import Length
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.catalog.models import Application, MadeOf, Part, PartKind
from inventory.sheet.conditions import broken, judge

years = st.integers(2000, 2003)
months = st.none() | st.dates(date(2001, 1, 1), date(2001, 3, 1))

# Every way in which the constraints of the house are put together, and a few more.
CONDITIONS = [
    Q(year_from__lte=F("year_to")),
    Q(built_from=None) | Q(built_to=None) | Q(built_from__lte=F("built_to")),
    Q(built_from__lt=F("built_to")) & ~Q(trim=""),
    ~Q(built_from__gte=F("built_to")),
    ~(Q(year_from=2001) & Q(built_from=None)),
    Q(year_from__in=[2001, 2002]) | Q(trim="a", built_to__isnull=False),
    Q(year_from__gt=F("year_to")) | (Q(built_to__isnull=True) & ~Q(trim__in=["a"])),
]


def database_says(condition, record):
    constraint = CheckConstraint(condition=condition, name="under_test")
    try:
        constraint.validate(type(record), record)
    except ValidationError:
        return False
    return True


class TestJudge(TestCase):
    @settings(max_examples=60, deadline=None)
    @given(
        condition=st.sampled_from(CONDITIONS),
        first=years,
        last=years,
        built_from=months,
        built_to=months,
        trim=st.sampled_from(["", "a"]),
    )
    def test_agrees_with_the_database(self, condition, first, last, built_from, built_to, trim):
        record = Application(
            year_from=first, year_to=last, built_from=built_from, built_to=built_to, trim=trim
        )
        assert (judge(condition)(record) is not False) == database_says(condition, record)


class TestJudgeRefuses:
    @pytest.mark.parametrize(
        ("condition", "sentence"),
        [
            (
                Q(trim__startswith="a"),
                "The lookup “trim__startswith” is not judged outside the database.",
            ),
            (
                Q(year_from=1) ^ Q(year_to=1),
                "<Q: (XOR: ('year_from', 1), ('year_to', 1))> is not judged ",
            ),
            (Q(trim=Length("make") + Value(1)), "The expression "),
        ],
    )
    def test_what_it_cannot_judge(self, condition, sentence):
        with pytest.raises(NotImplementedError) as refused:
            judge(condition)
        assert str(refused.value).startswith(sentence)


class TestBroken:
    def test_gives_the_sentence_of_each_broken_rule(self):
        assert broken(Application)(Application(year_from=2016, year_to=2013)) == [
            "The first model year comes after the last; swap them."
        ]
        assert broken(Part)(Part(kind=PartKind.BODY)) == [
            "A sensor body or assembly needs at least one radio band."
        ]

    def test_compares_relations_by_what_they_name(self):
        rule = broken(MadeOf)
        assert rule(MadeOf(whole_id=1, piece_id=1)) == ["A part cannot be made of itself."]
        assert rule(MadeOf(whole_id=1, piece_id=2)) == []
