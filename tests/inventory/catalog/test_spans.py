from datetime import date

import pytest

from inventory.catalog.models import Application
from inventory.catalog.spans import reaches, span_text


def vehicle(first, last, **facts):
    defaults = {"make": "Merow", "model": "Lista", "year_from": first, "year_to": last}
    return Application(**defaults | facts)


def said(*applications):
    return [(r.model, [text for text, _ in r.spans]) for r in reaches(applications)]


class TestSpanText:
    @pytest.mark.parametrize(
        ("facts", "text"),
        [
            ({}, "2013–2016"),
            ({"built_to": date(2016, 2, 1)}, "2013–2016, built to February 2016"),
            ({"built_from": date(2014, 3, 1)}, "2013–2016, built from March 2014"),
            (
                {"built_from": date(2014, 3, 1), "built_to": date(2016, 2, 1)},
                "2013–2016, built March 2014 to February 2016",
            ),
        ],
    )
    def test_says_years_and_months(self, facts, text):
        assert span_text(vehicle(2013, 2016, **facts)) == text

    def test_one_year_is_said_once(self):
        assert span_text(vehicle(2013, 2013)) == "2013"


class TestReaches:
    def test_touching_years_are_one_span(self):
        assert said(vehicle(2017, 2019), vehicle(2013, 2016)) == [("Lista", ["2013–2019"])]

    def test_a_gap_stays_a_gap(self):
        assert said(vehicle(2013, 2015), vehicle(2017, 2019)) == [
            ("Lista", ["2013–2015", "2017–2019"])
        ]

    def test_a_month_of_building_stands_alone(self):
        early = vehicle(2013, 2016, built_to=date(2016, 2, 1))
        assert said(early, vehicle(2017, 2019)) == [
            ("Lista", ["2013–2016, built to February 2016", "2017–2019"])
        ]

    def test_trims_are_told_apart_and_models_gathered(self):
        assert said(
            vehicle(2013, 2016, trim="LX"), vehicle(2013, 2016, trim="GT"), vehicle(1, 2, model="A")
        ) == [("A", ["1–2"]), ("Lista", ["2013–2016 (GT)", "2013–2016 (LX)"])]
