"""What a worker does beside its tasks: find dead ones, ask for what is due, let old runs go.

Every worker does all of it. A key per day or hour makes sure that what is due is asked for once.
"""

from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils import timezone

from inventory.reorder.models import PlanRun
from inventory.shop.models import Site
from shopparts.backup import EVERY, backups
from shopparts.runs import actions
from shopparts.runs.models import RunKind

PLANNED_FROM_HOUR = 4
"""By the clock of the first site: before anybody orders, after the last work of the day."""


def take_care(now: datetime | None = None) -> None:
    now = now or timezone.now()
    actions.reap()
    ask_for_backup(now)
    ask_for_plan(now)
    actions.tidy()


def ask_for_backup(now: datetime) -> None:
    """One a day; where it fails, again each hour."""
    newest = next(iter(backups()), None)
    if newest is None or now - newest.made_at >= EVERY:
        actions.ask_for(RunKind.BACKUP, key=f"backup-{now:%Y-%m-%d-%H}", by=None)


def ask_for_plan(now: datetime) -> None:
    """One a day, from the early morning on, unless somebody has planned that day already."""
    site = Site.objects.selling().first()
    if site is None or now.astimezone(ZoneInfo(site.zone)).hour < PLANNED_FROM_HOUR:
        return
    today = site.day_of(now)
    if not PlanRun.objects.finished().filter(as_of=today).exists():
        actions.ask_for(RunKind.PLAN, key=f"plan-{today}", by=None)
