"""View models are declared: frozen dataclasses, explained, and the only thing a template receives."""

from __future__ import annotations

import dataclasses
import inspect
from importlib import import_module
from pathlib import Path

import jinja2
import pytest
from jinja2 import meta

from app.web.rendering import TEMPLATES, environment

VIEWS = Path(__file__).parents[2] / "app" / "web" / "views"
MODULES = sorted(file.stem for file in VIEWS.glob("*.py") if file.stem != "__init__")
# `loop` and friends are the template language's own.
RECEIVED = {"view", "request"}


def classes(module: str) -> list[type]:
    """The classes a views module defines itself."""
    loaded = import_module(f"app.web.views.{module}")
    return [
        one for _, one in inspect.getmembers(loaded, inspect.isclass) if one.__module__ == loaded.__name__
    ]


@pytest.mark.parametrize("module", MODULES)
def test_view_models_are_frozen_and_explained(module: str) -> None:
    for one in classes(module):
        if one.__name__.endswith("View") or dataclasses.is_dataclass(one):
            assert dataclasses.is_dataclass(one), f"{one.__name__} is no dataclass"
            assert one.__dataclass_params__.frozen, f"{one.__name__} can be changed"  # type: ignore[attr-defined]
            assert one.__doc__, f"{one.__name__} says nothing"
            assert not one.__doc__.startswith(f"{one.__name__}("), f"{one.__name__} says nothing of its own"


@pytest.mark.parametrize("template", sorted(str(f.relative_to(TEMPLATES)) for f in TEMPLATES.rglob("*.html")))
def test_templates_use_what_they_receive(template: str) -> None:
    """Page templates see `view` and `request`; what fragments see besides is set by the template around them."""
    source = (TEMPLATES / template).read_text()
    assert "style=" not in source, "the content policy forbids inline styles"
    assert "<script>" not in source
    assert " onclick=" not in source
    free = meta.find_undeclared_variables(environment.parse(source)) - set(environment.globals)
    if not Path(template).name.startswith("_"):
        assert free <= RECEIVED


def test_a_name_that_does_not_exist_is_an_error() -> None:
    with pytest.raises(jinja2.UndefinedError):
        environment.from_string("{{ nothing }}").render()
