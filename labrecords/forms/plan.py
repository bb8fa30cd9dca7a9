"""The forms of a plan: the question, the set-up, the groups and the limits."""

from decimal import Decimal

from django import forms

from labrecords.rules import bound_rule as bounds
from labrecords.rules import decision, protocol
from labrecords.rules.series import TECHNIQUE_WORDS

from .fields import NEEDED, Choice, Number, Plain, Text, Whole, Words

UNITS = [(unit, unit) for unit in ("lbf/in", "N/15mm", "N/25mm", "N/25.4mm", "N/mm", "gf/in")]
RATE_UNITS = [("in/min", "in/min"), ("mm/min", "mm/min")]


class StudyForm(Plain):
    """What is asked, of which client, and how the answer will be judged."""

    project = Choice(label="Project", empty="Choose a project")
    title = Text(label="Title")
    purpose = Words(label="Purpose", help_text="What the client wants to know.", rows=2)
    rationale = Words(
        label="Why this many packs and specimens",
        help_text="No standard fixes a number: say why this one answers the question.",
        rows=2,
    )
    coverage = Number(
        label="Coverage of the tolerance bound", help_text="Share of the seals that are to be stronger.", above=0
    )
    confidence = Number(label="Confidence of the tolerance bound", above=0)
    bound_rule = Choice(
        label="Tolerance bounds rest on",
        choices=[(key, key) for key in bounds.RULES],
        help_text="Chosen before the first result. By a test of shape: normal, else lognormal, else order.",
    )
    decision_rule = Choice(
        label="Decision rule",
        choices=[(key, key) for key in decision.RULES],
        help_text="Chosen before the first result.",
    )
    decision_chosen_by = Text(
        label="Decision rule chosen by", help_text="For example: the client, order of 3 May 2026."
    )

    agreement = Choice(
        label="Who agrees to the protocol",
        choices=list(protocol.AGREEMENTS.items()),
        initial=protocol.CLIENT,
        help_text="The protocol is this plan, frozen and signed.",
    )
    no_agreement_reason = Text(
        label="Why nobody else is asked", required=False, help_text="For example: a validation study of our own."
    )

    def clean(self):
        if self.cleaned_data.get("agreement") == protocol.NOBODY and not self.cleaned_data.get("no_agreement_reason"):
            self.add_error("no_agreement_reason", "Say why nobody else is asked.")
        if self.cleaned_data.get("agreement") == protocol.CLIENT:
            self.cleaned_data["no_agreement_reason"] = ""
        for name in ("coverage", "confidence"):
            share = self.cleaned_data.get(name)
            if share is not None and not 0 < share < 1:
                self.add_error(name, "This is a share between 0 and 1, such as 0.95.")
        return self.cleaned_data


class SetupForm(Plain):
    """Every parameter that may not change once the study is locked."""

    method_version = Choice(label="Method version", empty="Choose a method version")
    technique = Choice(label="Technique", choices=list(TECHNIQUE_WORDS.items()), widget=forms.RadioSelect)
    rate = Number(label="Grip separation rate", above=0)
    rate_unit = Choice(label="Unit of the rate", choices=RATE_UNITS)
    width_mm = Number(label="Specimen width", unit="mm", above=0)
    width_measured = forms.BooleanField(label="The width of each specimen is measured", required=False)
    grip_separation_mm = Number(label="Initial grip separation", unit="mm", above=0)
    seal_width_mm = Number(label="Seal width", unit="mm", above=0)
    fixed_web = Text(label="Web in the fixed grip or on the plate")
    moving_web = Text(label="Web in the moving grip")
    pulled_from = Choice(
        label="Pulled from", choices=[("outer", "the outer edge of the seal"), ("inner", "the inner edge of the seal")]
    )
    machine_direction = Choice(
        label="Machine direction", choices=[("along", "along the pull"), ("across", "across the pull")]
    )
    sampling_hz = Number(label="Sampling rate", unit="Hz", above=0)
    filter = Text(label="Filter of the force signal", help_text="Write none if there is none.")
    conditioning_hours = Number(label="Conditioning", unit="h", at_least=0)
    no_conditioning_reason = Words(label="Reason for less conditioning than the method asks", required=False, rows=2)
    unit = Choice(label="Unit of strength", choices=UNITS)
    decimals = Whole(label="Decimals recorded", at_least=0)
    expected_weak_n = Number(
        label="Weakest force expected", unit="N", above=0, help_text="Decides which load cell fits."
    )
    expected_strong_n = Number(label="Strongest force expected", unit="N", above=0)


class GroupForm(Plain):
    """One group: lot, arm, time point, position, and how many."""

    lot = Text(label="Lot")
    arm = Text(label="Arm", help_text="As made, sterilised, aged ...")
    time_point = Text(label="Time point", required=False)
    position = Text(label="Seal position")
    packs = Whole(label="Packs", above=0)
    specimens_per_pack = Whole(label="Specimens a pack", above=0)


class WindowForm(Plain):
    """What a window study says besides its settings; left blank by any other study."""

    sealer = Text(label="Sealer", required=False, help_text="The machine that seals, with its number.")
    openings = forms.BooleanField(label="Packs are peeled open by hand: look for an upper limit too", required=False)


class SettingForm(Plain):
    """One sealing setting and the lot sealed at it."""

    lot = Text(label="Lot", help_text="As in the groups above.")
    kind = Choice(
        label="Kind",
        choices=[("low", "low"), ("nominal", "nominal"), ("high", "high"), ("corner", "another corner")],
        initial="low",
    )
    label = Text(label="Called", help_text="Low, nominal, hot and short ...")
    temperature = Number(label="Temperature")
    temperature_unit = Choice(label="Its unit", choices=[("°C", "°C"), ("°F", "°F")], initial="°C")
    dwell_s = Number(label="Dwell", unit="s", above=0)
    pressure = Number(label="Pressure", required=False, above=0, help_text="Blank where the machine shows none.")
    pressure_unit = Choice(
        label="Unit of the pressure", choices=[("bar", "bar"), ("kPa", "kPa"), ("psi", "psi")], initial="bar"
    )

    def clean(self):
        if self.cleaned_data.get("pressure") is None:
            self.cleaned_data["pressure_unit"] = ""
        return self.cleaned_data


class LimitForm(Plain):
    """A limit with its origin. What its lists offer first is their initial value, so that a row left blank is blank."""

    kind = Choice(
        label="Kind",
        choices=[("requirement", "requirement"), ("process", "process limit"), ("alert", "alert limit")],
        initial="requirement",
    )
    side = Choice(label="Side", choices=[("lower", "at least"), ("upper", "at most")], initial="lower")
    value = Number(label="Value", above=0, required=False)
    unit = Choice(label="Unit", choices=UNITS, initial=UNITS[0][0])
    origin = Choice(
        label="Origin",
        choices=[
            ("drawing", "client's drawing or specification"),
            ("standard", "standard"),
            ("derived", "derived from a window study here"),
            ("unknown", "unknown"),
        ],
        initial="drawing",
    )
    origin_words = Text(label="Which", required=False, help_text="Drawing and note, clause ...")
    derived = Choice(
        label="Derived limit", required=False, empty="none", help_text="Its value, unit and side are taken as approved."
    )

    def clean(self):
        given = self.cleaned_data
        if given.get("origin") == "derived":
            if not given.get("derived"):
                self.add_error("derived", "Choose the limit that a window study here gave, or another origin.")
            return given
        if given.get("derived"):
            self.add_error("origin", "Choose derived from a window study here, or no derived limit.")
        if given.get("origin") != "unknown" and not given.get("origin_words"):
            self.add_error("origin_words", "Say which drawing or standard, or choose unknown.")
        if given.get("value") is None and "value" not in self.errors:
            self.add_error("value", NEEDED)
        return given


class Rows(forms.BaseFormSet):
    """Some rows of one form; rows left blank are left out."""

    def filled(self) -> list[dict]:
        """What was filled in, row by row."""
        return [form.cleaned_data for form in self.forms if form.has_changed() and form.cleaned_data]


GroupRows = forms.formset_factory(GroupForm, formset=Rows, extra=3, max_num=200, absolute_max=200)
SettingRows = forms.formset_factory(SettingForm, formset=Rows, extra=3, max_num=30, absolute_max=30)
LimitRows = forms.formset_factory(LimitForm, formset=Rows, extra=1, max_num=6, absolute_max=6)

# What the page offers first. 11 in/min is a usual choice inside 8 to 12. common practice, no source
FIRST_STUDY = {
    "coverage": Decimal("0.95"),
    "confidence": Decimal("0.95"),
    "bound_rule": bounds.NORMAL,
    "decision_rule": decision.EVERY_VALUE,
}
FIRST_SETUP = {
    "rate": "11",
    "rate_unit": "in/min",
    "technique": "A",
    "width_mm": "25.4",
    "grip_separation_mm": "25",
    "sampling_hz": "50",
    "filter": "none",
    "conditioning_hours": "40",
    "unit": "lbf/in",
    "decimals": 2,
}
