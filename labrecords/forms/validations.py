"""Forms of a validation study: its part of a plan, and the manager's decision."""

from django import forms

from labrecords.rules import validation_plan

from .fields import NEEDED, Choice, Day, Number, Plain, Words

CRITERIA = {kind: kind.replace(" ", "_") for kind in validation_plan.KINDS}
LABELS = {
    validation_plan.REPEATABILITY: "Repeatability SD, at most",
    validation_plan.INTERMEDIATE: "Intermediate precision SD, at most",
    validation_plan.LIMIT_SHARE: "Share of the way to the limit, at most",
    validation_plan.MODES: "Failure modes alike, at least",
}
HELP = {
    validation_plan.REPEATABILITY: "Of the mean. It holds the strips' own scatter too.",
    validation_plan.INTERMEDIATE: "Of the mean, over all people who agree.",
    validation_plan.LIMIT_SHARE: "Three intermediate precision SDs, of the way from the mean to the nearest limit.",
    validation_plan.MODES: "Of each person's strips, against the others'.",
}


class People(forms.MultipleChoiceField):
    """Some people of the laboratory, or nobody."""

    default_error_messages = {"required": "Choose at least one person.", "invalid_choice": "Choose people of the list."}

    def __init__(self, **kwargs):
        super().__init__(widget=forms.CheckboxSelectMultiple, required=False, **kwargs)

    def offer(self, people) -> None:
        """Set who may be chosen: pairs of user name and name."""
        self.choices = people


class ValidationForm(Plain):
    """What a validation study says besides its groups; left blank by any other study."""

    group = People(label="Who pulls")
    joins = People(label="Who is to join them", help_text="Nobody, where the method itself is validated.")
    design = Choice(label="How the strips are dealt", required=False, choices=list(validation_plan.DESIGNS.items()))
    margin = Number(
        label="Margin between people",
        required=False,
        above=0,
        help_text="A difference from the others that does not matter, in the unit of strength.",
    )
    reason = Words(label="Why this margin and these criteria", required=False, rows=2)
    repeatability, intermediate, limit_share, modes = (
        Number(label=LABELS[kind], unit="%", required=False, above=0, help_text=HELP[kind]) for kind in CRITERIA
    )

    def clean(self):
        given = self.cleaned_data
        if not self.is_filled:
            return given
        for name in ("group", "design", "margin", "reason"):
            if name not in self.errors and not given.get(name):
                self.add_error(name, NEEDED if name != "group" else "Choose at least one person.")
        if set(given.get("group", [])) & set(given.get("joins", [])):
            self.add_error("joins", "Nobody joins a group to which they belong: choose each person once.")
        return given

    @property
    def is_filled(self) -> bool:
        """Whether anything was filled in, so that this is a validation study."""
        return any(self.cleaned_data.get(name) for name in ("group", "joins", "margin", "reason", *CRITERIA.values()))

    def criteria(self) -> dict:
        """The criteria that were set, by kind, in per cent."""
        given = self.cleaned_data
        return {kind: given[name] for kind, name in CRITERIA.items() if given.get(name) is not None}


class DecisionForm(Plain):
    """The manager's word on a validation study, and whom it authorises."""

    passed = Choice(label="Decision", choices=[("", "Choose one"), ("yes", "Passed"), ("no", "Not passed")])
    authorised = People(label="Authorise", help_text="Only people who were shown to agree.")
    from_on = Day(label="From", required=False)
    until_on = Day(label="Until", required=False, help_text="The last day on which it holds.")
    words = Words(label="What was decided, and why")

    def clean(self):
        given = self.cleaned_data
        if not given.get("authorised"):
            return given
        for name in ("from_on", "until_on"):
            if name not in self.errors and not given.get(name):
                self.add_error(name, NEEDED)
        if given.get("from_on") and given.get("until_on") and given["until_on"] < given["from_on"]:
            self.add_error("until_on", "The last day lies before the first. Check both.")
        return given
