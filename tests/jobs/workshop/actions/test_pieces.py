from datetime import date

import pytest
from django.core.exceptions import ValidationError

from jobs.workshop.actions.pieces import end_piece, fit_part, fit_piece, move_piece, pieces_of
from jobs.workshop.actions.wheels import set_wheel_id
from jobs.workshop.models import EndReason, Fitted, IdOrigin, PieceKind
from tests.make import make_application, make_part, make_vehicle, make_wheels

pytestmark = pytest.mark.django_db
SEEN, LATER = date(2024, 3, 1), date(2026, 2, 3)


def _wheel(**application):
    return make_wheels(make_vehicle(make_application(**application), key="V-p"))[0]


def _now(wheel, kind):
    return wheel.fitted.get(kind=kind, ended_on=None)


class TestPiecesOf:
    # Common practice, no source: the kit of a clamp-in is a seal and small parts, the rubber of a
    # snap-in is stem and seal in one.
    @pytest.mark.parametrize(
        ("kind", "mounting", "renewed"),
        [
            ("assembly", "clamp_in", ("body", "stem", "seal")),
            ("assembly", "snap_in", ("body", "stem")),
            ("body", "clamp_in", ("body",)),
            ("stem", "clamp_in", ("stem",)),
            ("kit", "clamp_in", ("seal",)),
            ("kit", "snap_in", ("stem",)),
            ("plain_valve", "snap_in", ("stem",)),
            ("core", "", ()),
        ],
    )
    def test_renews_what_the_part_brings(self, kind, mounting, renewed):
        assert pieces_of(make_part(kind, mounting=mounting)) == renewed


class TestFitPiece:
    def test_refuses_a_second_body_on_a_wheel(self):
        wheel = _wheel()
        with pytest.raises(ValidationError) as refusal:
            fit_piece(wheel, kind=PieceKind.BODY, on=LATER)
        assert refusal.value.messages == [
            "Wheel V-p-1 already has a sensor body since 2019-05-01; "
            "end that one first and say why."
        ]


class TestEndPiece:
    def test_a_joined_pair_comes_off_together_and_only_one_half_failed(self):
        wheel = _wheel(construction="one_piece")
        ended = end_piece(_now(wheel, "body"), reason=EndReason.SILENT, on=LATER)
        assert [(p.kind, p.end_reason) for p in ended] == [
            ("body", EndReason.SILENT),
            ("stem", EndReason.REPLACED_GOOD),
        ]

    def test_a_failing_stem_takes_its_good_body_along(self):
        wheel = _wheel(construction="one_piece")
        end_piece(_now(wheel, "stem"), reason=EndReason.CORRODED, on=LATER)
        assert wheel.fitted.get(kind="body").end_reason == EndReason.REPLACED_GOOD

    def test_the_id_goes_with_the_body(self):
        wheel = _wheel()
        set_wheel_id(wheel, sensor_id="A1", origin=IdOrigin.FACTORY, on=SEEN)
        end_piece(_now(wheel, "body"), reason=EndReason.SILENT, on=LATER)
        assert wheel.ids.get().until == LATER

    def test_refuses_a_day_on_which_it_was_still_good(self):
        body = _now(_wheel(), "body")
        Fitted.objects.filter(pk=body.pk).update(last_good_on=date(2025, 6, 1))
        body.refresh_from_db()
        with pytest.raises(ValidationError) as refusal:
            end_piece(body, reason=EndReason.SILENT, on=date(2025, 5, 1))
        assert refusal.value.messages == [
            "This sensor body was still there on 2025-06-01; it came off on that day or later."
        ]

    def test_refuses_to_end_twice(self):
        body = _now(_wheel(), "body")
        end_piece(body, reason=EndReason.SILENT, on=LATER)
        with pytest.raises(ValidationError) as refusal:
            end_piece(body, reason=EndReason.SILENT, on=LATER)
        assert refusal.value.messages == ["This sensor body came off on 2026-02-03 already."]


class TestMovePiece:
    def test_a_body_in_another_rim_keeps_its_age_and_its_id(self):
        wheel = _wheel()
        spare = make_wheels(wheel.vehicle, count=1)[0]
        set_wheel_id(wheel, sensor_id="A1", origin=IdOrigin.FACTORY, on=SEEN)
        moved = move_piece(_now(wheel, "body"), to=spare, on=LATER)[0]
        before = wheel.fitted.get(kind="body")
        assert moved.continues == before
        assert (before.since, before.end_reason) == (date(2019, 5, 1), EndReason.MOVED)
        assert spare.ids.get(until=None).sensor_id == "A1"
        assert not wheel.ids.filter(until=None).exists()

    def test_a_one_piece_sensor_moves_whole(self):
        wheel = _wheel(construction="one_piece")
        spare = make_wheels(wheel.vehicle, count=1)[0]
        moved = move_piece(_now(wheel, "body"), to=spare, on=LATER)
        assert [piece.kind for piece in moved] == ["body", "stem"]
        assert moved[0].joined_with == moved[1]


class TestFitPart:
    def test_a_new_body_is_a_new_life_even_with_the_old_id(self):
        wheel = _wheel()
        set_wheel_id(wheel, sensor_id="A1", origin=IdOrigin.FACTORY, on=SEEN)
        fit_part(
            wheel,
            part=make_part("body"),
            on=LATER,
            reasons={"body": EndReason.SILENT},
            sensor_id="A1",
            id_origin=IdOrigin.COPIED,
        )
        body = _now(wheel, "body")
        assert (body.since, body.continues) == (LATER, None)
        assert list(wheel.ids.values_list("sensor_id", "origin", "since")) == [
            ("A1", "factory", SEEN),
            ("A1", "copied", LATER),
        ]

    def test_a_piece_without_a_reason_was_good(self):
        wheel = _wheel()
        fit_part(
            wheel,
            part=make_part("assembly", mounting="clamp_in"),
            on=LATER,
            reasons={"body": EndReason.SILENT},
        )
        ended = wheel.fitted.exclude(ended_on=None).values_list("kind", "end_reason")
        assert dict(ended) == {
            "body": EndReason.SILENT,
            "stem": EndReason.REPLACED_GOOD,
            "seal": EndReason.REPLACED_GOOD,
        }

    def test_the_half_of_a_one_piece_that_failed_is_the_one_with_the_reason(self):
        wheel = _wheel(construction="one_piece", mounting="snap_in")
        part = make_part("assembly", mounting="snap_in", construction="one_piece")
        fit_part(wheel, part=part, on=LATER, reasons={"stem": EndReason.PERISHED})
        ended = wheel.fitted.exclude(ended_on=None).values_list("kind", "end_reason")
        assert dict(ended) == {"body": EndReason.REPLACED_GOOD, "stem": EndReason.PERISHED}
        assert _now(wheel, "body").joined_with == _now(wheel, "stem")

    def test_a_plain_valve_takes_the_place_of_the_whole_sensor(self):
        wheel = _wheel(mounting="snap_in")
        fit_part(
            wheel,
            part=make_part("plain_valve", mounting="snap_in"),
            on=LATER,
            reasons={"body": EndReason.SILENT},
        )
        assert {p.kind for p in wheel.fitted.filter(ended_on=None)} == {"stem"}
        assert wheel.fitted.get(kind="body").end_reason == EndReason.SILENT
