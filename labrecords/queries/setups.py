"""A set-up in words: what the study page, the report and the set-up mark say, from one list."""

from decimal import Decimal

from labrecords.models import MethodVersion, Setup, Study
from labrecords.rules import facts
from labrecords.rules.mark import setup_mark
from labrecords.rules.series import same_rate, technique_words


def plain(value: Decimal | float) -> str:
    """A set value without trailing zeros: 11, not 11.000.

    >>> plain(Decimal("25.400"))
    '25.4'
    """
    return f"{Decimal(str(value)).normalize():f}"


def described(setup: Setup) -> list[tuple[str, str]]:
    """Every parameter that may not change, as label and text."""
    version = setup.method_version
    width = f"{plain(setup.width_mm)} mm, {'measured on each specimen' if setup.width_measured else 'nominal'}"
    conditioning = f"at least {plain(setup.conditioning_hours)} h" if setup.conditioning_hours else "none"
    if setup.no_conditioning_reason:
        conditioning += f"; reason: {setup.no_conditioning_reason}"
    return [
        ("Method", f"{version.method.code} version {version.number}, after {version.reference}"),
        ("Technique", technique_words(setup.technique)),
        ("Grip separation rate", f"{plain(setup.rate)} {setup.rate_unit}"),
        ("Specimen width", width),
        ("Initial grip separation", f"{plain(setup.grip_separation_mm)} mm"),
        (
            "Webs in the grips",
            f"{setup.fixed_web} in the fixed grip or on the plate, {setup.moving_web} in the moving grip",
        ),
        ("Pulled from", setup.get_pulled_from_display()),
        ("Machine direction", setup.get_machine_direction_display()),
        ("Sampling rate", f"{plain(setup.sampling_hz)} Hz"),
        ("Filter", setup.filter),
        ("Averaging rule", _averaging(setup)),
        ("Conditioning", conditioning),
        ("Unit of strength", f"{setup.unit}, recorded to {setup.decimals} decimals"),
    ]


def _percent(share: float) -> str:
    return plain(Decimal(str(share)) * 100)


def _averaging(setup: Setup) -> str:
    return (
        f"the peel runs from the first to the last crossing of {_percent(setup.threshold_fraction)} % of the peak; "
        f"force is averaged over its central {_percent(setup.span_fraction)} %"
    )


def mark(setup: Setup) -> str:
    """The set-up mark of a set-up as it stands."""
    return setup_mark(dict(described(setup)))


def as_facts(setup: Setup) -> facts.Setup:
    """The set-up as the gate sees it."""
    return facts.Setup(
        technique=setup.technique,
        rate=facts.Rate(setup.rate, setup.rate_unit),
        width_mm=setup.width_mm,
        width_measured=setup.width_measured,
        unit=setup.unit,
        decimals=setup.decimals,
        threshold_fraction=setup.threshold_fraction,
        span_fraction=setup.span_fraction,
        conditioning_hours=setup.conditioning_hours,
        seal_width_mm=setup.seal_width_mm,
    )


def method_facts(version: MethodVersion) -> facts.Method:
    """A method version as the gate sees it."""
    return facts.Method(
        name=str(version),
        techniques=tuple(version.techniques),
        rate_low_mm_min=version.rate_low_mm_min,
        rate_high_mm_min=version.rate_high_mm_min,
        rate_low_in_min=version.rate_low_in_min,
        rate_high_in_min=version.rate_high_in_min,
        widths_mm=tuple(version.widths_mm),
        conditioning_hours=version.conditioning_hours,
        room_c=(version.room_low_c, version.room_high_c),
        humidity_percent=(version.humidity_low_percent, version.humidity_high_percent),
        rate_tolerance=version.rate_tolerance,
        trace_agreement=version.trace_agreement,
        noise_share=version.noise_share,
        modes=tuple(mode["key"] for mode in version.modes),
        peeling_modes=tuple(mode["key"] for mode in version.modes if mode["peels"]),
        void_causes=tuple(cause["key"] for cause in version.void_causes),
        replacement_cap=version.replacement_cap,
        check_before_use=version.check_before_use,
        disuse_months=version.disuse_months,
    )


def earlier_differences(study: Study) -> list[str]:
    """How earlier studies of the same client were taken another way, in sentences for the planning page.

    Compared are technique and rate, the two that decide whether forces can be laid side by side at all.
    """
    setup = study.setup
    earlier = (
        Setup.objects.filter(study__project__client=study.project.client, study__locked_at__isnull=False)
        .exclude(study=study)
        .select_related("study", "method_version__method")
        .order_by("-study__locked_at")
    )
    if study.locked_at is not None:
        earlier = earlier.filter(study__locked_at__lt=study.locked_at)
    codes: dict[str, list[str]] = {}
    for other in earlier[:20]:
        codes.setdefault(_difference(setup, other), []).append(other.study.code)
    codes.pop("", None)
    return [_told(found, difference) for difference, found in codes.items()]


def _told(codes: list[str], difference: str) -> str:
    """One sentence for all studies that differ alike."""
    *others, last = codes
    who, theirs = (f"{', '.join(others)} and {last}", "Their") if others else (last, "Its")
    return (
        f"{who} used {difference}. {theirs} forces and this study's cannot be compared, "
        "and no factor converts one into the other."
    )


def _difference(setup: Setup, other: Setup) -> str:
    parts = []
    if other.technique != setup.technique:
        parts.append(f"technique {technique_words(other.technique)} instead of {technique_words(setup.technique)}")
    if not same_rate(as_facts(other).rate, as_facts(setup).rate):
        said = f"{plain(other.rate)} {other.rate_unit} instead of {plain(setup.rate)} {setup.rate_unit}"
        parts.append(f"a rate of {said}")
    return " and ".join(parts)
