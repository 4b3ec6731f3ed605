"""What to do on the wheels of a job, as its page says it."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.review.advised import WheelAdvised, advised
from jobs.review.options import customer_options
from jobs.review.siblings import siblings_advised
from jobs.workshop.models import Job


class Command(BaseCommand):
    help = "Say what to replace on each wheel of a job, and why."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("job", help="the job's number")
        parser.add_argument("--json", action="store_true", help="print JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        job = Job.objects.for_list().filter(key=options["job"]).first()
        if job is None:
            raise CommandError(f"There is no job “{options['job']}”; look at the list of jobs.")
        found = advised(job)
        if options["json"]:
            siblings = siblings_advised(found)
            answer = {
                "job": job.key,
                "wheels": [one.as_json() for one in found.wheels],
                "siblings": [one.as_json() for one in siblings],
                "options": [one.as_json() for one in customer_options(job, found, siblings)],
            }
            self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False))
            return
        if not found.wheels:
            self.stdout.write("No wheel of this vehicle carries a sensor we know of.")
        for one in found.wheels:
            self.stdout.write("\n".join(_lines(one)) + "\n")


def _lines(one: WheelAdvised) -> list[str]:
    sure = f"  {one.sure}" if one.sure else ""
    said = [f"{one.case.now.where}: {one.words}", f"  {one.because}", sure]
    return [line for line in said if line] + [f"  ! {words}" for words in one.cautions]
