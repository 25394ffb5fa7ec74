"""The clock of a live program: started with the music, standing still while the music does. Pure, no clock of its own.

Moments are seconds since 1970 by the laptop's clock; running seconds count from the start of the music. A tap comes
after the jump: `TAP_AFTER` seconds are taken off before the clock says in which half a pass started (common practice,
no source); the coach can always overrule it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from app.live.events import Ids, Interrupted, MusicStarted, Resumed, Stamped

TAP_AFTER = 3.0


@dataclass(frozen=True, slots=True)
class Interruption:
    """The skater stopped at `since` and skated again at `until` (None: not yet). `music_stopped`: so did the clock."""

    ids: Ids
    since: float
    until: float | None
    music_stopped: bool


@dataclass(frozen=True, slots=True)
class MusicClock:
    """`started`: when the music began (None: not yet); `ids`: the events that say so; interruptions in order."""

    started: float | None = None
    ids: Ids = ()
    interruptions: tuple[Interruption, ...] = ()

    @property
    def runs(self) -> bool:
        """Whether the music has started."""
        return self.started is not None

    @property
    def open_interruption(self) -> Interruption | None:
        """The interruption that lasts at this moment, None when there is none."""
        return next((one for one in self.interruptions if one.until is None), None)

    @property
    def stood(self) -> float | None:
        """Since when the clock stands still; None while it runs."""
        standing = [one.since for one in self.interruptions if one.until is None and one.music_stopped]
        return min(standing, default=None)

    def running(self, at: float) -> float | None:
        """The running second at that moment; None before the start."""
        if self.started is None or at < self.started:
            return None
        return at - self.started - self._still(at)

    def started_late(self, at: float, half: float) -> bool | None:
        """Whether a pass tapped at that moment started in the second half; None: the clock does not know.

        After an interruption with the music stopped nothing counts as late: the factor applies only to elements
        started in the second half and before it (ISU Communication 2176).
        """
        second = self.running(at)
        if second is None or half <= 0:
            return None
        if any(one.music_stopped and one.since < at for one in self.interruptions):
            return False
        return second - TAP_AFTER >= half

    def _still(self, at: float) -> float:
        """Seconds between start and `at` in which the music stood still, overlapping interruptions once."""
        total, reached = 0.0, self.started or 0.0
        for one in self.interruptions:
            if one.music_stopped:
                begin = max(one.since, reached)
                end = min(at, at if one.until is None else one.until)
                if end > begin:
                    total, reached = total + end - begin, end
        return total


def clock_of(events: Mapping[str, Stamped]) -> MusicClock:
    """The clock after those events (all of them in force)."""
    starts = sorted((one.at, one.id) for one in events.values() if isinstance(one.event, MusicStarted))
    if not starts:
        return MusicClock()
    started = starts[0][0]
    # Music that starts again from the beginning ends what was before it.
    since = tuple(one for one in _interruptions(events.values()) if one.since >= started)
    return MusicClock(started, tuple(name for _, name in starts), since)


def _interruptions(events: Iterable[Stamped]) -> tuple[Interruption, ...]:
    ends: dict[str, float] = {}
    for one in events:
        if isinstance(one.event, Resumed):
            for name in one.event.of:
                ends[name] = min(one.at, ends.get(name, one.at))
    found = [
        Interruption((one.id,), one.at, ends.get(one.id), one.event.music_stopped)
        for one in events
        if isinstance(one.event, Interrupted)
    ]
    return tuple(sorted(found, key=lambda one: (one.since, one.ids)))
