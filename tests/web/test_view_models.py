"""A page gets one frozen view model, and every field of it is shown somewhere in its templates."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass

import pytest

from app.settings import PROJECT
from app.web.views.aim import AimView, Way
from app.web.views.called import CalledView
from app.web.views.element_rows import ElementRow
from app.web.views.home import HomeView, LayoutCard, ProgramCard, SkaterCard
from app.web.views.layout import LayoutRow, LayoutView, RulingView
from app.web.views.live import Advised, LeftView, LiveView, PadView, TryView
from app.web.views.load import Caution, KindRow, LoadView
from app.web.views.log import (
    ElementButton,
    ElementGroup,
    EndingView,
    FateButton,
    LastLogged,
    LogView,
    PlaceChoice,
)
from app.web.views.log_table import PreviewView, ReadLine, TableView
from app.web.views.rehearse import DoneView, DrillView, RehearseView, StepView
from app.web.views.rehearsed import RehearsalView, RehearsedView
from app.web.views.review import ReviewRow, ReviewView
from app.web.views.skater import SkaterView
from app.web.views.trainer import (
    ButtonView,
    CallView,
    ProgramChoice,
    ProgramsView,
    RuleView,
    TrainerView,
    VerdictView,
)

VIEWS = [
    ("home", (HomeView, SkaterCard, LayoutCard, ProgramCard)),
    ("layout", (LayoutView, LayoutRow, RulingView)),
    ("live", (LiveView, Advised, LeftView, PadView, TryView, ReviewView, ReviewRow)),
    ("live", (AimView, Way)),
    ("live", (CalledView, RehearsalView, RehearsedView)),
    ("rehearse", (RehearseView, DrillView, StepView, DoneView)),
    ("load", (LoadView, KindRow, Caution)),
    ("skater", (SkaterView, ElementRow)),
    ("log", (LogView, ElementGroup, ElementButton, PlaceChoice, LastLogged, EndingView, FateButton)),
    ("log", (TableView, PreviewView, ReadLine)),
    ("trainer", (ProgramsView, ProgramChoice, TrainerView, CallView, ButtonView, VerdictView, RuleView)),
]
KINDS = [(folder, kind) for folder, kinds in VIEWS for kind in kinds]


def source(folder: str) -> str:
    """All templates of one folder."""
    return "\n".join(
        file.read_text(encoding="utf-8") for file in sorted((PROJECT / "templates" / folder).glob("*"))
    )


@pytest.mark.parametrize(("folder", "kind"), KINDS, ids=lambda value: getattr(value, "__name__", str(value)))
def test_views_are_frozen_and_every_field_is_shown(folder: str, kind: type) -> None:
    assert is_dataclass(kind)
    assert kind.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert kind.__doc__
    shown = set(re.findall(r"\.([a-z_]+)", source(folder)))
    assert {field.name for field in fields(kind)} <= shown


@pytest.mark.parametrize("folder", ["home", "layout", "live", "skater", "trainer"])
def test_no_template_holds_a_script_or_a_style(folder: str) -> None:
    text = source(folder)
    assert not re.search(r"<script(?![^>]*src=)", text)
    assert not re.search(r"\sstyle=|\son[a-z]+=", text)


@pytest.mark.parametrize("folder", ["home", "layout", "live", "skater", "trainer"])
def test_every_form_works_without_scripts(folder: str) -> None:
    for form in re.findall(r"<form\b[^>]*>", source(folder)):
        assert 'method="post"' in form
        action = re.search(r'action="([^"]+)"', form)
        assert action, form
        posted = re.search(r'hx-post="([^"]+)"', form)
        assert posted is None or posted[1] == action[1], (
            "with and without scripts a form goes to the same place"
        )
