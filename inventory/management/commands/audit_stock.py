"""Proves the stock from the movements alone, and says what does not agree."""

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from inventory.ledger.audit import audit
from inventory.ledger.models import Movement


class Command(BaseCommand):
    help = "Prove shelves, lots, holds and asks from the movements; exit code 1 on any fault."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="the faults as a list of objects")

    def handle(self, *args: Any, **options: Any) -> None:
        faults = audit()
        if options["json"]:
            self.stdout.write(json.dumps([asdict(fault) for fault in faults], ensure_ascii=False))
        else:
            self.stdout.write("\n".join(map(str, faults)) or self._clean())
        if faults:
            sys.exit(1)

    def _clean(self) -> str:
        return f"The stock agrees with all {Movement.objects.count()} movements."
