"""The bridge between a form and an action: what the action refuses becomes a form error."""

import secrets
from collections.abc import Callable
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import ValidationError

T = TypeVar("T")


def new_key() -> str:
    return secrets.token_hex(12)


class ActionForm(forms.Form):
    def submit(self, action: Callable[..., T], /, *args: Any, **kwargs: Any) -> T | None:
        """Run the action; None, with the form's errors filled, when it refuses."""
        try:
            return action(*args, **kwargs)
        except ValidationError as refusal:
            self._take(refusal)
            return None

    def _take(self, refusal: ValidationError) -> None:
        named = getattr(refusal, "error_dict", {})
        if named and set(named) <= set(self.fields):
            self.add_error(None, refusal)
        else:
            self.add_error(None, refusal.messages)


class PostingForm(ActionForm):
    """A form whose result is posted once, however often it is sent: the server makes its key."""

    key = forms.CharField(widget=forms.HiddenInput, max_length=64, initial=new_key)
