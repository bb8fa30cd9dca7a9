"""The form that chooses two groups of results."""

from .fields import Asking, Choice


class ComparisonForm(Asking):
    """Two groups, of one study or of two."""

    one = Choice(label="This group", empty="Choose a group")
    other = Choice(label="Beside this one", empty="Choose a group")

    def clean(self):
        given = self.cleaned_data
        if given.get("one") and given.get("one") == given.get("other"):
            self.add_error("other", "Choose another group: a group is not compared with itself.")
        return given
