"""What the jobs of some days earned, by what was done."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from inventory.shop.amounts import amount_text
from inventory.shop.models import ShopSettings, Site
from jobs.review.groups import GROUPS, grouped
from jobs.review.period import DAYS_AT_FIRST, PeriodEarned, Span, moved, periods_earned


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"“{text}” is not a day; write it as 2026-03-09.") from None


def _today(site: Site | None) -> date:
    """By the clock of the site, or of that site where it is latest; never by the server's."""
    sites = [site] if site else Site.objects.selling()
    return max((one.today() for one in sites), default=timezone.now().date())


class Command(BaseCommand):
    help = "Say what the jobs closed on some days earned, and what moved it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--first", help="first day, such as 2026-03-01")
        parser.add_argument("--last", help="last day; today unless given")
        parser.add_argument("--site", help="short code of one site")
        parser.add_argument("--by", choices=GROUPS, default="work", help="how to group")
        parser.add_argument("--jobs", action="store_true", help="with every job, in JSON")
        parser.add_argument("--json", action="store_true", help="print JSON, amounts in cents")

    def handle(self, *args: Any, **options: Any) -> None:
        site = self._site(options["site"])
        last = _day(options["last"]) if options["last"] else _today(site)
        days = timedelta(days=DAYS_AT_FIRST - 1)
        first = _day(options["first"]) if options["first"] else last - days
        if first > last:
            raise CommandError(f"{first} comes after {last}; swap --first and --last.")
        span = Span(first=first, last=last)
        before, now = periods_earned(span.before, span, site=site)
        if options["json"]:
            answer = as_json(now, before, options["by"], with_jobs=options["jobs"])
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
        else:
            self._print(now, options["by"])

    def _site(self, code: str | None) -> Site | None:
        if not code:
            return None
        site = Site.objects.filter(code__iexact=code).first()
        if site is None:
            known = ", ".join(Site.objects.values_list("code", flat=True))
            raise CommandError(f"There is no site “{code}”; there are: {known}.")
        return site

    def _print(self, now: PeriodEarned, by: str) -> None:
        shop = ShopSettings.load()
        heads = (GROUPS[by].words, "Jobs", "Charged", "Cost", "Margin")
        self.stdout.write("{:<34}{:>6}{:>14}{:>14}{:>14}".format(*heads))
        for group in grouped(now.jobs, by):
            cells = (group.own.price_cents, group.own.cost_cents, group.margin_cents)
            amounts = "".join(f"{amount_text(cents, shop):>14}" for cents in cells)
            self.stdout.write(f"{group.name:<34}{group.jobs:>6}{amounts}")
        self.stdout.write(
            f"Written off {amount_text(now.write_offs_cents, shop)}; "
            f"service data {amount_text(now.service_data.cents, shop)}; "
            f"left {amount_text(now.margin_cents, shop)} {shop.currency}."
        )


def as_json(now: PeriodEarned, before: PeriodEarned, by: str, *, with_jobs: bool) -> dict[str, Any]:
    found = moved(before, now)
    answer: dict[str, Any] = {
        "first": now.span.first.isoformat(),
        "last": now.span.last.isoformat(),
        "jobs": len(now.jobs),
        "price_cents": now.price_cents,
        "margin_cents": now.margin_cents,
        "write_offs_cents": now.write_offs_cents,
        "service_data": asdict(now.service_data) | {"a_job_cents": now.service_data.a_job_cents},
        "groups": [
            {"name": group.name, "jobs": group.jobs, **asdict(group.own)}
            | {"comebacks_cents": group.comebacks_cents, "margin_cents": group.margin_cents}
            for group in grouped(now.jobs, by)
        ],
        "moved": {str(cause): cents for cause, cents in found.bars.items()},
        "before_margin_cents": before.margin_cents,
    }
    if with_jobs:
        answer["each"] = [
            {"job": one.job.key, "work": one.work, **asdict(one.own)}
            | {"margin_cents": one.charged.margin_cents}
            for one in now.jobs
        ]
    return answer
