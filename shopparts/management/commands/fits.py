"""What fits a vehicle, from the command line: the same answer as the fit page gives."""

import json
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser

from inventory.catalog.fit import Findings
from inventory.shop.models import ShopSettings, Site
from inventory.shop.units import whole_kpa
from shopparts.fit_report import fit_report


class Command(BaseCommand):
    help = "Say which parts fit a vehicle, where they lie, and why others are left out."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "words",
            nargs="+",
            help="year, make and model, such as: 14 merow van; or the VIN, plate or unit number "
            "of a vehicle served here, or the id of one of its sensors",
        )
        parser.add_argument(
            "--answer",
            action="append",
            default=[],
            metavar="QUESTION=CHOICE",
            help="an answer to a question this command asked; “?” for not known",
        )
        parser.add_argument(
            "--pressure-set", type=float, help="the pressure really set, in the shop's unit"
        )
        parser.add_argument("--site", help="short code of the site whose shelves count as here")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        answers = dict(self._pair(text) for text in options["answer"])
        findings = Findings(pressure_set_kpa=self._kpa(options["pressure_set"]))
        try:
            report = fit_report(
                " ".join(options["words"]),
                answers=answers,
                findings=findings,
                site=self._site(options["site"]),
            )
        except ValidationError as fault:
            raise CommandError(" ".join(fault.messages)) from None
        if options["json"]:
            self.stdout.write(json.dumps(report, ensure_ascii=False, indent=2))
        else:
            self._tell(report)

    def _pair(self, text: str) -> tuple[str, str]:
        question, equals, choice = text.partition("=")
        if not equals:
            raise CommandError(f"“{text}” is no answer; write it as QUESTION=CHOICE.")
        return question, choice

    def _kpa(self, pressure: float | None) -> int | None:
        if pressure is None:
            return None
        return whole_kpa(pressure, ShopSettings.load().pressure_unit)

    def _site(self, code: str | None) -> Site:
        sites = Site.objects.selling()
        site = sites.filter(code__iexact=code).first() if code else sites.first()
        if site is None:
            known = ", ".join(sites.values_list("code", flat=True)) or "none yet"
            raise CommandError(f"There is no site “{code or ''}”; the sites are: {known}.")
        return site

    def _tell(self, report: dict[str, Any]) -> None:
        if question := report["question"]:
            self.stdout.write(question["words"])
            for value, words in question["choices"].items():
                self.stdout.write(f"  --answer '{question['trait']}={value}'   {words}")
        for fit in report["fits"]:
            unchecked = " (a draft that nobody has checked)" if fit["not_checked"] else ""
            self.stdout.write(f"{'; '.join(fit['names'])}: {fit['title']}{unchecked}")
            for part in fit["parts"]:
                where = f", bin {', '.join(part['bins'])}" if part["bins"] else ""
                self.stdout.write(
                    f"  {part['role']:<12} {part['number']:<16} {part['here']} here{where}"
                )
                for warning in part["warnings"]:
                    self.stdout.write(f"      {warning}")
            for part in fit["left_out"]:
                self.stdout.write(f"  left out     {part['number']:<16} {part['reason']}")
