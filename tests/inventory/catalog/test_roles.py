import pytest

from inventory.catalog.inputs import possible_fits
from inventory.catalog.roles import roles_missing
from tests.make import make_application, make_fitment, make_part

pytestmark = pytest.mark.django_db


def missing(application):
    (possible,) = possible_fits([application])
    return roles_missing(possible)


class TestRolesMissing:
    @pytest.mark.parametrize(
        ("fields", "roles"),
        [
            ({"mounting": "clamp_in"}, ["sensor", "service kit"]),
            ({"mounting": "snap_in"}, ["sensor", "stem"]),
            ({"mounting": "strap"}, ["sensor"]),
            ({"mounting": ""}, ["sensor"]),
            ({"system": "indirect", "band": "", "mounting": ""}, ["plain valve"]),
        ],
    )
    def test_what_a_vehicle_should_have_a_part_for(self, fields, roles):
        assert missing(make_application(**fields)) == roles

    def test_a_listed_part_fills_its_role(self):
        application = make_application()
        for kind in ("body", "kit"):
            make_fitment(application, make_part(kind))
        assert missing(application) == []

    def test_a_part_that_may_not_be_fitted_fills_nothing(self):
        application = make_application()
        make_fitment(application, make_part(band_315=True, band_433=False))
        make_fitment(application, make_part("kit", hole="453"))
        assert missing(application) == ["sensor"]
