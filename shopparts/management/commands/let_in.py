"""The way back in from the terminal, for somebody whom no owner can help."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from shopparts.models import User
from shopparts.people import join_path


class Command(BaseCommand):
    help = "Print the address at which a person chooses a new password; it works once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the name they log in with")
        parser.add_argument(
            "--site", default="http://127.0.0.1:8000", help="where the site is served"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        person = User.objects.filter(username=options["name"]).first()
        if person is None or not person.is_active:
            names = ", ".join(
                User.objects.filter(is_active=True).values_list("username", flat=True)
            )
            raise CommandError(
                f"Nobody who may sign in is called “{options['name']}”; "
                f"choose one of: {names or 'nobody yet'}."
            )
        site = options["site"].rstrip("/")
        self.stdout.write(f"{person} chooses a new password at {site}{join_path(person)}")
