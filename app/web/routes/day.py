"""Competition days: the list, the start order, and opening each skater's live program with one tap."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request, Response

from app.domain.words import listed, say
from app.errors import InputError
from app.live.warm_up import LETTERS
from app.storage.records import StartMark
from app.storage.stores import Stores
from app.web import htmx
from app.web.deps import StoresDep, VisitorDep
from app.web.opening import open_start
from app.web.rendering import page
from app.web.views.day import day_view, days_view, order_view

router = APIRouter(prefix="/day", include_in_schema=False)

Text = Annotated[str, Form(max_length=80)]
Mark = Annotated[str, Query(max_length=40)]
MARKS: dict[str, StartMark] = {"none": "", "warm-up": "warm-up", "done": "done"}
MOVES = {"up": -1, "down": 1}


@router.get("")
def days(request: Request, stores: StoresDep) -> Response:
    """Every day, and the form for a new one."""
    return page(request, "day/days.html", days_view(stores))


@router.post("")
def make(request: Request, stores: StoresDep, name: Text, kind: Text = "competition") -> Response:
    """A new day, without skaters yet."""
    if not name.strip():
        raise InputError(say("name"), say("nothing given; expected a name for your own list"))
    if kind not in ("competition", "run-through"):
        raise InputError(
            say("kind"), say("%(given)s given; expected run-through or competition", given=repr(kind))
        )
    chosen = stores.days.add(
        " ".join(name.split()), "competition" if kind == "competition" else "run-through", datetime.now(UTC)
    )
    return htmx.go_to(request, f"/day/{chosen.id}/order")


@router.get("/{day_id}")
def show(request: Request, stores: StoresDep, visitor: VisitorDep, day_id: int) -> Response:
    """The order, how far everybody is, one tap to each live program."""
    view = day_view(stores, stores.days.get(day_id), visitor)
    return page(request, "day/page.html", view, fragment="day/_starts.html")


@router.get("/{day_id}/news")
def news(request: Request, stores: StoresDep, visitor: VisitorDep, day_id: int, seen: Mark = "") -> Response:
    """For an open page: the starts when anything has changed since `seen`, else 204."""
    view = day_view(stores, stores.days.get(day_id), visitor)
    if view.seen == seen:
        return Response(status_code=204)
    return page(request, "day/page.html", view, fragment="day/_starts.html")


@router.post("/{day_id}/starts/{start_id}/open")
def open_program(request: Request, stores: StoresDep, day_id: int, start_id: int) -> Response:
    """To the live program of a start, opened now if nobody has; everybody comes to the same one."""
    day, start = stores.days.get(day_id), stores.days.start(day_id, start_id)
    return htmx.go_to(request, f"/live/{open_start(stores, day, start).id}")


@router.get("/{day_id}/order")
def order(request: Request, stores: StoresDep, day_id: int) -> Response:
    """The order with the forms that change it."""
    return page(request, "day/order.html", order_view(stores, stores.days.get(day_id)))


@router.post("/{day_id}/starts")
def add(request: Request, stores: StoresDep, day_id: int, a: Text, b: Text = "", c: Text = "") -> Response:
    """One more skater at the end of the order, with the agreed layouts."""
    layouts, skater_id = _layouts(stores, a, b, c)
    stores.days.add_start(day_id, skater_id, layouts)
    return htmx.go_to(request, f"/day/{day_id}/order")


@router.post("/{day_id}/starts/{start_id}/layouts")
def agree(
    request: Request, stores: StoresDep, day_id: int, start_id: int, a: Text, b: Text = "", c: Text = ""
) -> Response:
    """Other layouts for a start. A program opened already takes them when one is chosen, before its first pass."""
    start = stores.days.start(day_id, start_id)
    layouts, skater_id = _layouts(stores, a, b, c)
    if skater_id != start.skater_id:
        raise InputError("a", say("a layout of another skater; expected one of this skater"))
    stores.days.agree(day_id, start_id, layouts)
    return htmx.go_to(request, f"/day/{day_id}/order#start-{start_id}")


@router.post("/{day_id}/starts/{start_id}/move")
def move(request: Request, stores: StoresDep, day_id: int, start_id: int, to: Text) -> Response:
    """One place up or down."""
    if to not in MOVES:
        raise InputError(say("to"), say("%(given)s given; expected up or down", given=repr(to)))
    stores.days.move(day_id, start_id, MOVES[to])
    return htmx.go_to(request, f"/day/{day_id}/order#start-{start_id}")


@router.post("/{day_id}/starts/{start_id}/withdraw")
def withdraw(request: Request, stores: StoresDep, day_id: int, start_id: int, withdrawn: Text) -> Response:
    """The skater does not start, or does after all; nothing that was logged is touched."""
    stores.days.withdraw(day_id, start_id, withdrawn == "yes")
    return htmx.go_to(request, f"/day/{day_id}/order#start-{start_id}")


@router.post("/{day_id}/starts/{start_id}/remove")
def remove(request: Request, stores: StoresDep, day_id: int, start_id: int) -> Response:
    """Take out a start that was added by mistake; one with a live program stays."""
    if not stores.days.remove(day_id, start_id):
        kept = say("This start has a live program, so it stays in the list. Mark it as withdrawn instead.")
        return page(request, "day/order.html", order_view(stores, stores.days.get(day_id), kept))
    return htmx.go_to(request, f"/day/{day_id}/order")


@router.post("/{day_id}/starts/{start_id}/mark")
def mark(request: Request, stores: StoresDep, day_id: int, start_id: int, mark: Text) -> Response:
    """What the coach says: in warm-up, done, or neither."""
    if mark not in MARKS:
        raise InputError(
            say("mark"),
            say("%(given)s given; expected one of %(expected)s", given=repr(mark), expected=listed(MARKS)),
        )
    stores.days.mark(day_id, start_id, MARKS[mark])
    return htmx.go_to(request, f"/day/{day_id}/starts/{start_id}")


def _layouts(stores: Stores, *given: str) -> tuple[tuple[int, ...], int]:
    """The ids of up to three layouts of one skater under one rulebook, each once, and whose they are."""
    numbers = [text for text in given if text]
    for letter, text in zip(LETTERS, given, strict=True):
        if text and not text.isdecimal():
            raise InputError(
                letter.lower(), say("%(given)s given; expected one of the layouts", given=repr(text))
            )
    layouts = [stores.layouts.get(number) for number in dict.fromkeys(map(int, numbers))]
    if not layouts:
        raise InputError("a", say("nothing chosen; expected a layout"))
    first = layouts[0]
    for other in layouts[1:]:
        if other.skater_id != first.skater_id:
            raise InputError(
                "b",
                say("%(name)s is another skater's; expected layouts of one skater", name=repr(other.name)),
            )
        if other.edition != first.edition:
            raise InputError(
                "b",
                say(
                    "%(name)s is under another rulebook than %(name_2)s; expected the same one",
                    name=repr(other.name),
                    name_2=repr(first.name),
                ),
            )
    return tuple(one.id for one in layouts), first.skater_id
