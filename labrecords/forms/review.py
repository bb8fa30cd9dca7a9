"""Forms of review and release, of deviations, amendments and withdrawals."""

from django import forms

from .fields import Choice, Plain, Words
from .second_factors import Signed


class ReviewForm(Plain):
    """Accept or return, with words."""

    verdict = Choice(
        label="Verdict", choices=[("accept", "Accept"), ("return", "Return to testing")], widget=forms.RadioSelect
    )
    words = Words(label="What was checked, or what must be mended")
    seen = forms.CharField(widget=forms.HiddenInput)


class ReleaseForm(Signed):
    """The signatory shows who they are again."""

    seen = forms.CharField(widget=forms.HiddenInput)


class DecisionForm(Plain):
    """Whether a result kept under a deviation counts."""

    counts = Choice(
        label="Decision",
        choices=[("yes", "The result counts"), ("no", "The result does not count")],
        widget=forms.RadioSelect,
    )
    words = Words(label="Reason")


class AmendForm(Signed):
    """Why the study goes on under another set-up; signed."""

    reason = Words(label="Why the study goes on under another set-up")


class WithdrawForm(Signed):
    """Why a report holds no longer; signed."""

    reason = Words(label="Why it holds no longer", help_text="Its readers are shown this.")


class ReasonForm(Plain):
    """A reason."""

    reason = Words(label="Reason")
