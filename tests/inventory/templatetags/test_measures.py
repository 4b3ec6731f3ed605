from datetime import UTC, date, datetime

from django.template import Context, Template

from inventory.shop.models import ShopSettings, Site


def render(tag, **context):
    page = Template("{% load measures %}" + tag)
    return page.render(Context({"shop": ShopSettings()} | context))


class TestMeasures:
    def test_each_is_written_as_the_shop_reads_it(self):
        assert render("{% money 1250 %}") == "$12.50"
        assert render("{% amount 1250 %}") == "12.50"
        assert render("{% pressure 241 %}") == "35 psi"
        assert render("{% torque 700 %}") == "7 N·m"
        assert render("{% day d %}", d=date(2026, 3, 9)) == "2026-03-09"
        assert render("{{ d|month }}", d=date(2026, 3, 9)) == "March 2026"

    def test_nothing_stays_blank_and_zero_is_zero(self):
        assert render("{% money x %}{% pressure x %}{% day x %}{% moment x %}", x=None) == ""
        assert render("{% money 0 %}") == "$0.00"

    def test_a_moment_is_told_by_the_clock_of_the_site(self):
        at = datetime(2026, 3, 9, 2, 30, tzinfo=UTC)
        assert render("{% moment at %}", at=at) == "2026-03-09 02:30"
        chicago = Site(zone="America/Chicago")
        assert render("{% moment at %}", at=at, site=chicago) == "2026-03-08 21:30"
        assert render("{% weekday_time at %}", at=at, site=chicago) == "Sunday 21:30"

    def test_one_piece_is_not_pieces(self):
        assert render("{{ 1|pieces }}, {{ 2|pieces }}") == "1 piece, 2 pieces"
        assert render("{{ x|abs_pieces }}", x=-1) == "1 piece"

    def test_a_movement_shows_its_direction(self):
        assert [render("{{ x|signed }}", x=x) for x in (2, -2, 0)] == ["+2", "−2", "0"]
