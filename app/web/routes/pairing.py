"""Letting phones in: the page on the laptop (/phones) and the page on the phone (/pair)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, cast

import segno
from fastapi import APIRouter, Depends, Form, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from app.domain.words import listed, say
from app.errors import InputError
from app.security import certificate, roles, tokens
from app.security.pairing import PairingDesk, ShownCode, TooManyTries, WrongCode
from app.settings import Settings
from app.storage.records import DeviceRecord
from app.web import htmx
from app.web.deps import StoresDep, VisitorDep
from app.web.error_pages import status_of
from app.web.live_log import hub_of
from app.web.phone_door import PhoneDoor, own_addresses
from app.web.rendering import page
from app.web.views.pairing import CertificateView, HereView, PairView, PhonesView, PhoneView, RoleView

router = APIRouter(include_in_schema=False)


def get_desk(request: Request) -> PairingDesk:
    """The desk of this server."""
    return cast(PairingDesk, request.app.state.pairing_desk)


def get_door(request: Request) -> PhoneDoor:
    """The phones' door of this server."""
    return cast(PhoneDoor, request.app.state.phone_door)


DeskDep = Annotated[PairingDesk, Depends(get_desk)]
DoorDep = Annotated[PhoneDoor, Depends(get_door)]


@router.get("/phones")
def phones(request: Request, stores: StoresDep, desk: DeskDep, door: DoorDep) -> Response:
    """Address, QR code, one-time code and the phones that may come in."""
    code = desk.shown(stores.devices, datetime.now(UTC)) if door.is_open else None
    skaters = {one.id: one.name for one in stores.skaters.all()}
    role = _sent(code.role, code.skater_id) if code else roles.COACH
    view = PhonesView(
        is_open=door.is_open,
        addresses=door.addresses(),
        code=code.spaced if code else "",
        minutes_left=_minutes_left(code),
        qr=_qr(door.addresses(), code),
        phones=tuple(
            PhoneView(
                d.id,
                d.name,
                d.paired_at,
                d.last_seen,
                d.role,
                d.sees_advice,
                not _is_alive(d),
                skaters.get(d.skater_id or 0, ""),
            )
            for d in stores.devices.all()
        ),
        roles=tuple(RoleView(name, words, name == role) for name, words in _offered(skaters)),
        code_role=_whose(code, skaters) if code else roles.COACH,
        certificate=_certificate_view(request),
        is_proxied=door.is_proxied,
    )
    return page(request, "pairing/phones.html", view, fragment="pairing/_phones.html")


@router.post("/phones/open")
async def open_door(request: Request, stores: StoresDep, desk: DeskDep, door: DoorDep) -> Response:
    """Listen on the network and offer a code."""
    await door.open()
    desk.offer(stores.devices, datetime.now(UTC))
    return htmx.go_to(request, "/phones")


@router.post("/phones/close")
async def close_door(request: Request, door: DoorDep) -> Response:
    """Stop listening on the network."""
    await door.close()
    return htmx.go_to(request, "/phones")


@router.post("/phones/certificate")
async def make_certificate(request: Request, door: DoorDep) -> Response:
    """Make a certificate for the addresses this laptop has now; the phones' door then speaks https."""
    names = [*own_addresses(), "localhost", "127.0.0.1"]
    certificate.make(_data_dir(request), list(dict.fromkeys(names)), datetime.now(UTC))
    await _reopen(door)
    return htmx.go_to(request, "/phones")


@router.post("/phones/certificate/remove")
async def remove_certificate(request: Request, door: DoorDep) -> Response:
    """Back to plain http."""
    certificate.remove(_data_dir(request))
    await _reopen(door)
    return htmx.go_to(request, "/phones")


@router.post("/phones/code")
def new_code(
    request: Request, stores: StoresDep, desk: DeskDep, role: Annotated[str, Form()] = roles.COACH
) -> Response:
    """A new code for a phone of that role; the old one stops working. A skater's own is sent as `skater 3`."""
    name, _, number = role.partition(" ")
    known = roles.read_role(name)
    if known is None:
        raise InputError(
            say("role"),
            say(
                "given %(given)s; expected one of %(expected)s",
                given=repr(role[:20]),
                expected=listed(roles.WORDS),
            ),
        )
    if (known == roles.SKATER) != number.isdecimal():
        raise InputError(
            say("role"),
            say("given %(given)s; a skater's own phone needs to know whose it is", given=repr(role[:20])),
        )
    skater = stores.skaters.get(int(number)) if number else None
    desk.offer(stores.devices, datetime.now(UTC), known, skater.id if skater else None)
    return htmx.go_to(request, "/phones")


@router.post("/phones/{device_id}/advice")
def show_advice(
    request: Request, device_id: int, stores: StoresDep, shown: Annotated[str, Form()]
) -> Response:
    """Whether advice may show on one phone that is not a coach's."""
    stores.devices.show_advice(device_id, shown == "yes")
    return htmx.go_to(request, "/phones")


@router.post("/phones/{device_id}/revoke")
def revoke(request: Request, device_id: int, stores: StoresDep) -> Response:
    """Shut one phone out, and what it has open."""
    stores.devices.revoke(device_id, datetime.now(UTC))
    hub_of(request).wake_all()
    return htmx.go_to(request, "/phones")


@router.get("/pair")
def pair_page(
    request: Request, stores: StoresDep, visitor: VisitorDep, code: str = "", left: str = ""
) -> Response:
    """The only page an unpaired phone sees. A code from the QR picture is filled in, never sent by itself."""
    if visitor.is_laptop:
        return RedirectResponse("/", status_code=303)
    if visitor.device_id is not None:
        return page(request, "pairing/here.html", _here(stores.devices.get(visitor.device_id)))
    return page(request, "pairing/pair.html", PairView(code=code[:20], has_left=left == "yes"))


@router.post("/pair")
def pair(
    request: Request,
    stores: StoresDep,
    desk: DeskDep,
    visitor: VisitorDep,
    code: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
) -> Response:
    """Trade a code for a token in a cookie. A token the phone had before stops working."""
    caller = request.client.host if request.client else ""
    try:
        token = desk.accept(stores.devices, caller, code, name, datetime.now(UTC))
    except (WrongCode, TooManyTries) as error:
        view = PairView(code="", name=name[:40], problem=error.problem)
        return page(request, "pairing/pair.html", view, status=status_of(error))
    if visitor.device_id is not None:
        stores.devices.revoke(visitor.device_id, datetime.now(UTC))
    answer = RedirectResponse("/", status_code=303)
    # Without a certificate this travels over plain HTTP, where a `secure` cookie would never come back.
    answer.set_cookie(
        tokens.cookie_name(request.url.scheme),
        token,
        max_age=tokens.COOKIE_SECONDS,
        httponly=True,
        samesite="strict",
        path="/",
        secure=request.url.scheme == "https",
    )
    return answer


@router.post("/pair/leave")
def leave(request: Request, stores: StoresDep, visitor: VisitorDep) -> Response:
    """A phone leaves: its token stops working, and its browser is asked to forget all it kept."""
    if visitor.device_id is None:
        raise InputError(
            say("phone"), say("this is the laptop, which cannot leave; shut phones out on the page Phones")
        )
    stores.devices.revoke(visitor.device_id, datetime.now(UTC))
    answer = RedirectResponse(f"{roles.PAIRING}?left=yes", status_code=303)
    answer.delete_cookie(
        tokens.cookie_name(request.url.scheme),
        path="/",
        secure=request.url.scheme == "https",
        httponly=True,
        samesite="strict",
    )
    if request.url.scheme == "https":  # elsewhere browsers pass over it; the page does the same by script
        answer.headers["Clear-Site-Data"] = '"cache", "cookies", "storage"'
    return answer


def _here(device: DeviceRecord) -> HereView:
    until = device.paired_at + tokens.LONGEST
    words, is_coach = roles.WORDS[device.role], device.role == roles.COACH
    return HereView(device.name, words, is_coach, until.date(), tokens.UNSEEN.days)


def _is_alive(device: DeviceRecord) -> bool:
    return tokens.is_alive(device.paired_at, device.last_seen, datetime.now(UTC))


async def _reopen(door: PhoneDoor) -> None:
    if door.is_open:
        await door.close()
        await door.open()


def _data_dir(request: Request) -> Path:
    return cast(Settings, request.app.state.settings).data_dir


def _certificate_view(request: Request) -> CertificateView | None:
    found = certificate.read(_data_dir(request), datetime.now(UTC))
    if found is None:
        return None
    missing = tuple(name for name in own_addresses() if not found.covers(name))
    return CertificateView(found.fingerprint, found.until.strftime("%Y-%m-%d"), missing)


def _sent(role: roles.Role, skater_id: int | None) -> str:
    """A role as the form sends it."""
    return role if skater_id is None else f"{role} {skater_id}"


def _offered(skaters: Mapping[int, str]) -> Iterator[tuple[str, str]]:
    """Roles for the next phone: the three of the boards, then each skater's own."""
    for role, words in roles.WORDS.items():
        if role != roles.SKATER:
            yield role, words
    for number, name in skaters.items():
        yield (
            _sent(roles.SKATER, number),
            say("%(name)s's own phone: their own pages, nothing of others", name=name),
        )


def _whose(code: ShownCode, skaters: Mapping[int, str]) -> str:
    """What a code makes of a phone, in words."""
    name = skaters.get(code.skater_id or 0, "")
    return say("skater, %(name)s", name=name) if name else code.role


def _minutes_left(code: ShownCode | None) -> int:
    if code is None:
        return 0
    return max(1, round((code.expires_at - datetime.now(UTC)).total_seconds() / 60))


def _qr(addresses: tuple[str, ...], code: ShownCode | None) -> Markup | None:
    if code is None or not addresses:
        return None
    drawn = segno.make(f"{addresses[0]}/pair?code={code.signs}", micro=False)
    title = say("QR code: opens the pairing page on a phone")
    # The text comes from our own drawing of our own address; nothing a visitor typed is in it.
    return Markup(
        drawn.svg_inline(omitsize=True, border=4, light="#fff", dark="#000", svgclass="qr", title=title)
    )
