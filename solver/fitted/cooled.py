"""How cool a frame stays as it stands: with the slots that it leaves open, and without one of its fans."""

from __future__ import annotations

from dataclasses import dataclass, replace

from solver.fitted.frame import FrameStanding
from solver.physics.heat import Air, Fan
from solver.room.airway import with_open_slots, without_a_fan
from solver.room.hardware import FanAir


@dataclass(frozen=True)
class FanFails:
    """One of so many fans of a frame stands still; `margin_mk` is the least margin then, None where nobody can say.

    `lacking` is the figure that is not known then.
    """

    frame: str
    fans: int
    margin_mk: int | None
    lacking: str | None = None

    @property
    def runs_on(self) -> bool | None:
        """Whether the air stays below what every card stands; None where nobody can say."""
        return None if self.margin_mk is None else self.margin_mk >= 0


def fan_fails(frame: FrameStanding) -> FanFails | None:
    """What becomes of a frame when a fan fails; None where nobody says how many it has, or nothing of its air."""
    own, air = frame.site.chassis.air, frame.site.air
    if not isinstance(own, FanAir) or own.fans is None or air is None:
        return None
    as_it_is = with_open_slots(air, frame.site.spec, frame.site.chassis, open_slots(frame))
    left = without_a_fan(as_it_is, frame.site.spec, frame.site.chassis)
    if left is None:
        return FanFails(frame.site.name, own.fans, None, "still")
    margin, lacking = least_margin_mk(frame, left), _lacking(frame)
    if lacking is None or (margin is not None and margin < 0):  # what is not known makes it no cooler
        return FanFails(frame.site.name, own.fans, margin, None if margin is not None else "air_limit_c")
    return FanFails(frame.site.name, own.fans, None, lacking)


def _lacking(frame: FrameStanding) -> str | None:
    """The first figure that no file gives of how warm a frame gets, or how warm its cards may."""
    cards = [seat.kind for seat in frame.seats]
    lacking = [f"heat_w of {kind.id}" for kind in cards if kind.heat_mw is None]
    lacking += [f"heat_w of {frame.board.id}"] if frame.board.heat_w is None else []
    lacking += [f"air_limit_c of {kind.id}" for kind in cards if kind.air_limit_mk is None]
    return next(iter(lacking), None)


def runs_without_a_fan(frame: FrameStanding) -> bool:
    """Whether a frame runs on when a fan fails; where nobody can say it is taken not to."""
    fails = fan_fails(frame)
    return fails is not None and fails.runs_on is True


def open_slots(frame: FrameStanding) -> int:
    """Slots of a frame with no card in them."""
    return len(frame.site.slots) - len({slot for seat in frame.seats for slot in seat.covers} & set(frame.site.slots))


def own_margin_mk(frame: FrameStanding) -> int | None:
    """The least margin with no more slots open than a frame leaves open; None where that is no matter or not known."""
    air = frame.site.air
    if air is None or not isinstance(air.path, Fan) or not air.path.past:
        return None
    return least_margin_mk(frame, with_open_slots(air, frame.site.spec, frame.site.chassis, open_slots(frame)))


def least_margin_mk(frame: FrameStanding, air: Air) -> int | None:
    """The least margin of a frame's gaps if its air were another one."""
    site = replace(frame.site, air=air)
    found = []
    for gap, _ in frame.gap_margins():
        left, right = (None if seat is None else seat.kind for seat in map(frame.occupant, (gap, gap + 1)))
        found.append(site.margin_mk(left, right, frame.built.board))
    return min((margin for margin in found if margin is not None), default=None)
