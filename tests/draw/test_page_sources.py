"""The page's modules: typed, small, each with its question, and their closed forms."""

from __future__ import annotations

import re

import pytest

from .modules import CHECKS, PAGE, node

MODULES = sorted(PAGE.glob("*.js"))


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_a_module_opens_with_its_question_and_is_short(path):
    text = path.read_text(encoding="utf-8")
    assert re.match(r"/\* [A-Z][^?]{8,}\?\s", text) or path.name == "types.js"
    assert len(text.splitlines()) < 250
    assert not re.search(r"\b(window|globalThis|self)\.\w+ *=[^=]", text)  # no global names


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.name)
def test_no_module_reads_text_as_html(path):
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function", text)
    assert not re.search(r"""setAttribute\(["']style""", text)


def test_the_page_has_no_script_or_style_within():
    text = (PAGE / "index.html").read_text(encoding="utf-8")
    assert not re.search(r"<style|style=|<script>|\son\w+=", text)
    assert "http" not in text


@pytest.mark.slow
def test_the_modules_are_typed():
    found = node("tsc", "-p", ".")
    assert found.returncode == 0, found.stdout


@pytest.mark.slow
def test_the_linter_finds_nothing():
    found = node("eslint", "--max-warnings", "0", "--config", str(CHECKS / "eslint.config.js"), ".", folder=PAGE)
    assert found.returncode == 0, found.stdout + found.stderr


def test_closed_forms():
    found = node("node", "--test", ".")
    assert found.returncode == 0, found.stdout
