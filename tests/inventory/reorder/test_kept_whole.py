import pytest

from inventory.catalog.models import MadeOf
from inventory.reorder.kept_whole import assemblies_kept
from inventory.reorder.why import levels
from tests.inventory.reorder.pages import behind
from tests.make import make_part, make_plan_line, make_site

pytestmark = pytest.mark.django_db


def planned(part, site, run, *, cents=2_000.0, **facts):
    usual = {
        "asks": 0.3,
        "reorder_point": 1,
        "order_quantity": 1,
        "target": 0.95,
        "job_fill": 0.96,
        "mean_on_hand": 1.5,
        "pack_price_cents": round(cents),
    }
    figures = behind() | {"unit_cents": cents}
    return make_plan_line(site, None, run=run, part=part, figures=figures, **usual | facts)


def made_of(*pieces):
    whole = make_part()
    for piece in pieces:
        MadeOf.objects.create(whole=whole, piece=piece)
    return whole


@pytest.fixture
def parts(site, run):
    """A rare dear assembly; its body and stem are asked for and kept anyway."""
    body, stem = make_part("body"), make_part("stem")
    whole = made_of(body, stem)
    lines = [
        planned(whole, site, run, cents=5_000.0, asks=0.05),
        planned(body, site, run, cents=4_000.0, asks=1.0, reorder_point=4, mean_on_hand=4.0),
        planned(stem, site, run, cents=1_000.0, asks=1.0, reorder_point=4, mean_on_hand=4.0),
    ]
    return whole, lines


class TestAssembliesKept:
    def test_without_a_plan_nothing_is_compared(self):
        assert assemblies_kept(make_site()).run is None

    def test_a_rare_assembly_frees_its_shelf(self, site, run, parts):
        whole, lines = parts
        found = assemblies_kept(site).found
        assert [one.assembly.part for one in found] == [whole]
        one = found[0]
        assert [shelf.line for shelf in one.shelves] == lines
        assert one.shelves[0].cents_now == 7_500
        assert (one.shelves[0].point_apart, one.shelves[0].cents_apart) == (-1, 0)
        assert one.dearer_cents == 0
        assert one.saved_cents == round(0.25 * one.freed_cents)
        # No lower than the assembly was planned to, body and stem together.
        assert one.shelves[0].share_apart > 0.93

    def test_a_goal_of_its_own_keeps_it_whole(self, site, run, parts):
        line, body, _ = parts[1]
        # So much of the body lies there now that keeping apart frees money.
        body.mean_on_hand = 9.0
        body.save()
        assert assemblies_kept(site).found[0].is_better_apart
        line.figures["goal"] = {"what": "at least 2 kept"}
        line.save()
        (one,) = assemblies_kept(site).found
        assert not one.is_better_apart
        assert one.assembly.own_goal == "at least 2 kept"

    def test_its_pieces_are_sized_for_the_sum_of_the_asks(self, site, run, parts):
        one = assemblies_kept(site).found[0]
        body = one.shelves[1]
        line = body.line
        line.asks, line.reorder_point = 1.05, body.point_apart
        level = next(level for level in levels(line) if level.chosen)
        assert body.cents_apart == pytest.approx(4_000 * level.mean_on_hand, rel=0.02)

    def test_dearer_pieces_eat_up_what_they_free(self, site, run):
        body, stem = make_part("body"), make_part("stem")
        whole = made_of(body, stem)
        planned(whole, site, run, cents=5_000.0, asks=0.05)
        for piece in (body, stem):
            planned(piece, site, run, cents=9_000.0, asks=1.0, reorder_point=5, mean_on_hand=5.0)
        one = assemblies_kept(site).found[0]
        assert one.dearer_cents == 13_000
        a_year = one.assembly.pieces_a_year
        assert one.saved_cents == round(0.25 * one.freed_cents - 13_000 * a_year)
        assert not one.is_better_apart

    def test_what_is_not_kept_or_has_no_price_is_left_out(self, site, run):
        body, stem, unpriced = (make_part(kind) for kind in ("body", "stem", "stem"))
        for pieces, point in (((body, stem), -1), ((body, unpriced), 1), ((body, make_part()), 1)):
            planned(made_of(*pieces), site, run, reorder_point=point)
        planned(body, site, run)
        planned(stem, site, run)
        planned(unpriced, site, run, pack_price_cents=None)
        assert assemblies_kept(site).found == []

    def test_a_kit_put_together_from_its_pieces_is_no_assembly(self, site, run):
        seal = make_part("seal")
        kit = make_part("kit")
        MadeOf.objects.create(whole=kit, piece=seal)
        for part in (kit, seal):
            planned(part, site, run)
        assert assemblies_kept(site).found == []

    def test_the_one_that_saves_most_comes_first(self, site, run, parts):
        body = make_part("body")
        other = made_of(body)
        planned(other, site, run, cents=90_000.0, asks=0.01, mean_on_hand=2.0)
        planned(body, site, run, cents=1_000.0, asks=2.0, reorder_point=9, mean_on_hand=7.0)
        kept = assemblies_kept(site)
        assert [one.assembly.part for one in kept.found] == [other, parts[0]]
        assert kept.apart[0].assembly.part == other

    def test_costs_the_same_for_many(self, site, run, parts, django_assert_num_queries):
        with django_assert_num_queries(3):
            assemblies_kept(site)
        for _ in range(4):
            body = make_part("body")
            planned(made_of(body), site, run)
            planned(body, site, run)
        with django_assert_num_queries(3):
            assert len(assemblies_kept(site).found) == 5
