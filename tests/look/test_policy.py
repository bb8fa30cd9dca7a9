"""Templates, styles and scripts keep to the Content-Security-Policy: nothing inline or from elsewhere."""

import pathlib
import re
import subprocess
import sys

import pytest

ROOT = pathlib.Path(__file__).parents[2]
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
DJANGO = re.compile(r"{%.*?%}|{{.*?}}|{#.*?#}", re.DOTALL)
TAG = re.compile(r"<[a-zA-Z][^<>]*>")
INLINE = {
    "style attribute": re.compile(r"\sstyle\s*=", re.IGNORECASE),
    "event attribute": re.compile(r"\son[a-z]+\s*=", re.IGNORECASE),
    "script address": re.compile(r"=\s*[\"']?\s*javascript:", re.IGNORECASE),
    "style element": re.compile(r"^<style\b", re.IGNORECASE),
    "inline script": re.compile(r"^<script\b(?![^>]*\bsrc=)(?![^>]*type=\"application/json\")", re.IGNORECASE),
    "other server": re.compile(r"\s(?:src|srcset|action)\s*=\s*[\"']?(?:https?:)?//", re.IGNORECASE),
}


def breaches(text):
    """Names of the policy's breaches in a template, with the tags that hold them."""
    tags = TAG.findall(DJANGO.sub("", text))
    return [(name, tag) for tag in tags for name, pattern in INLINE.items() if pattern.search(tag)]


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: str(path.relative_to(ROOT)))
def test_template_keeps_to_the_policy(template):
    assert breaches(template.read_text()) == []


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ('<p {% if a %}class="b"{% endif %} style="color: red">', "style attribute"),
        ('<button\n  onclick="go()">', "event attribute"),
        ('<a href="javascript:go()">', "script address"),
        ("<style>p {}</style>", "style element"),
        ("<script>go()</script>", "inline script"),
        ('<script type="module">go()</script>', "inline script"),
        ('<img src="https://example.org/a.png" alt="">', "other server"),
    ],
)
def test_breaches_are_found(text, name):
    assert name in [found for found, _ in breaches(text)]


def test_what_is_allowed_is_not_found():
    allowed = '<script type="application/json">{}</script><script src="/a.js"></script><p data-on="x">one=1</p>'
    assert breaches(allowed) == []


def test_templates_pass_the_template_linter():
    command = [sys.executable, "-m", "djlint", "templates", "--lint"]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout


@pytest.mark.parametrize("sheet", sorted((ROOT / "static/css").glob("*.css")), ids=lambda path: path.name)
def test_style_sheet_takes_colours_from_the_tokens_and_nothing_from_elsewhere(sheet):
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.DOTALL)
    assert re.findall(r"url\(\s*[\"']?(?:https?:|//|data:)", text) == []
    if sheet.name != "tokens.css":
        assert re.findall(r"#[0-9A-Fa-f]{3,8}\b|\brgba?\(|\bhsla?\(", text) == []


@pytest.mark.parametrize("script", sorted((ROOT / "static/js").glob("*.js")), ids=lambda path: path.name)
def test_script_runs_no_text_as_code_and_writes_no_markup(script):
    forbidden = r"\beval\(|new Function\(|innerHTML|outerHTML|insertAdjacentHTML|document\.write"
    assert re.findall(forbidden, script.read_text()) == []
