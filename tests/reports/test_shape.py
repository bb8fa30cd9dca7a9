"""A report with a hole in it is not issued, and the hole is named."""

import pytest

from labrecords.reports.shape import CONDITIONS, SETUP, check

from . import sample


def paths(value, path=()):
    """Give the path of every text and count in the content."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else None
    if inner is None:
        return [path]
    return [found for key, part in inner for found in paths(part, (*path, key))]


def put(content, path, value):
    """Set the item at the path."""
    for key in path[:-1]:
        content = content[key]
    content[path[-1]] = value


OPTIONAL = {"replaces", "average", "cv", "interval", "bound", "below_limit", "above_limit", "note", "caption"}
REQUIRED = [
    path for path in paths(sample.content()) if path[-1] not in OPTIONAL and not (path[0] == "results" and path[1] > 0)
]


def test_sample_is_whole():
    check(sample.content())


@pytest.mark.parametrize("path", REQUIRED, ids=lambda path: ".".join(map(str, path)))
def test_every_required_text_must_be_there(path):
    content = sample.content()
    put(content, path, "  ")
    with pytest.raises(ValueError, match=r"is empty|must be|lacks"):
        check(content)


@pytest.mark.parametrize("name", sorted(sample.content()))
def test_missing_item_is_named(name):
    content = sample.content()
    del content[name]
    with pytest.raises(ValueError, match=rf"\b{name} (is missing|must be)"):
        check(content)


@pytest.mark.parametrize("name", ["summary", "items", "groups", "results", "equipment", "people", "statements"])
def test_list_that_a_report_lives_by_may_not_be_empty(name):
    with pytest.raises(ValueError, match=f"{name} is empty: at least one"):
        check(sample.content() | {name: []})


@pytest.mark.parametrize("name", ["limits", "figures", "deviations", "corrections", "voids", "cautions"])
def test_list_of_what_may_not_have_happened_may_be_empty(name):
    check(sample.content() | {name: []})


@pytest.mark.parametrize(
    ("name", "label"), [("setup", one) for one in SETUP] + [("conditions", one) for one in CONDITIONS]
)
def test_what_the_method_asks_to_report_is_asked_for(name, label):
    content = sample.content()
    content[name] = [row for row in content[name] if row[0] != label]
    with pytest.raises(ValueError, match=f"{name} lacks “{label}”"):
        check(content)


def test_all_faults_are_told_at_once():
    content = sample.content()
    content["title"] = ""
    content["client"]["contact"] = ""
    with pytest.raises(ValueError, match=r"title is empty.*client\.contact is empty"):
        check(content)


def test_not_known_needs_its_reason():
    content = sample.content()
    content["items"][0]["sealed_how"] = "not known: the client did not say"
    check(content)
    content["items"][0]["sealed_how"] = "not known: "
    with pytest.raises(ValueError, match=r"items\[1\]\.sealed_how is not known, and no reason"):
        check(content)


def test_item_that_nobody_would_print_is_refused():
    content = sample.content()
    content["results"][0]["remark"] = "looked odd"
    with pytest.raises(ValueError, match=r"results\[1\]\.remark is not an item"):
        check(content)


@pytest.mark.parametrize("sign", ["\x00", "\x07", "\ud800", "\ue000"])
def test_sign_that_cannot_be_printed_is_refused_by_its_number(sign):
    content = sample.content()
    content["client"]["name"] = f"Bright{sign}water"
    with pytest.raises(ValueError, match=rf"client\.name holds U\+{ord(sign):04X}"):
        check(content)


@pytest.mark.parametrize(
    ("name", "value", "reason"),
    [
        ("paper", "a5", "paper must be one of a4, us-letter"),
        ("schema", "labrecords report 0", "schema must be"),
        ("client", "Brightwater", "client must have the parts"),
        ("voids", "none", "voids must be a list"),
        ("setup", [["Technique"]], "setup must be a list of label and text"),
        ("number", 4.1, "number must be text, not float"),
        ("issue", True, "issue must be text, not bool"),
    ],
)
def test_item_of_the_wrong_kind_is_refused(name, value, reason):
    with pytest.raises(ValueError, match=reason):
        check(sample.content() | {name: value})


def test_one_text_will_do_where_a_list_of_texts_is_meant():
    content = sample.content()
    content["results"][0] |= {"modes": "AP", "marks": ""}
    check(content)
