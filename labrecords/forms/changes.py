"""The form that says which two groups of results are laid side by side."""

from .fields import Asking, Choice, Day


class ChangesForm(Asking):
    """A shift that the page finds, a day, or two groups picked by what is recorded of them."""

    how = Choice(
        label="Two groups",
        choices=[
            ("found", "find the most likely shift in the order of testing"),
            ("day", "before a day, and from it on"),
            ("picked", "the two groups picked below"),
        ],
    )
    scope = Choice(
        label="Of",
        choices=[("study", "this study"), ("mark", "every study with its set-up mark")],
    )
    day = Day(label="From this day on", required=False)
    one = Choice(label="This group", empty="Choose a group", required=False)
    other = Choice(label="Beside this one", empty="Choose a group", required=False)

    def clean(self):
        given = self.cleaned_data
        if given.get("how") == "day" and not given.get("day") and "day" not in self.errors:
            self.add_error("day", "Say from which day on.")
        if given.get("how") == "picked":
            for name in ("one", "other"):
                if not given.get(name) and name not in self.errors:
                    self.add_error(name, "Choose a group.")
            if given.get("one") and given.get("one") == given.get("other"):
                self.add_error("other", "Choose another group: a group is not compared with itself.")
        return given
