"""Who is asking."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Visitor:
    """The laptop Recoup runs on, or a phone. `device_id` is None for the laptop and for unpaired phones."""

    name: str
    is_laptop: bool
    device_id: int | None = None

    @property
    def may_enter(self) -> bool:
        """May this visitor see anything beyond the pairing page?"""
        return self.is_laptop or self.device_id is not None


LAPTOP = Visitor("laptop", is_laptop=True)
STRANGER = Visitor("unpaired phone", is_laptop=False)
