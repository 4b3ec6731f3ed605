"""How many vehicles of each kind a site sees."""

from datetime import date, timedelta

from django.db.models import Count

from inventory.shop.models import Site
from jobs.workshop.models import Job

YEARS_BACK = 3


def vehicles_by_application(site: Site, *, today: date) -> dict[int, int]:
    """Vehicles that came in the last years, once each; those not listed are left out."""
    since = today - timedelta(days=365 * YEARS_BACK)
    jobs = Job.objects.filter(site=site, opened_at__date__gte=since)
    found = (
        jobs.exclude(vehicle__application=None)
        .order_by("vehicle__application")
        .values_list("vehicle__application_id")
        .annotate(vehicles=Count("vehicle", distinct=True))
    )
    return {application: count for application, count in found if application is not None}
