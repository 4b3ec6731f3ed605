"""Erase a keeper's name and phone on request; what was done to the vehicles stays."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db.models import Q

from inventory.catalog.codes import normalised
from jobs.workshop.actions.keepers import forget_keeper
from jobs.workshop.models import Keeper


class Command(BaseCommand):
    help = "Erase the name and phone of a keeper; the history of the vehicles stays."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("who", help="key of the keeper, or VIN or plate of a vehicle")
        parser.add_argument("--yes", action="store_true", help="erase without asking")

    def handle(self, *args: Any, **options: Any) -> None:
        keeper = self._keeper(options["who"])
        if keeper.erased_at is not None:
            self.stdout.write(f"Keeper {keeper.key} was forgotten on {keeper.erased_at:%Y-%m-%d}.")
            return
        if not options["yes"] and not self._confirmed(keeper):
            raise CommandError(f"Nothing was erased; keeper {keeper.key} stays as it is.")
        forget_keeper(keeper, by=None)
        self.stdout.write(
            f"Name and phone of keeper {keeper.key} are erased. Uploads and results of runs may "
            "hold them for 14 days, backups made before today until they rotate, and saved "
            "workbooks as long as they are kept: delete those too."
        )

    def _keeper(self, who: str) -> Keeper:
        key = normalised(who)
        named = Q(key__iexact=who.strip())
        if key:
            named |= Q(vehicles__vin=key) | Q(vehicles__plate_key=key)
        found = list(Keeper.objects.filter(named).distinct()[:2])
        if not found:
            raise CommandError(
                f"No keeper has the key “{who}”, nor a vehicle of that VIN or plate; "
                "look the vehicle up and try its plate."
            )
        if len(found) > 1:
            raise CommandError(f"“{who}” names more than one keeper; give the key of one.")
        return found[0]

    def _confirmed(self, keeper: Keeper) -> bool:
        vehicles = ", ".join(map(str, keeper.vehicles.all())) or "no vehicle"
        answer = input(f"Erase the name and phone of keeper {keeper.key} ({vehicles})? [yes/no] ")
        return answer.strip().lower() == "yes"
