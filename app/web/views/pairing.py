"""View models of the pairing pages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from markupsafe import Markup

from app.security.roles import Role


@dataclass(frozen=True)
class PhoneView:
    """One paired phone; `has_run_out`: too old or too long unseen, it has to be paired anew."""

    id: int
    name: str
    paired_at: datetime
    last_seen: datetime | None
    role: Role
    sees_advice: bool
    has_run_out: bool = False
    whose: str = ""
    """The skater whose own phone it is; empty for the other roles."""


@dataclass(frozen=True)
class RoleView:
    """A role that may be chosen for the next code; `name` is sent, for a skater with their number."""

    name: str
    words: str
    chosen: bool


@dataclass(frozen=True)
class CertificateView:
    """The laptop's own certificate; `missing`: addresses the laptop has now that it does not name."""

    fingerprint: str
    until: str
    missing: tuple[str, ...]


@dataclass(frozen=True)
class PhonesView:
    """The laptop's page. `code` empty = none works now, `code_role` what it makes of a phone; `qr` inline SVG.

    `addresses` most likely first.
    """

    is_open: bool
    addresses: tuple[str, ...]
    code: str
    minutes_left: int
    qr: Markup | None
    phones: tuple[PhoneView, ...]
    roles: tuple[RoleView, ...]
    code_role: str
    certificate: CertificateView | None
    is_proxied: bool = False
    """Phones come in by a public address: the door is neither opened nor shut here, and the link is the proxy's."""


@dataclass(frozen=True)
class PairView:
    """The phone's page. `problem` empty = nothing wrong yet; `has_left`: it was paired until a moment ago."""

    code: str = ""
    name: str = ""
    problem: str = ""
    has_left: bool = False


@dataclass(frozen=True)
class HereView:
    """What a paired phone sees of itself: its name, its role in words, how long that holds."""

    name: str
    words: str
    is_coach: bool
    until: date
    unseen_days: int
