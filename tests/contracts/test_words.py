"""Every text of the screens goes through the catalogue, and the catalogues are up to date with the texts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType

import pytest
from jinja2 import nodes

from app.web.rendering import TEMPLATES, environment
from app.web.views.words import CODES, TERMS

PROJECT = Path(__file__).parents[2]
NOT_YET: frozenset[str] = frozenset()
"""Templates whose English has not moved into the catalogue yet: take them out one by one, add none."""
SAID_BY_PEOPLE = {"aria-label", "alt", "title", "placeholder"}
NO_WORDS = {"Recoup", "s", "English"}
"""The app's name; the sign of seconds; a language by its own name."""
CODE = re.compile(r"[1-5]?(T|S|Lo|F|Lz|A|Eu)(\+[1-5]?(T|S|Lo|F|Lz|A|Eu))*")
LETTERS = re.compile(r"[^\W\d_]+")
GAP = "\x00"
NAMES = ("_", "gettext", "ngettext")


def script() -> ModuleType:
    """scripts/words as a module."""
    path = str(PROJECT / "scripts" / "words")
    spec = spec_from_loader("words_script", SourceFileLoader("words_script", path))
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_catalogues_are_in_order() -> None:
    """Run `scripts/words update`, then translate what must be translated (`scripts/words open de`)."""
    words = script()
    assert list(words.faults(words.gathered())) == []


def test_where_only_terms_are_translated_they_are_those_of_the_table() -> None:
    words = script()
    for language in words.TERMS:
        place = CODES.index(language.code) + 1
        table = {word.strip("*") for row in TERMS for word in row[place].split(" / ")}
        found = {message.string for message in words.kept(language) if message.id}
        assert found
        assert found <= table, language.name


def written(node: nodes.Node) -> Iterator[str]:
    """What a template writes out as it stands there, in order: its markup and the texts of its expressions."""
    for part in node.iter_child_nodes():
        if isinstance(part, nodes.Block) and part.name == "body_class":
            continue
        if isinstance(part, nodes.Output):
            for one in part.nodes:
                yield (
                    one.data if isinstance(one, nodes.TemplateData) else GAP + " ".join(constants(one)) + GAP
                )
        else:
            yield from written(part)


def constants(node: nodes.Node) -> Iterator[str]:
    """The texts an expression may write: no names of filters, tests and keys, nothing said through the catalogue."""
    if isinstance(node, nodes.Const):
        if isinstance(node.value, str):
            yield node.value
    elif isinstance(node, nodes.Call) and isinstance(node.node, nodes.Name) and node.node.name in NAMES:
        yield GAP
    elif isinstance(node, nodes.CondExpr):
        for branch in (node.expr1, node.expr2):
            if branch is not None:
                yield from constants(branch)
                yield GAP
    elif isinstance(node, nodes.Filter) and node.node is not None:
        yield from constants(node.node)
    elif isinstance(node, nodes.Concat | nodes.Add | nodes.MarkSafe | nodes.MarkSafeIfAutoescape):
        for child in node.iter_child_nodes():
            yield from constants(child)


class Bare(HTMLParser):
    """Collects the texts and spoken attributes of some markup."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._quiet = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Attributes that people hear or read count; a text marked as of another language says itself."""
        self._quiet += tag in ("script", "style")
        self.texts += [value for name, value in attrs if name in SAID_BY_PEOPLE and value]

    def handle_endtag(self, tag: str) -> None:
        """Behind a script, texts count again."""
        self._quiet -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        """A text."""
        if not self._quiet:
            self.texts.append(data)


def bare_words(source: str) -> list[str]:
    """Words of a template that are not said through the catalogue."""
    reader = Bare()
    reader.feed("".join(written(environment.parse(source))))
    reader.close()
    found = [part.strip() for text in reader.texts for part in text.split(GAP)]
    return [one for one in found if LETTERS.search(one) and one not in NO_WORDS and not CODE.fullmatch(one)]


@pytest.mark.parametrize("template", sorted(str(f.relative_to(TEMPLATES)) for f in TEMPLATES.rglob("*.html")))
def test_no_template_speaks_past_the_catalogue(template: str) -> None:
    """Write `{{ _("…") }}` or `{% trans %}…{% endtrans %}`; DEVELOPERS.md, "Languages", says how."""
    bare = bare_words((TEMPLATES / template).read_text(encoding="utf-8"))
    if template in NOT_YET:
        assert bare, f"{template} is done: take it out of NOT_YET"
    else:
        assert bare == []


def test_bare_words_are_found_wherever_they_hide() -> None:
    assert bare_words('<p>{{ _("Said") }} <b>{% trans %}Said{% endtrans %}</b> 3Lz+3T {{ view.x }}</p>') == []
    assert bare_words("<p>Hidden</p>") == ["Hidden"]
    assert bare_words('<p aria-label="Hidden">{{ "a" if x else view.y }}</p>') == ["Hidden", "a"]
    assert bare_words("{% if x %}{% for y in z %}<p>Hidden{% endfor %}{% endif %}") == ["Hidden"]
    assert bare_words('{{ "Undo " ~ view.number }}') == ["Undo"]
    assert bare_words('<p class="{{ "swap" if x else "keep" }}"{{ " disabled" if x }}>') == []
