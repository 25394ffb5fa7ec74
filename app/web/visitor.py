"""Who is asking."""

from __future__ import annotations

from dataclasses import dataclass

from app.security.roles import COACH, SKATER, Role


@dataclass(frozen=True)
class Visitor:
    """The laptop Recoup runs on, or a phone. `device_id` is None for the laptop and for unpaired phones.

    `sees_advice`: whether advice and points may show there, where the event allows them.
    """

    name: str
    is_laptop: bool
    device_id: int | None = None
    role: Role = COACH
    sees_advice: bool = True
    skater_id: int | None = None
    """Whose own phone it is; None for every other role."""

    @property
    def may_enter(self) -> bool:
        """May this visitor see anything beyond the pairing page?"""
        return self.is_laptop or self.device_id is not None

    @property
    def is_coach(self) -> bool:
        """May this visitor decide?"""
        return self.role == COACH

    @property
    def is_skater(self) -> bool:
        """Is this a skater's own phone?"""
        return self.role == SKATER

    @property
    def device(self) -> str:
        """The device as the log names it."""
        return "laptop" if self.is_laptop else str(self.device_id)


LAPTOP = Visitor("laptop", is_laptop=True)
STRANGER = Visitor("unpaired phone", is_laptop=False)
