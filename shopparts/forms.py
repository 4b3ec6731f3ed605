"""The forms of the site itself."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm, UsernameField


class LogInForm(AuthenticationForm):
    username = UsernameField(label="Name", widget=forms.TextInput(attrs={"autofocus": True}))
    error_messages = {
        "invalid_login": "This name and password do not belong together. Check both; capitals "
        "count.",
        "inactive": "This name is no longer in use. Ask an owner to open it again.",
    }


class NewPasswordForm(PasswordChangeForm):
    error_messages = PasswordChangeForm.error_messages | {
        "password_incorrect": "This is not your present password. Type it once more.",
        "password_mismatch": "The two new passwords differ. Type both once more.",
    }
