"""Text to elements, the panel's notation. `str(parse_element(code)) == code`, letter for letter.

The grammar, read left to right (technical panel handbook 2025/26, panel slides 2026, official sheets):

    element  = unit | spin | steps | choreo
    unit     = jump { mark } { "+" jump { mark } } [ "+REP" ]
    jump     = [ revolutions ] takeoff [ "e" | "!" ] [ "q" | "<" | "<<" ] [ "*" ]
    mark     = "+COMBO" | "+SEQ"
    spin     = letters "Sp" [ level ] [ "V" ] [ "*" ],  level = B 1 2 3 4
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import cast

from app.domain.elements import Edge, Element, Jump, JumpElement, Mark, OtherElement, Rotation
from app.domain.words import say
from app.errors import NotationError

_JUMP = re.compile(
    r"(?P<revolutions>[0-9]?)(?P<takeoff>Lo|Lz|Eu|[TSFA])(?P<edge>[e!]?)(?P<rotation>q|<<|<|)(?P<star>\*?)\Z"
)
_OTHER = re.compile(
    r"(?P<name>F?C?(?:Co|C|S|L|U)?Sp|StSq|ChSq|ChSp)(?P<level>[B1-4]?)(?P<reduced>V?)(?P<star>\*?)\Z"
)
_LOOKS_LIKE_OTHER = re.compile(r"[A-Za-z]*S[pq]")
_MARKS = ("COMBO", "SEQ")
_JUMP_EXPECTED = say(
    "a jump such as 3Lz, 2A<, 3F!q or Eu: revolutions 1-5, take-off T S Lo Eu F Lz A, edge e or !, "
    "rotation q < <<, star *"
)


def _unreadable(code: str, offending: str, expected: str) -> NotationError:
    return NotationError(
        code,
        offending,
        expected,
        say(
            "cannot read %(code)s at %(offending)s; expected %(expected)s",
            code=repr(code),
            offending=repr(offending),
            expected=expected,
        ),
    )


@lru_cache(maxsize=20_000)
def parse_element(code: str) -> Element:
    """Read one element code. Raises NotationError showing the offending part and what was expected."""
    if not isinstance(code, str) or not code.strip():
        raise _unreadable(str(code), str(code), say("an element code such as 3Lz+3T or CCoSp4"))
    if code != code.strip():
        raise _unreadable(code, code[len(code.rstrip()) :] or code[:1], say("no spaces around the code"))
    other = _OTHER.match(code)
    if other:
        return _other(code, other)
    if _LOOKS_LIKE_OTHER.match(code):
        raise _unreadable(code, code, say("a spin (CCoSp4, FSSp3V), StSq or ChSq with level B or 1-4"))
    return _unit(code)


def parse_jump_element(code: str) -> JumpElement:
    """Read a code that must be a jump element."""
    element = parse_element(code)
    if not isinstance(element, JumpElement):
        raise _unreadable(code, code, say("a jump element"))
    return element


def _other(code: str, found: re.Match[str]) -> OtherElement:
    name = found["name"]
    kind = "choreo" if name.startswith("Ch") else "steps" if name == "StSq" else "spin"
    if found["reduced"] and kind != "spin":
        raise _unreadable(code, "V", say("V only behind a spin"))
    if kind == "choreo" and found["level"] not in ("", "1"):
        raise _unreadable(code, found["level"], say("level 1 for a choreographic element"))
    return OtherElement(
        kind=kind,  # type: ignore[arg-type]  # one of the three literals by construction
        name=name,
        level=found["level"],
        reduced=bool(found["reduced"]),
        starred=bool(found["star"]),
    )


def _unit(code: str) -> JumpElement:
    jumps: list[Jump] = []
    repeat = False
    for part in code.split("+"):
        if repeat:
            raise _unreadable(code, part, say("nothing behind +REP"))
        if part == "REP" and jumps:
            repeat = True
        elif part in _MARKS and jumps:
            jumps[-1] = _marked(code, jumps[-1], part)
        else:
            jumps.append(_jump(code, part))
    if all(jump.is_euler for jump in jumps):
        raise _unreadable(code, code, say("a jump before and behind an Euler; alone it is no jump element"))
    return JumpElement(tuple(jumps), repeat)


def _marked(code: str, jump: Jump, mark: str) -> Jump:
    if jump.mark:
        raise _unreadable(code, f"+{mark}", say("one +COMBO or +SEQ behind a jump"))
    return Jump(
        jump.takeoff, jump.revolutions, jump.edge, jump.rotation, jump.starred, cast(Mark, f"+{mark}")
    )


def _jump(code: str, part: str) -> Jump:
    found = _JUMP.match(part)
    if not found:
        raise _unreadable(code, part or "+", _JUMP_EXPECTED)
    revolutions = int(found["revolutions"]) if found["revolutions"] else None
    takeoff = found["takeoff"]
    most = 1 if takeoff == "Eu" else 4 if takeoff == "A" else 5
    if revolutions is not None and not 1 <= revolutions <= most:
        raise _unreadable(
            code, part, say("1 to %(most)s revolutions for %(takeoff)s", most=most, takeoff=takeoff)
        )
    if found["edge"] and takeoff not in ("F", "Lz"):
        raise _unreadable(code, part, say("an edge call (e or !) only on F and Lz"))
    if revolutions is None and takeoff != "Eu" and (found["edge"] or found["rotation"]):
        raise _unreadable(code, part, say("no edge or rotation call on a jump without revolutions"))
    return Jump(
        takeoff,
        revolutions,
        cast(Edge, found["edge"]),
        cast(Rotation, found["rotation"]),
        bool(found["star"]),
    )
