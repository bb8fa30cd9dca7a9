"""How every form of the project is drawn."""

from django.forms.renderers import DjangoTemplates
from django.template.loader import get_template


class Renderer(DjangoTemplates):
    """Draws forms and fields with the project's templates, single widgets with Django's own.

    Settings: ``FORM_RENDERER = "labrecords.forms.renderer.Renderer"``. No application need be installed for
    it, and the project's template folders need not hold Django's.
    """

    form_template_name = "forms/form.html"
    field_template_name = "forms/field.html"

    def get_template(self, template_name):
        """Find a template: those in forms/ among the project's, all others among Django's."""
        if template_name.startswith("forms/"):
            return get_template(template_name)
        return super().get_template(template_name)
