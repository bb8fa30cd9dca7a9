"""Forms that ask for a second factor, and those by which one is added or ended."""

from django import forms
from django.core.exceptions import ValidationError

from .fields import Password, Plain, Text, Words

ANSWER_LIMIT = 20_000  # characters; a passkey's answer has some hundreds, with an attestation some thousands


class OnceInput(forms.TextInput):
    """A code is not shown again: it is used, or wrong."""

    def format_value(self, value):  # noqa: ARG002  the name is Django's
        return None


class OneTimeCode(Text):
    """A code that holds for a moment."""

    def __init__(self, *, digits: bool = True, **kwargs):
        attrs = {"autocomplete": "one-time-code", "spellcheck": "false", "autocapitalize": "none"}
        if digits:
            attrs["inputmode"] = "numeric"
        super().__init__(max_length=40, widget=OnceInput(attrs=attrs), **kwargs)


class PasskeyInput(forms.HiddenInput):
    """Filled by the page's script when the form is sent, each time anew."""

    def __init__(self, *, ceremony: str):
        super().__init__(attrs={"data-passkey": ceremony})

    def format_value(self, value):  # noqa: ARG002  the name is Django's
        return None


class PasskeyAnswer(forms.CharField):
    """What the browser says of a passkey."""

    def __init__(self, *, ceremony: str = "get"):
        super().__init__(
            required=False, max_length=ANSWER_LIMIT, label="Passkey", widget=PasskeyInput(ceremony=ceremony)
        )


class Signed(Plain):
    """A form that is signed: with the password and, for who has one, a second factor.

    `holds` says which kinds the person has; see `queries.second_factors.Held`.
    """

    password = Password(label="Your password, again")
    one_time_code = OneTimeCode(label="Code of your authenticator app")
    passkey_answer = PasskeyAnswer()
    field_order = ["reason"]

    def __init__(self, *args, holds, **kwargs):
        super().__init__(*args, **kwargs)
        self.passkey = holds.passkey
        if not holds.app:
            del self.fields["one_time_code"]
        if not holds.passkey:
            del self.fields["passkey_answer"]
        elif holds.app:
            self.fields["one_time_code"].required = False
            self.fields["one_time_code"].help_text = "Or leave it empty, and be asked for your passkey."


class SecondStepForm(Plain):
    """The second step of signing in: a code of the app, a recovery code, or a passkey."""

    one_time_code = OneTimeCode(digits=False, required=False)
    passkey_answer = PasskeyAnswer()

    def __init__(self, *args, holds, **kwargs):
        super().__init__(*args, **kwargs)
        self.passkey = holds.passkey
        code = self.fields["one_time_code"]
        code.label = "Code of your authenticator app, or a recovery code" if holds.app else "Recovery code"
        code.required = not holds.passkey
        if holds.passkey:
            code.help_text = "Leave it empty, press Sign in, and be asked for your passkey."
        else:
            del self.fields["passkey_answer"]

    def clean(self):
        if self.passkey and not any(self.cleaned_data.get(name) for name in ("one_time_code", "passkey_answer")):
            self.add_error("one_time_code", ValidationError("Use your passkey, or type a code."))
        return self.cleaned_data


class AppForm(Plain):
    """An authenticator app: its name, a first code, and the password."""

    name = Text(label="Your name for it", max_length=60, help_text="For example: my telephone.")
    one_time_code = OneTimeCode(label="Code that the app shows now")
    password = Password(label="Your password, again")


class PasskeyForm(Plain):
    """A passkey: its name and the password; the browser makes it when the form is sent."""

    name = Text(label="Your name for it", max_length=60, help_text="For example: key on my key ring.")
    password = Password(label="Your password, again")
    passkey_answer = PasskeyAnswer(ceremony="create")
    passkey = True

    def clean(self):
        if not self.errors and not self.cleaned_data.get("passkey_answer"):
            raise ValidationError("The browser made no passkey. Adding one needs its scripts switched on.")
        return self.cleaned_data


class PasswordForm(Plain):
    """The password, before something about one's own account changes."""

    password = Password(label="Your password, again")


class EndForm(Plain):
    """Why a person's second factor ends."""

    reason = Words(label="Reason", help_text="For example: the telephone was lost.", rows=2)
