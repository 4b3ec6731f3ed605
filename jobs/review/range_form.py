"""What a person asks of the range of sensors."""

from django import forms

USUAL_PERCENT = 95


class RangeForm(forms.Form):
    percent = forms.IntegerField(
        label="Cover so many of the vehicles",
        min_value=1,
        max_value=100,
        initial=USUAL_PERCENT,
        required=False,
    )

    @property
    def share(self) -> float:
        """As typed where that is a share, else as the form begins."""
        typed: int | None = self.cleaned_data.get("percent") if self.is_valid() else None
        return (typed or USUAL_PERCENT) / 100
