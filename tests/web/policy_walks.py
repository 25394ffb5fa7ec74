"""Invented programs, a reader of the packed policy as the phone reads it, and the board's own words beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from typing import Any

from markupsafe import Markup

from app import engine
from app.live.fold import LiveState
from app.live.line import Line
from app.live.policy import MOST, Pads, Policy, after, grow
from app.live.program import KnownElement, Limits, Outcome, Plan, PlannedPass, Setting
from app.main import create_app
from app.settings import Settings
from app.storage.stores import open_stores
from app.web.advisor import Advisor, Elements, sort_elements
from app.web.policy_source import source_of
from app.web.views import boards, plans
from app.web.views.live import LiveView, Mode
from app.web.views.policy import graph_json
from app.web.views.timing import clock_view
from tests.agreement import programs

TODAY = date(2026, 11, 25)


@dataclass(frozen=True)
class Program:
    """One invented program with its skater's elements."""

    state: LiveState
    elements: Elements
    limits: Limits

    @property
    def pads(self) -> Pads:
        """Its pads."""
        return Pads(self.state.plan, self.elements.known, tuple(self.elements.offered))

    def policy(self, most: int = MOST, state: LiveState | None = None) -> Policy:
        """Its policy."""
        start = state or self.state
        book = engine.edition(self.state.plan.edition)
        return grow(start, self.pads, source_of(start, book, self.elements, self.limits), most)


def program(request: dict[str, Any], limits: Limits | None = None) -> Program:
    """A program from a request of `tests.agreement.programs`; everything is trained."""
    limits = limits or Limits()
    known = {
        code: KnownElement(code, True, 30, 20, TODAY, tuple(_outcome(one) for one in ends), f"cue of {code}")
        for code, ends in request["attempts"].items()
    }
    rows = tuple(
        PlannedPass(row["planned"], 20 + 25 * place, row["late"], tuple(row["options"]))
        for place, row in enumerate(request["passes"])
    )
    plan = Plan(request["edition"], Setting.RUN_THROUGH, "", rows)
    return Program(LiveState(plan), sort_elements(known, limits, TODAY), limits)


def _outcome(said: dict[str, Any]) -> Outcome:
    return Outcome(said["becomes"], said["chance"], said.get("goe", 0.0), said.get("fall", False))


def usual(
    edition: str, passes: int, late: int = 3, options: int = 12, limits: Limits | None = None
) -> Program:
    """A coach's layout."""
    return program(programs.usual_program(edition, passes, options, late), limits)


def board_of(of: Program) -> LiveView:
    """The live view of a program nobody has skated yet."""
    return LiveView(
        program_id=1,
        title="Free skating",
        skater="Invented",
        occasion="",
        is_competition=False,
        allowed=True,
        hidden=False,
        after_fall=False,
        mode=Mode.ADVICE,
        fault="",
        advised=None,
        pad=None,
        drawing=Markup(""),
        latest="",
        undo_number=0,
        event_id="0",
        seen=0,
        notice="",
        undo_of="",
        redo_of="",
        stops="",
        hidings="",
        role="coach",
        log_only=False,
        questions=(),
        differ="",
        clock=clock_view(of.state, engine.edition(of.state.plan.edition), 0.0),
    )


def demo() -> Iterator[tuple[str, Program]]:
    """The demo's layouts, with its skater's elements, as run-throughs of a day when all of them count as recent."""
    with TemporaryDirectory() as folder:
        app = create_app(
            Settings(data_dir=Path(folder), seed_demo=True, seed_season=False, open_browser=False)
        )
        with open_stores(app.state.database) as stores:
            skater = stores.skaters.all()[0]
            trained, layouts = stores.skaters.trained(skater.id), stores.layouts.of_skater(skater.id)
        app.state.database.close()
    today = max(one.last_logged for one in trained if one.last_logged is not None)
    for layout in layouts:
        rows = plans.passes_of(layout.items, engine.edition(layout.edition))
        plan = Plan(layout.edition, Setting.RUN_THROUGH, "", rows)
        elements = sort_elements(plans.known_of(trained, layout.edition), Limits(), today)
        yield f"{layout.name}, {layout.edition}", Program(LiveState(plan), elements, Limits())


@dataclass(frozen=True)
class Shown:
    """What a screen says: pieces of the line and its notes, what is gone, what is left, points, the swap to try now."""

    line: tuple[str, ...]
    notes: tuple[tuple[str, ...], ...]
    gone: tuple[str, ...]
    left: tuple[tuple[str, bool], ...]
    points: str
    swap: str | None


class Phone:
    """Reads the JSON of a policy the way `static/policy.js` does."""

    def __init__(self, said: dict[str, Any], pads: Pads) -> None:
        self._said, self._pads = said, pads
        self.node, self.cents, self.lost = 0, 0, list[str]()

    def sends(self) -> tuple[str, ...]:
        """The taps of the pad on the screen."""
        return tuple(one.sends for one in self._pads.touches(*self._pad()))

    def _pad(self) -> tuple[int, str | None]:
        place, swap = self._said["padKeys"][self._said["rows"][self.node][0]]
        return place, swap

    def tap(self, sends: str) -> bool:
        """Follow a tap; False where the policy ends or the program does."""
        row = self._said["rows"][self.node]
        place = self.sends().index(sends)
        lead = row[7 + place] if 7 + place < len(row) else 0
        if lead < 2:
            return False
        self.cents += self._said["cents"][row[1]][place]
        self.lost += [self._said["texts"][text] for text in self._said["losses"][row[2]][place]]
        self.node += lead - 1
        return True

    def shown(self) -> Shown:
        """What the screen says."""
        said, row = self._said, self._said["rows"][self.node]
        texts = said["texts"]
        line = said["lines"][row[3]]
        base = f"{self.cents // 100}.{self.cents % 100:02d}"
        return Shown(
            line=tuple(texts[number] for number in line[1:7]),
            notes=tuple(tuple(texts[number] for number in note) for note in line[7]),
            gone=(*(texts[number] for number in said["gone"][row[4]]), *self.lost),
            left=tuple((texts[number], bool(owed)) for number, owed in said["left"][row[5]]),
            points=boards.points_words(base, said["more"][row[6]], ""),
            swap=self._pad()[1],
        )


def phone(of: Program, policy: Policy) -> Phone:
    """A phone with this policy."""
    return Phone(graph_json(policy), of.pads)


class Laptop:
    """What the server's board says about the same passes, each asked anew and kept."""

    def __init__(self, of: Program) -> None:
        self._program = of
        edition = engine.edition(of.state.plan.edition)
        self._sheet: Any = SimpleNamespace(
            record=SimpleNamespace(id=1), edition=edition, limits=of.limits, elements=of.elements
        )
        self._advisor = Advisor()
        self._known: dict[tuple[str, ...], Shown] = {}

    def shown(self, sent: tuple[str, ...], state: LiveState) -> Shown:
        """The board after these taps."""
        if sent not in self._known:
            choice, advised = boards._advised(self._sheet, state, self._program.elements, self._advisor)
            swap = choice.swap
            self._known[sent] = Shown(
                line=_pieces(advised.line),
                notes=tuple((one.says, one.source, one.how_sure) for one in advised.line.notes),
                gone=advised.gone,
                left=tuple((one.words, one.owed) for one in advised.left),
                points=advised.points,
                swap=swap.element if swap is not None and swap.number == state.next_number else None,
            )
        return self._known[sent]


def _pieces(line: Line) -> tuple[str, ...]:
    return line.headline, line.gain, line.needs, line.cue, line.why, line.caution


def walk(
    of: Program, policy: Policy, laptop: Laptop, random: Random, wild: float
) -> Iterator[tuple[str, Shown, Shown]]:
    """One program tapped through: the taps so far, what the phone shows, what the laptop shows.

    Each tap is drawn by its chance, or, with chance `wild`, any tap of the pad.
    """
    here, state, sent = phone(of, policy), of.state, list[str]()
    while True:
        yield " | ".join(sent), here.shown(), laptop.shown(tuple(sent), state)
        touches = of.pads.touches(len(state.logged), here.shown().swap)
        weights = None if random.random() < wild else [one.chance for one in touches]
        (touch,) = random.choices(touches, weights)
        if not here.tap(touch.sends):
            return
        state = after(state, touch.entry)
        sent.append(touch.sends)
