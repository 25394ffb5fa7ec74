"""Who may do what: the one table of roles. The gate asks it before any route is reached.

The laptop itself is the coach. A phone gets its role with the code it is paired with: a coach does everything but let
others in or take everything out, a logger logs, a viewer watches, a skater's own phone shows that skater's pages
(`belongs_to`). Anybody at the boards may say that the skater is hurt. What stands in no row is for the coach alone, so
a new route is shut to everybody else until somebody opens it here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from app.domain.words import say

Role = Literal["coach", "logger", "viewer", "skater"]

COACH: Role = "coach"
LOGGER: Role = "logger"
VIEWER: Role = "viewer"
SKATER: Role = "skater"

WORDS: dict[Role, str] = {
    COACH: say("coach: logs, sees advice, decides"),
    LOGGER: say("logger: logs and undoes what this phone logged"),
    VIEWER: say("viewer: watches"),
    SKATER: say("skater: sees their own pages, nothing of others"),
}
"""Roles as the pairing page offers them."""

SEES_ADVICE: dict[Role, bool] = {COACH: True, LOGGER: False, VIEWER: True, SKATER: False}
"""Whether a phone of that role sees advice at first, where the event allows it; the coach may change that.

On a skater's own phone it says whether points show: no advice ever reaches it during a skate."""

LAPTOP_ONLY = ("/phones", "/data", "/backups")
"""Letting others in, taking everything out or away, bringing copies back: beginnings of addresses no phone may use,
whatever its role."""
PAIRING = "/pair"
OF_PAIRING = ("/static/leave.js", "/static/unpaired.js", "/static/kept.js")
"""Scripts with which the browser of a phone that is not paired forgets what it kept."""
EVERYBODY: frozenset[Role] = frozenset({LOGGER, VIEWER, SKATER})

_PROGRAM = "/live/{program_id}"
_DAY = "/day/{day_id}"
_START = "/starts/{start_id}"
_READING = ("", "/news", "/stream", "/log", "/big", "/policy/here", "/policy/{version}")
_OWN = "/skaters/{skater_id}"
_LAYOUT = "/layouts/{layout_id}"
_TRAINER = f"{_LAYOUT}/trainer"
_LOGGING = ("/pass", "/undo", "/redo", "/music", "/interrupt", "/resume")

RIGHTS: tuple[tuple[str, str, frozenset[Role]], ...] = (
    ("GET", "/live", frozenset({LOGGER, VIEWER})),
    *(("GET", _PROGRAM + path, frozenset({LOGGER, VIEWER})) for path in _READING),
    *(("POST", _PROGRAM + path, frozenset({LOGGER})) for path in _LOGGING),
    ("POST", f"{_PROGRAM}/hurt", frozenset({LOGGER, VIEWER})),
    *(("GET", _DAY + path, frozenset({LOGGER, VIEWER})) for path in ("", "/news", _START, _START + "/news")),
    ("POST", f"{_DAY}{_START}/open", frozenset({LOGGER, VIEWER})),
    *(("GET", _OWN + path, frozenset({SKATER})) for path in ("/view", "/trainer")),
    ("POST", f"{_OWN}/view/words", frozenset({SKATER})),
    *(("GET", _LAYOUT + path, frozenset({SKATER})) for path in ("/card", "/card/print", "/tally")),
    *(("GET", _TRAINER + path, frozenset({SKATER})) for path in ("", "/call", "/answer/{sending}")),
    ("POST", f"{_TRAINER}/answer", frozenset({SKATER})),
    ("GET", "/language", EVERYBODY),
    ("POST", "/language", EVERYBODY),
    ("GET", "/words", EVERYBODY),
    ("GET", PAIRING, EVERYBODY),
    ("POST", PAIRING, EVERYBODY),
    ("POST", f"{PAIRING}/leave", EVERYBODY),
    ("GET", "/privacy", EVERYBODY),
    *(("GET", path, EVERYBODY) for path in ("/alone", "/worker.js")),
    ("GET", "/static/{file}", EVERYBODY),
)
"""Method, address and the roles beside the coach that may use it.

`{program_id}` and the other ids are numbers, `{file}` any path, `{version}` what a policy is called, `{sending}` what
a form is called."""


def _pattern(address: str) -> re.Pattern[str]:
    ids = dict.fromkeys(("program_id", "day_id", "start_id", "skater_id", "layout_id"), "[0-9]+")
    kinds = {**ids, "version": "[0-9a-z]+", "sending": "[0-9A-Za-z-]+", "file": ".+"}
    pattern = re.escape(address)
    for name, kind in kinds.items():
        pattern = pattern.replace(rf"\{{{name}\}}", kind)
    return re.compile(pattern)


_COMPILED = tuple((method, _pattern(address), roles) for method, address, roles in RIGHTS)


def may(role: Role, method: str, path: str, *, is_laptop: bool = False) -> bool:
    """Whether a visitor of that role may send this request. HEAD asks for what GET asks for."""
    if not is_laptop and is_laptops_own(path):
        return False
    if role == COACH:
        return True
    asked = "GET" if method == "HEAD" else method
    return any(asked == wanted and role in roles and p.fullmatch(path) for wanted, p, roles in _COMPILED)


def is_laptops_own(path: str) -> bool:
    """Whether no phone may use that address, not even a coach's."""
    return any(path == start or path.startswith(f"{start}/") for start in LAPTOP_ONLY)


_WHOSE = re.compile(r"/(skaters|layouts)/([0-9]+)(/.*)?")


def belongs_to(path: str) -> tuple[Literal["skaters", "layouts"], int] | None:
    """The skater or the layout an address is about; None: about neither. A skater's phone is asked for it."""
    found = _WHOSE.fullmatch(path)
    if found is None:
        return None
    return ("skaters" if found[1] == "skaters" else "layouts"), int(found[2])


def read_role(text: str, known: Iterable[Role] = (COACH, LOGGER, VIEWER, SKATER)) -> Role | None:
    """The role of that name; None when there is none."""
    return next((role for role in known if role == text), None)
