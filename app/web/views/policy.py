"""A policy as the phone gets it: words in tables, and the board's own markup with named gaps.

The markup is rendered from the templates of the live screen, so it is written once. A gap looks like `⟦name⟧`; the
phone puts text into it (never markup). `static/policy.js` reads what `policy_json` writes:

    version, mode        the mode of the live screen: "advice", or "silent" where there is none to show
    rows, cents, losses  the graph, see `app.live.policy_pack`; a row's parts are line, gone, left, more
    lines, gone, left, more, texts    tables of words; numbers in them are places in `texts`
    pads                 a pad by pass and advised swap: its markup, and for each tap what the form sends, what the
                         foot of the screen says afterwards, and whether it was a fall
    boards               the board by shape of its line, with and without a fall before
    seconds, late        when each pass is planned, and whether that is in the second half
    points               words on points, by pass
    why, quiet           why there is no advice, in words by name; the name where a state of the graph has none
    sign, waits, kept    the strip that says that there is no connection; how many taps wait, one and several; what is
                         said of a tap that shows nothing yet
    stays                why no other page opens
    clock, tapAfter      a running clock; how many seconds a tap comes after the jump
    broken, breaks       the clock while the skater has stopped, and while the music has; the buttons for that
    big                  the word alone: its markup, the headline of a pass to leave out and the word for it, the words
                         where nothing is advised and when all passes are logged
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

from markupsafe import Markup

from app.domain.words import Figure, say, say_many
from app.live.clock import TAP_AFTER
from app.live.events import PassSkated
from app.live.fold import LiveState
from app.live.line import LEAVE_OUT_NOW, Line
from app.live.policy import Pads, Policy, Said, Touch
from app.live.policy_pack import Packed, PadKey, pack
from app.live.rule_notes import RuleNote
from app.web.advisor import Elements
from app.web.languages import shown_text
from app.web.policy_words import Words
from app.web.rendering import text_of
from app.web.views import live
from app.web.views.boards import (
    DONE,
    LEAVE_OUT,
    LOGGING_ONLY,
    BigView,
    points_words,
    waiting_words,
    word_of,
)
from app.web.views.left import LeftView
from app.web.views.live import Advised, LiveView, Mode
from app.web.views.timing import BreakView

WHY = {
    "unknown": say("Logged; advice when back"),
    "clock": say("Logged; advice when back. By the clock this pass was in the other half than planned"),
    "hidden": say("Someone hid advice and points"),
    "aim": say("Logged; advice when back. A total to reach is beyond this phone alone"),
}
"""Why a phone without its laptop says nothing; the aim where the policy itself is silent."""
STAYS = say("No connection: no other page opens now. This one stays and goes on by itself.")
KEPT = say("Logged; it shows when the connection is back.")


def gap(name: str) -> str:
    """Where the phone puts a text."""
    return f"⟦{name}⟧"


@dataclass(frozen=True, slots=True)
class OfflineView:
    """The strip on the screen while there is no connection."""

    waiting: str


@dataclass(frozen=True, slots=True)
class NoteGap:
    """In place of a rule note."""

    says: str
    source: str
    how_sure: str


@dataclass(frozen=True, slots=True)
class Frame:
    """What the policy's markup is made from: the board as it stands, and what the pads need."""

    board: LiveView
    state: LiveState
    elements: Elements
    pads: Pads


def policy_json(version: str, policy: Policy, frame: Frame) -> dict[str, Any]:
    """The policy as JSON data."""
    packed, texts = pack(policy, _parts), dict[str, int]()
    for place in range(len(frame.state.plan.passes)):
        packed.pads.number((place, None))
    return {
        "version": version,
        "mode": str(frame.board.mode),
        "program": frame.board.program_id,
        "passes": len(frame.state.plan.passes),
        "seconds": [row.seconds for row in frame.state.plan.passes],
        "late": [int(row.late) for row in frame.state.plan.passes],
        "pads": [_pad(key, frame) for key in packed.pads.values],
        "boards": _boards(frame, packed),
        "points": [] if frame.board.mode is Mode.SILENT else _points(frame),
        "why": {name: shown_text(text) for name, text in WHY.items()},
        "quiet": "unknown" if frame.state.aim.kind == "expected" else "aim",
        "sign": text_of("live/_offline.html", OfflineView(gap("waiting"))),
        "kept": shown_text(KEPT),
        "stays": shown_text(STAYS),
        "clock": text_of("live/_clock.html", _running(frame.board)),
        "broken": [text_of("live/_clock.html", _broken(frame.board, music)) for music in (False, True)],
        "breaks": text_of("live/_breaks.html", _running(frame.board)).strip(),
        "big": _big(frame.board),
        "tapAfter": TAP_AFTER,
        "waits": [_waits(1), _waits(2)],
        "logged": shown_text(say("Pass %(number)s: logged", number=gap("number"))),
        "decimal": shown_text(Figure(".")),
        **_graph(packed, texts),
        "texts": [shown_text(text) for text in texts],
    }


def graph_json(policy: Policy) -> dict[str, Any]:
    """The graph and its words alone."""
    packed, texts = pack(policy, _parts), dict[str, int]()
    return _graph(packed, texts) | {
        "texts": [shown_text(text) for text in texts],
        "padKeys": packed.pads.values,
    }


def shape_of(line: Line) -> str:
    """Which pieces a line has: lines of one shape share their markup."""
    pieces = {
        "swap": line.is_swap,
        "gain": line.gain,
        "needs": line.needs,
        "cue": line.cue,
        "notes": line.notes,
        "caution": line.caution,
    }
    return " ".join(name for name, there in pieces.items() if there) or "plain"


def _parts(said: Said) -> tuple[Any, ...]:
    """Line, gone, left, more; a state without advice has no line."""
    if said.words is None:
        return None, (), (), ""
    words = said.words
    assert isinstance(words, Words)
    return words.line, words.gone, words.left, words.more


def _graph(packed: Packed, texts: dict[str, int]) -> dict[str, Any]:
    def number(text: str) -> int:
        return texts.setdefault(text, len(texts))

    lines, gone, left, more = packed.parts
    return {
        "rows": packed.rows,
        "cents": packed.cents.values,
        "losses": [[[number(text) for text in lost] for lost in row] for row in packed.losses.values],
        "lines": [_line(line, number) for line in lines.values],
        "gone": [[number(text) for text in one] for one in gone.values],  # type: ignore[attr-defined]
        "left": [[[number(one.words), int(one.owed)] for one in row] for row in left.values],  # type: ignore[attr-defined]
        "more": more.values,
    }


def _line(line: Any, number: Any) -> list[Any] | None:
    """Shape, headline, gain, needs, cue, why, caution, then the rule notes."""
    if line is None:
        return None
    words = (line.headline, line.gain, line.needs, line.cue, line.why, line.caution)
    notes = [[number(note.says), number(note.source), number(note.how_sure)] for note in line.notes]
    return [number(shape_of(line)), *map(number, words), notes]


def _pad(key: PadKey, frame: Frame) -> dict[str, Any]:
    place, swap = key
    offered = tuple(frame.elements.offered)
    key_there = frame.state.next_key + place - len(frame.state.logged)
    state = replace(frame.state, logged=_filled(frame.state, place), stopped=False, next_key=key_there)
    board = frame.board
    if board.mode is Mode.ADVICE:
        board = _advised(board, Line(is_swap=False, headline=""))
    pad = live.pad_of(state, frame.elements.known, offered, swap, board.mode)
    if pad is not None:  # without the laptop nothing is called
        pad = replace(pad, called="", as_called=None)
    view = replace(board, event_id=gap("event"), pad=pad, notice="")
    touches = frame.pads.touches(place, swap)
    return {
        "place": place,
        "swap": swap,
        "word": word_of(swap or frame.state.plan.passes[place].code, frame.elements),
        "markup": text_of("live/_pad.html", view),
        "sends": [one.sends for one in touches],
        "latest": [shown_text(live.said(place + 1, one.entry)) for one in touches],
        "fell": [int(_fell(one)) for one in touches],
    }


def _no_drawing() -> Markup:
    """In place of the drawing."""
    return Markup('<p class="quiet no-drawing">{}</p>').format(
        shown_text(say("The drawing waits for the connection."))
    )


def _waits(count: int) -> str:
    """How many taps wait, with a gap for the number: for one tap and for several."""
    return shown_text(say_many("%(taps)s tap waits", "%(taps)s taps wait", count, taps=gap("count")))


def _filled(state: LiveState, place: int) -> tuple[Any, ...]:
    """As many passes as lie before `place`; what they were makes no difference to a pad."""
    rows = state.plan.passes[:place]
    return tuple(PassSkated(number, row.code, "as planned", ()) for number, row in enumerate(rows, start=1))


def _fell(touch: Touch) -> bool:
    return isinstance(touch.entry, PassSkated) and any(one.fall for one in touch.entry.readings)


def _points(frame: Frame) -> list[str]:
    """Words on points before each pass."""
    states = [
        replace(frame.state, logged=_filled(frame.state, place))
        for place in range(len(frame.state.plan.passes))
    ]
    return [
        shown_text(points_words(gap("base"), gap("more"), waiting_words(state, frame.elements)))
        for state in states
    ]


def _boards(frame: Frame, packed: Packed) -> dict[str, str]:
    """The board by shape, with `fell` and `first` where they apply; `off`: outside the policy; `finished`."""
    shapes: dict[str, LiveView] = {}
    lines: Sequence[Any] = packed.parts[0].values
    for line in lines:
        if line is not None:
            shapes[shape_of(line)] = _advised(frame.board, line)
    silent = frame.board.mode is Mode.SILENT
    shapes["off"] = replace(frame.board, advised=None, fault="" if silent else gap("off"))
    shapes["finished"] = replace(frame.board, advised=None, fault="", mode=Mode.FINISHED, pad=None)
    found = {}
    for shape, view in shapes.items():
        bare = replace(
            view,
            drawing=_no_drawing(),
            notice="",
            event_id=gap("event"),
            redo_of="",
            questions=(),
            differ="",
            call=None,
        )
        numbered = replace(bare, undo_number=gap("undo"), undo_of=gap("undo_of"))  # type: ignore[arg-type]
        later = replace(numbered, latest=gap("latest"))
        found[shape] = text_of("live/_board.html", replace(later, after_fall=False))
        found[f"{shape} fell"] = text_of("live/_board.html", replace(later, after_fall=True))
        first = replace(bare, latest="", undo_number=0, undo_of="", after_fall=False)
        found[f"{shape} first"] = text_of("live/_board.html", first)
    return found


def _running(board: LiveView) -> LiveView:
    """The board with a clock that has just started."""
    started = replace(
        board.clock,
        started_ms=1,
        stood_ms=0,
        still_ms=0,
        face="0:00",
        interruption=None,
        ids=gap("clock_ids"),
    )
    return replace(board, clock=started, event_id=gap("event"))


def _broken(board: LiveView, music_stopped: bool) -> LiveView:
    """The board after the skater has stopped."""
    running = _running(board)
    clock = replace(running.clock, interruption=BreakView(1, gap("of"), music_stopped))
    return replace(running, clock=clock)


def _big(board: LiveView) -> dict[str, Any]:
    """The word alone. A swap that leaves a pass out has no element to name."""
    view = BigView(board.program_id, gap("word"), board.mode, board.seen, board.place, gap("event"))
    return {
        "markup": text_of("live/_big.html", view),
        "leave": [shown_text(LEAVE_OUT_NOW), shown_text(LEAVE_OUT)],
        "silent": shown_text(LOGGING_ONLY),
        "done": shown_text(DONE),
    }


def _advised(board: LiveView, line: Line) -> LiveView:
    def named(text: str, name: str) -> str:
        return gap(name) if text else ""

    note = cast(RuleNote, NoteGap(gap("says"), gap("source"), gap("how_sure")))
    gaps = Line(
        is_swap=line.is_swap,
        headline=gap("headline"),
        gain=named(line.gain, "gain"),
        needs=named(line.needs, "needs"),
        cue=named(line.cue, "cue"),
        why=gap("why"),
        notes=(note,) if line.notes else (),
        caution=named(line.caution, "caution"),
    )
    left = (LeftView(gap("left")), LeftView(gap("owed"), owed=True))
    return replace(
        board, mode=Mode.ADVICE, fault="", advised=Advised(gaps, (gap("gone"),), left, gap("points"), "")
    )
