"""Forms for people: who joins, what they may do, what they are authorised for."""

from django import forms

from labrecords.rules import authority
from labrecords.rules.series import TECHNIQUE_WORDS

from .fields import Choice, Day, Plain, Text, Words


class Roles(forms.MultipleChoiceField):
    """One role or several."""

    default_error_messages = {"required": "Choose at least one role.", "invalid_choice": "Choose roles of the list."}

    def __init__(self, **kwargs):
        choices = [(role, role) for role in authority.ROLES]
        super().__init__(choices=choices, widget=forms.CheckboxSelectMultiple, **kwargs)


class PersonForm(Plain):
    """Somebody who joins. The password is given to them by hand, and only for the start."""

    username = Text(label="User name", help_text="Never used again for anybody else.", max_length=80)
    name = Text(label="Name, as printed beside a signature", max_length=120)
    email = forms.EmailField(label="E-mail", required=False)
    roles = Roles(label="Roles")
    client = Choice(label="Client", empty="of the laboratory", required=False, help_text="Only for the role client.")
    password = Text(
        label="First password",
        strip=False,
        help_text="At least 15 characters.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self):
        of_client = authority.CLIENT in self.cleaned_data.get("roles", [])
        if of_client != bool(self.cleaned_data.get("client")):
            self.add_error("client", "A person with the role client belongs to a client, and nobody else does.")
        return self.cleaned_data


class RolesForm(Plain):
    """The roles a person has from now on."""

    roles = Roles(label="Roles")


class AuthorisationForm(Plain):
    """That a person may record results with a technique of a method version."""

    method_version = Choice(label="Method version", empty="Choose a method version")
    technique = Choice(label="Technique", choices=list(TECHNIQUE_WORDS.items()))
    from_on = Day(label="From")
    until_on = Day(label="Until", help_text="The last day on which it holds.")
    evidence_kind = Choice(
        label="Kind of evidence",
        choices=[
            ("comparison", "Comparison with an authorised person"),
            ("validation", "Part in a validation study"),
            ("observed", "Observed runs"),
            ("training", "Training and a written test"),
        ],
    )
    evidence = Words(
        label="Evidence", help_text="What showed that this person gets the same number as the others.", rows=2
    )

    def clean(self):
        given = self.cleaned_data
        if given.get("from_on") and given.get("until_on") and given["until_on"] < given["from_on"]:
            self.add_error("until_on", "The last day lies before the first. Check both.")
        return given


class WithdrawalForm(Plain):
    """The end of an authorisation."""

    from_on = Day(label="First day on which it no longer holds")
    reason = Words(label="Reason", rows=2)


class TokenForm(Plain):
    """A token for the programming interface."""

    label = Text(label="Where it is used", help_text="For example: computer of bench tester 1.")
