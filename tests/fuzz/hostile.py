"""What a form may be sent by somebody careless or hostile: values, fields, whole requests.

The fields of every route are read from its own OpenAPI description, so a new route is attacked without being listed.
"""

from __future__ import annotations

import copy
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from fastapi.openapi.utils import get_openapi
from hypothesis import HealthCheck, settings, strategies as st

from app.main import ROUTERS
from app.practice.endings import FATE_WORDS

EXAMPLES = int(os.environ.get("RECOUP_FUZZ_EXAMPLES", "0"))
"""Examples of a test; 0: few and always the same ones, as the test command wants it. `scripts/fuzz` sets more."""

FREE = "isu/2026-27/senior/women/free"
SHORT = "isu/2026-27/senior/women/short"

HOSTILE = (
    "",
    " ",
    "\0",
    "a\0b",
    "\n",
    "\r\nSet-Cookie: x=1",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "Infinity",
    "1e400",
    "1e-400",
    "-1",
    "-0",
    "0",
    "0x10",
    "1_000",
    "1,5",
    "+1",
    "9" * 20,
    "9" * 400,
    "9" * 5_000,
    "²",
    "١٢",
    "𝟛Lz",
    "3Lz\u202e+3T",
    "<script>alert(1)</script>",
    "'; DROP TABLE skater; --",
    "{{ 7*7 }}",
    "%s%n%00",
    "../../etc/passwd",
    "\ufeff",
    "=1+1",
    "e\u0301" * 50,
    "😀" * 500,
    "a" * 5_000,
    "3T+" * 30 + "3T",
    "1:99",
    "99:99",
    "-1:-1",
    "٣:٣",
    "null",
    "[]",
    "{}",
    "[" * 3_000,
    "true",
    "None",
    "2026-02-30",
    "9999-12-31",
    "0001-01-01",
    "03/04/2026",
)
"""Numbers that are none or too large, signs that mean something to a database, a page, a terminal or a sheet."""

CODES = (
    "3Lz+3T",
    "3F",
    "2A",
    "3Lo",
    "3F+2T",
    "3S",
    "2A+1Eu+3S",
    "3Lz",
    "CCoSp4",
    "StSq3",
    "3T+COMBO",
    "Lz",
    "3Lz<",
)
NUMBERS = ("1", "2", "3", "4", "6", "7", "8", "0", "-1", "99")
EVENT_NAMES = ("e1", "e2", "e3", "e4", "e1 e2", "e1 e1 e9", "bare-1")
TAPS = (
    "3Lz+3T planned",
    "3Lz+3T lost-2",
    "3F planned",
    "3F fell",
    "2A popped",
    "left out",
    "typed",
    "typed x",
    "3Q q",
)

PLAUSIBLE: Mapping[str, tuple[str, ...]] = {
    "code": CODES,
    "picked": CODES,
    "jump": CODES,
    "line": tuple(f"0:{20 + n} {one} 1" for n, one in enumerate(CODES)),
    "lines": ("0:20 3Lz+3T\n0:50 3F 2\n1:20 CCoSp4", "3Lz\n" * 40, "0:20 3Lz\n0:20 3Lz\n0:20 3Lz\n0:20 3Lz"),
    "edition": (FREE, SHORT, f"{FREE}@00", "isu/2026-27", "own/club/1/women/free"),
    "of": (*EVENT_NAMES, FREE, SHORT),
    "now": (FREE, SHORT),
    "before": (FREE, SHORT, *NUMBERS),
    "name": (FREE, "Ann", f"{SHORT}/"),
    "tap": TAPS,
    "over": EVENT_NAMES,
    "keeps": EVENT_NAMES,
    "instead_of": EVENT_NAMES,
    "by": ("Ann",),
    "relying_on": ("a doctor",),
    "kind": ("run-through", "competition", "expected", "reach", "floor", "lost tail", "popped"),
    "letter": ("A", "B", "C"),
    "fate": tuple(FATE_WORDS),
    "place": ("alone", "in a program", *NUMBERS),
    "day": ("2026-11-20", "yesterday", "2026-11-31"),
    "sending": ("aaaaaaaa-1", "bbbbbbbb-2"),
    "seconds": ("0:20", "1:40", "3:59", "10:00"),
    "goe": ("0", "2.5", "-5"),
    "options": ("3F, 2A", "leave out", ",,,"),
    "slack": ("0", "60", "61"),
    "asked": ("entry",),
    "most": ("1", "2", "any"),
    "threshold": ("0.5", "0", "1e308"),
    "most_changes": ("0", "1", "2", "3"),
    "trained_attempts": ("10", "0", "9" * 18),
    "trained_within_days": ("60", "0", "9" * 9, "9" * 18),
    "ready": ("yes",),
    "fall": ("yes",),
    "late": ("yes", "no"),
    "elements": ("3Lz+3T,3F,2A,3Lo,3F+2T,3S",),
    "points": ("62.40", "62,40", "400"),
    "components": ("30", "1e3"),
    "to": ("up", "down"),
    "mark": ("none", "warm-up", "done"),
    "role": ("coach", "logger", "viewer"),
    "took": ("1200",),
    "title": ("Club cup",),
    "values": ("3Lz 6.10", "3Lz clean 6.10"),
    "boxes.most": ("7", "0", "99"),
    "of_layout": ("1",),
    "field": ("boxes.most", "title", "values"),
    "show": ("1", "2 3Lz", "popped"),
    "ask": ("yes",),
    "confirmed": ("yes",),
    "a": ("1", "2", "3"),
    "b": ("1", "2", "3", ""),
    "c": ("1", "3", ""),
    "delimiter": ("comma", "tab"),
    "text": ("date,element,result\n2026-11-20,3Lz,clean\n", "1 3Lz 5.90 0.59 1 1 1 1 1 6.49\n"),
    "order": ("day first",),
    "made_at": ("1764000000000",),
    "sent_at": ("1764000005000", "1764000000000"),
    "withdrawn": ("yes", "no"),
    "sheet": ('{"rows": []}', "{}", '{"rows": [{"number": 1}]}'),
}
"""Values that lead deeper into a route, by the name of the field."""

_fresh = count(1)


def many(usual: int) -> settings:
    """Hypothesis settings of a fuzz test: the same few examples every time, or as many new ones as asked for."""
    checks = list(HealthCheck)
    return settings(
        max_examples=EXAMPLES or usual,
        derandomize=EXAMPLES == 0,
        database=None,
        deadline=None,
        suppress_health_check=checks,
    )


def values(name: str) -> st.SearchStrategy[str]:
    """Values for a field of that name, plausible and hostile."""
    known = PLAUSIBLE.get(name, NUMBERS)
    if name == "event_id":
        return st.one_of(st.builds(lambda: f"f{next(_fresh)}"), st.sampled_from((*EVENT_NAMES, *HOSTILE)))
    # Twice the plausible ones: a request that is refused at its first field attacks nothing behind it.
    kinds = (st.sampled_from(known), st.sampled_from(known), st.sampled_from(HOSTILE), st.text(max_size=30))
    return st.one_of(*kinds)


@dataclass(frozen=True)
class Target:
    """One route: method, address with its `{names}`, the fields of its address, query and form, and its files."""

    method: str
    path: str
    inside: tuple[str, ...] = ()
    query: tuple[str, ...] = ()
    form: tuple[str, ...] = ()
    files: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.method} {self.path}"


@dataclass(frozen=True)
class Attack:
    """One request as it will be sent."""

    path: str
    query: tuple[tuple[str, str], ...] = ()
    form: Mapping[str, list[str]] = field(default_factory=dict)
    files: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)
    body: bytes | None = None
    kind: str = ""


def targets() -> Iterator[Target]:
    """Every route of the app, those outside its public description too."""
    routes = []
    for router in ROUTERS:
        for route in router.routes:
            shown = copy.copy(route)
            shown.include_in_schema = True  # type: ignore[attr-defined]  # all of ours are APIRoute
            routes.append(shown)
    described = get_openapi(title="every route", version="0", routes=routes)
    named = described.get("components", {}).get("schemas", {})
    for path, verbs in described["paths"].items():
        for verb, said in verbs.items():
            yield _target(verb.upper(), path, said, named)


def _target(method: str, path: str, said: dict[str, Any], named: dict[str, Any]) -> Target:
    places: dict[str, list[str]] = {"path": [], "query": []}
    for one in said.get("parameters", ()):
        places.setdefault(one["in"], []).append(one["name"])
    form: dict[str, Any] = {}
    for kind, content in said.get("requestBody", {}).get("content", {}).items():
        if kind != "application/json":
            form |= _properties(content["schema"], named)
    files = tuple(name for name, one in form.items() if _is_file(one))
    rest = tuple(name for name in form if name not in files)
    return Target(method, path, tuple(places["path"]), tuple(places["query"]), rest, files)


def _properties(schema: dict[str, Any], named: dict[str, Any]) -> dict[str, Any]:
    found = named[schema["$ref"].rpartition("/")[2]] if "$ref" in schema else schema
    return dict(found.get("properties", {}))


def _is_file(schema: dict[str, Any]) -> bool:
    kinds = (schema, *schema.get("anyOf", ()))
    return any("contentMediaType" in one or one.get("format") == "binary" for one in kinds)


ALL_FIELDS = tuple(sorted({name for one in targets() for name in one.form} | set(PLAUSIBLE)))
"""Also fields that a route reads by itself and so describes nowhere."""

FILES = (
    b"",
    b"\0" * 40,
    b"%PDF-1.4\n%%EOF",
    b"%PDF-" + b"\xff" * 400,
    b"\xff\xfe1\x00,\x00",
    "1;3Lz;5,90".encode("cp1252"),
    b"date,element,result\n2026-11-20,3Lz,clean\n",
    b'[file]\ntitle = "x"\neditions = ["senior/women/free"]\n',
    b"a = " + b"[" * 3_000,
    b"1,3Lz\n" * 20_000,
    b'"\n' * 300,
)


@st.composite
def attacks(draw: st.DrawFn, target: Target) -> Attack:
    """A request to that route: fields missing, doubled, foreign, or of another kind than expected."""
    path = target.path
    for name in target.inside:
        number = st.sampled_from(
            ("1", "1", "1", "2", "3", "0", "-1", "999", "9" * 30, "x", "1%00", "%F0%9F%98%80")
        )
        known = st.sampled_from(PLAUSIBLE.get(name, ("1",)))
        drawn = draw(st.one_of(number, known) if not name.endswith("_id") else number)
        path = path.replace(f"{{{name}}}", drawn.replace("\0", "%00"))
    query = tuple((name, draw(values(name))) for name in target.query if draw(st.integers(0, 5)) < 5)
    if target.method == "GET":
        return Attack(path, query)
    odd = draw(st.integers(0, 19))
    if odd == 0:
        body = draw(st.sampled_from((b"", b"{}", b"[1", b"\xff\xfe", b"a=1&" * 2_000, b"a" * 100_000)))
        kinds = (
            "application/json",
            "application/x-www-form-urlencoded",
            "multipart/form-data",
            "multipart/form-data; boundary=x",
            "text/\xe9",
            "",
        )
        return Attack(path, query, body=body, kind=draw(st.sampled_from(kinds)))
    foreign = draw(st.lists(st.sampled_from(ALL_FIELDS), max_size=3))
    form: dict[str, list[str]] = {}
    for name in dict.fromkeys((*target.form, *foreign)):
        if draw(st.integers(0, 9)):  # one in ten is missing
            form[name] = draw(st.lists(values(name), min_size=1, max_size=2 if odd == 1 else 1))
    files = {
        name: (draw(st.sampled_from(("a.pdf", "", "a\0.csv", "é" * 300))), draw(st.sampled_from(FILES)))
        for name in target.files
    }
    if odd == 2 and form:  # a file where a text is expected
        files[draw(st.sampled_from(sorted(form)))] = ("x.bin", b"\xff\0")
    return Attack(path, query, form, files)
