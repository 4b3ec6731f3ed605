"""Which lines of a van's par list are sent."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.action_form import PostingForm
from inventory.reorder.actions.vans import Wanted

WORD = re.compile(r"([0-9]{1,18})-([0-9]{1,18})-([1-9][0-9]{0,6})", re.ASCII)


class FillVanForm(PostingForm):
    """The pieces are those that were shown: sent twice, they are still the same transfers."""

    key = forms.CharField(widget=forms.HiddenInput, max_length=24)

    def wanted(self) -> list[Wanted]:
        numbers: list[Any] = [
            match.groups() for match in map(WORD.fullmatch, self.words()) if match
        ]
        return [
            Wanted(part_id=int(part), source_id=int(source), pieces=int(pieces))
            for part, source, pieces in numbers
        ]

    def words(self) -> list[str]:
        return self.data.getlist("send") if hasattr(self.data, "getlist") else []

    def clean(self) -> dict[str, Any] | None:
        if not self.wanted():
            raise ValidationError("Nothing is ticked; tick what to send to the van.")
        return super().clean()
