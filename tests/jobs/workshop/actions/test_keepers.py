import pytest
from django.core.exceptions import ValidationError

from inventory.shop.models import Change
from jobs.models import Keeper
from jobs.workshop.actions.jobs import record_approval, record_declined
from jobs.workshop.actions.keepers import forget_keeper, name_keeper, register_keeper
from tests.make import make_job, make_keeper, make_user, make_vehicle

pytestmark = pytest.mark.django_db


class TestNameKeeper:
    def test_a_correction_holds_for_every_vehicle_of_that_keeper(self):
        keeper = make_keeper(name="Ada Fisher", phone="555 0117")
        first, second = make_vehicle(keeper=keeper), make_vehicle(keeper=keeper)
        name_keeper(first, name="Ada Fischer", phone="555 0117")
        assert Keeper.objects.get(vehicles=second).name == "Ada Fischer"

    def test_a_vehicle_that_changed_hands_leaves_its_keeper_the_others(self):
        keeper = make_keeper(name="Ada Fisher", phone="555 0117")
        sold, kept = make_vehicle(keeper=keeper), make_vehicle(keeper=keeper)
        for _ in range(2):
            name_keeper(sold, name="Bo Lind", phone="", somebody_else=True)
        assert Keeper.objects.get(vehicles=sold).name == "Bo Lind"
        assert Keeper.objects.get(vehicles=kept).name == "Ada Fisher"
        assert Keeper.objects.count() == 2

    def test_nobody_brings_it_once_the_name_is_gone(self):
        vehicle = make_vehicle(keeper=make_keeper(name="Ada Fisher"))
        assert name_keeper(vehicle, name=" ", phone="") is None
        vehicle.refresh_from_db()
        assert vehicle.keeper is None

    def test_who_was_forgotten_does_not_come_back_by_a_name_typed_again(self):
        keeper = forget_keeper(make_keeper(name="Ada Fisher"), by=make_user("owner"))
        vehicle = make_vehicle(keeper=keeper)
        named = name_keeper(vehicle, name="Ada Fisher", phone="")
        assert named != keeper
        assert Keeper.objects.get(pk=keeper.pk).name == ""

    def test_refuses_a_phone_without_a_name(self):
        with pytest.raises(ValidationError) as refusal:
            name_keeper(make_vehicle(), name="", phone="555 0117")
        assert refusal.value.message_dict == {
            "keeper_name": ["Say whose phone it is, or leave the phone empty."]
        }


class TestForgetKeeper:
    def test_erases_name_and_phone_and_keeps_the_history(self):
        keeper = register_keeper(name="Ada Fisher", phone="555 0117")
        job = make_job(make_vehicle(keeper=keeper))
        approval = record_approval(job, lines="two bodies", who="Ada Fisher", how="phone")
        declined = record_declined(job, action="stem", why="in autumn", who="Ada Fisher")
        forget_keeper(keeper, by=make_user("owner"))
        for record in (keeper, approval, declined):
            record.refresh_from_db()
        assert (keeper.name, keeper.phone, str(keeper)) == ("", "", "name erased")
        assert (approval.who, declined.who) == ("erased", "erased")
        assert job.vehicle.jobs.count() == 1

    def test_the_log_says_that_it_was_done_and_not_who_it_was(self):
        keeper = make_keeper(name="Ada Fisher", phone="555 0117")
        forget_keeper(keeper, by=make_user("owner"))
        change = Change.objects.of(keeper).get()
        assert change.words == f"keeper {keeper.key} forgotten"
        assert "Ada" not in f"{change.words}{change.before}{change.after}"

    def test_a_second_time_changes_nothing(self):
        keeper, owner = make_keeper(), make_user("owner")
        first = forget_keeper(keeper, by=owner).erased_at
        assert forget_keeper(keeper, by=owner).erased_at == first
        assert Change.objects.of(keeper).count() == 1
