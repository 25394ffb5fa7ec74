"""Every text of the screens goes through the catalogue, and the catalogues are up to date with the texts."""

from __future__ import annotations

import ast
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


SAYING = {"say", "say_many", "entry", "counted", "of_the_data"}
FOR_DEVELOPERS = {
    "AssertionError",
    "AttributeError",
    "KeyError",
    "OverflowError",
    "RuntimeError",
    "TypeError",
    "ValueError",
    "compile",
    "debug",
    "error",
    "exception",
    "execute",
    "Field",
    "info",
    "print",
    "RulebookError",
    "setting",
    "text",
    "warning",
}
"""What is given to these is read by programs or in a terminal, or it names keys of a rule file: `RulebookError`."""
NOT_FOR_SCREENS = {
    "app/__main__.py": "the command line",
    "app/copies.py": "the command line",
    "app/planner/robust_search.py": "names of steps, for measuring",
    "app/rulebook/loader.py": "faults of rule files, with the names of their keys",
    "app/rulebook/money_tables.py": "faults of rule files",
    "app/rulebook/schema.py": "faults of rule files",
    "app/rulebook/values.py": "faults of value tables",
    "app/security/origin.py": "refusals read by programs, not by people",
    "app/security/certificate.py": "the names inside a certificate",
    "app/settings.py": "the command line and the table of settings",
    "app/storage/engines.py": "the address of the database, said in the terminal at the start",
    "app/storage/migrations/": "tables",
    "app/web/kept_files.py": "a script",
    "app/web/beside.py": "a process that failed; a screen goes on without it",
    "app/web/club_door.py": "the command line",
    "app/web/demo_season.py": "faults of the demo's files",
    "app/web/gate.py": "refusals read by programs, not by people",
    "app/web/routes/api.py": "the programs' interface is English",
    "app/web/server.py": "the terminal",
    "app/web/views/words.py": "the table of the trade's terms in all languages",
    "app/web/workers.py": "the terminal",
}
"""Modules whose sentences no screen shows, each with the reason."""
QUOTED = {
    "app/chances/attempt.py": "names of rows in the tables of chances",
    "app/domain/rulings.py": "title of a document",
    "app/legality/short_program.py": "paragraph of a document",
    "app/legality/slots.py": "paragraph of a document",
    "app/legality/units.py": "paragraph of a document",
    "app/planner/fragile.py": "the name of a thing; what a screen says for it is in the view",
    "app/rulebook/own.py": "the source an own number had before, as it stands in the file",
    "app/rulebook/own_file.py": "places in a file, by the names of their tables and keys",
    "app/storage/export.py": "the note inside an export file",
    "app/web/views/load.py": "titles of documents",
}
"""Modules that also quote sources and names as they are."""
WORD = re.compile(r"[A-Za-z]{2,}")
MARKUP_OR_SQL = re.compile(
    r'<\w|="|^(SELECT|UPDATE|INSERT|DELETE|ALTER|CREATE|DROP|PRAGMA|ATTACH|SET|LISTEN) '
)
ENOUGH_WORDS = 4
"""From so many words on a text is taken for a sentence; shorter ones are found in `tests/web/test_every_word.py`."""


def sentences_of(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """English sentences in a module that do not go through the catalogue, each with its line."""
    if isinstance(tree, ast.Call) and _called(tree) in SAYING | FOR_DEVELOPERS:
        # What goes into the places of a message is looked at all the same.
        inside = tree.keywords if _called(tree) in SAYING else []
    elif isinstance(tree, ast.JoinedStr):
        yield from _sentence(tree.lineno, "".join(_constant(part) for part in tree.values))
        inside = [part.value for part in tree.values if isinstance(part, ast.FormattedValue)]
    elif isinstance(tree, ast.Constant):
        yield from _sentence(tree.lineno, tree.value) if isinstance(tree.value, str) else ()
        inside = []
    elif isinstance(tree, ast.Expr) and isinstance(tree.value, ast.Constant):
        inside = []  # a docstring
    elif isinstance(tree, ast.Compare | ast.Assert | ast.AnnAssign | ast.arg):
        inside = [tree.value] if isinstance(tree, ast.AnnAssign) and tree.value is not None else []
    elif isinstance(tree, ast.Dict):
        inside = tree.values
    elif isinstance(tree, ast.ClassDef) and any(
        isinstance(b, ast.Name) and b.id == "StrEnum" for b in tree.bases
    ):
        inside = []  # names; what a screen shows for them is said elsewhere
    else:
        inside = list(ast.iter_child_nodes(tree))
    for one in inside:
        yield from sentences_of(one)


def _called(call: ast.Call) -> str:
    name = call.func
    return name.id if isinstance(name, ast.Name) else name.attr if isinstance(name, ast.Attribute) else ""


def _constant(part: ast.expr) -> str:
    return str(part.value) if isinstance(part, ast.Constant) else "0"


def _sentence(line: int, text: str) -> Iterator[tuple[int, str]]:
    parted = len(WORD.findall(text)) >= ENOUGH_WORDS <= len(text.split())
    if parted and not MARKUP_OR_SQL.search(text):
        yield line, text


def modules() -> list[str]:
    return sorted(f.relative_to(PROJECT).as_posix() for f in (PROJECT / "app").rglob("*.py"))


@pytest.mark.parametrize("module", [one for one in modules() if not one.startswith(tuple(NOT_FOR_SCREENS))])
def test_no_module_speaks_past_the_catalogue(module: str) -> None:
    """Write `say("…")`; DEVELOPERS.md, "Languages", says how. What no screen shows has its reason above."""
    found = list(sentences_of(ast.parse((PROJECT / module).read_text(encoding="utf-8"))))
    if module in QUOTED:
        assert found, f"{module} quotes nothing any more: take it out of QUOTED"
    else:
        assert found == []


def test_every_exception_is_still_there() -> None:
    for module in (*NOT_FOR_SCREENS, *QUOTED):
        assert (PROJECT / module).exists(), module


def test_sentences_are_found_wherever_they_hide() -> None:
    def lines(code: str) -> list[str]:
        return [text for _, text in sentences_of(ast.parse(code))]

    assert lines('"""A docstring of some words."""') == []
    assert lines('x = say("This one is said rightly")') == []
    assert lines('log.info("This one is for the terminal")') == []
    assert lines('x = "This one is hidden here"') == ["This one is hidden here"]
    assert lines('x = {"a key": "This one is hidden here"}') == ["This one is hidden here"]
    assert lines('x = f"This {one} is hidden here"') == ["This 0 is hidden here"]
    assert lines('x = say("%(why)s", why="This one is hidden here")') == ["This one is hidden here"]
    assert lines('raise InputError("x", f"{y} given; expected some number")') == [
        "0 given; expected some number"
    ]
