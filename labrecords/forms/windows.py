"""Forms of a window study: what was seen of a setting, a limit proposed."""

from django import forms

from .fields import Choice, Number, Plain, Words


class EvidenceForm(Plain):
    """What was seen of a setting's seals besides their force."""

    setting = Choice(label="Setting", empty="Choose a setting")
    kind = Choice(
        label="Looked at",
        choices=[
            ("visual", "by eye: transfer, channels, wrinkles, burns"),
            ("integrity", "integrity: a leak test of the pack"),
            ("opening", "opened by hand: clean, and not too hard"),
        ],
    )
    passed = Choice(label="Outcome", choices=[("", "Choose one"), ("yes", "acceptable"), ("no", "not")])
    words = Words(label="What was done and seen", help_text="How many packs, by which method, in which report.")


class ProposalForm(Plain):
    """A process limit, as the window supports it."""

    side = Choice(label="Limit", choices=[("lower", "at least"), ("upper", "at most")])
    margin_percent = Number(
        label="Margin", unit="%", at_least=0, help_text="Taken off the bound, or put onto an upper one."
    )
    rationale = Words(
        label="Why this limit", help_text="Why these settings are the window, and why this margin is enough."
    )
    supersedes = Choice(label="Next version of", empty="a limit of its own", required=False)

    def clean_margin_percent(self):
        margin = self.cleaned_data["margin_percent"]
        if margin >= 100:
            raise forms.ValidationError("A margin of 100 % or more leaves nothing of the bound.")
        return margin
