"""One plan at a time: what the vehicles lead us to expect, then the plan that reads it.

Asked for by a run and by the commands; two at once would each write down what is expected.
"""

from datetime import date
from typing import Any

from django.db import transaction

from inventory.reorder.actions.plan import run_plan
from inventory.reorder.models import PlanRun
from inventory.shop.models import Site
from jobs.review.expected import write_expected


@transaction.atomic
def plan_alone(*, as_of: date, by: Any) -> PlanRun:
    """Plan all parts at all sites; who plans at the same moment waits for the first to end."""
    first = Site.objects.selling().values("pk")[:1]
    list(Site.objects.select_for_update(no_key=True).filter(pk__in=first))
    write_expected(as_of)
    return run_plan(as_of=as_of, by=by)
