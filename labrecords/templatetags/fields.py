"""What the form templates ask of a field."""

from django import template

register = template.Library()


@register.filter
def unit_of(field):
    """Unit of a bound field, from ``field.unit`` or the widget's ``data-unit``; empty when it has none."""
    return getattr(field.field, "unit", "") or field.field.widget.attrs.get("data-unit", "")


@register.filter
def widget_with_unit(field):
    """The bound field's input, described by its hint, its errors and its unit, in that order."""
    described = [field.aria_describedby] if field.aria_describedby else []
    if unit_of(field) and field.auto_id and not field.use_fieldset:
        described.append(f"{field.auto_id}_unit")
    return field.as_widget(attrs={"aria-describedby": " ".join(described)} if described else None)


@register.filter
def error_target(field):
    """Id of the input a link in the error summary goes to: the first one where a field has several."""
    return field.id_for_label or f"{field.auto_id}_0"
