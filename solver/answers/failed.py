"""What is lost where something fails in a build, and what mends it, the least work first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from solver.answers.mending import Repairs
from solver.answers.one_room import one_room
from solver.files.reading import Loaded
from solver.fitted.card_moves import Seat as SeatOf
from solver.fitted.card_moves import serials
from solver.fitted.cooled import fan_fails
from solver.fitted.moves import serving
from solver.fitted.repatched import Repatch
from solver.fitted.standing import Standing
from solver.fitted.supplied import loads_without_a_supply, stops_with_a_supply
from solver.handover.clocking import stand_ins
from solver.handover.failing import Dead, left_unfed, what_fails
from solver.handover.wiring import Wiring
from solver.reports.cooled import without_fan_told
from solver.reports.failed import (
    Failed,
    Points,
    called_with_rooms,
    moved,
)
from solver.reports.wording import amount_text
from solver.room.assets import SHELF, with_serial
from solver.room.build import Build
from solver.search.solve.clock import Clock


def failed(
    loaded: Loaded, build: Build, whats: Sequence[str], workers: int, clock: Clock, room: str | None = None
) -> Failed:
    """What failing things take from a build, and how it is mended.

    Parameters
    ----------
    whats
        Names as `find` knows them: ``slot:A:5`` or ``card:ID`` for cards, ``A:in:37`` for one channel, ``loom:NAME``,
        ``bay:B14``; and of a frame ``frame:A`` for all of it, ``board:A``, ``supply:A`` for one of its supplies,
        ``fan:A``, ``rail:A:+5``. They fail together.
    room
        One of several rooms, in which they fail.

    Raises
    ------
    WrongQuestion
        If nothing has a name that is asked for, no room has that of the room, or there are several and none is named.
    """
    own = one_room(loaded, build, room)
    handed, standing = own.handed, own.standing
    dead = what_fails(own.wiring, standing, whats)
    points = Points([*own.wiring.trails, *called_with_rooms(Wiring(own.others).trails)])
    repair = Repairs(standing, dead, points, workers, clock, own.others)
    affected = [
        moved(Repatch(need, channel, spot, None), repair.points, repair.points)
        for (_, need), spots in serving([standing]).items()
        for channel, spot in enumerate(spots, start=1)
        if repair.taken.takes(need, spot)
    ]
    known = serials(standing).seats
    return Failed(
        **handed.head,
        currency=standing.survey.currency,
        failed=list(dict.fromkeys(what.strip() for what in whats)),
        cards=[
            f"{with_serial(seat.kind.id, known.get(SeatOf(None, frame.site.name, seat.slot)))} "
            f"in slot {seat.slot} of {frame.site.name}"
            for frame in standing.frames
            for seat in frame.seats
            if (frame.site.name, seat.slot) in repair.taken.cards
        ],
        frames=[*_without_fans(standing, dead), *_running_on(standing, dead)],
        without_clock=sorted(dead.unclocked()),
        could_lead=stand_ins(dead.tree, dead.unclocked(), dead.givers | dead.boards),
        affected=affected,
        in_doubt=[
            moved(Repatch(need, channel, spot, None), repair.points, repair.points)
            for need, channel, spot in left_unfed(standing, repair.unfed)
        ],
        repairs=repair.all(own.scenario) if affected else [],
        notes=[
            *_in_no_slot(dead),
            *handed.notes,
        ],
    )


def _in_no_slot(dead: Dead) -> Iterator[str]:
    """Cards with serial numbers that stand in no slot of the build."""
    for asset in dead.shelved:
        where = "" if asset.at == SHELF else "stands in no slot of this build: it "
        yield f"{asset.told} {where}{asset.where}: nothing is lost with it, and here it is no spare"


def _running_on(standing: Standing, dead: Dead) -> Iterator[str]:
    """Frames that run on without one of their supplies, with the rail of which the others carry the most."""
    for frame in standing.frames:
        name, count = frame.site.name, frame.site.chassis.supply.count
        loads = loads_without_a_supply(frame)
        if name in dead.supplies and name not in dead.frames and loads and not stops_with_a_supply(frame):
            rail, (used, left) = max(loads.items(), key=lambda load: (Fraction(*load[1]) if load[1][1] else 0, load[0]))
            others = "its other supply carries it" if count == 2 else f"the other {count - 1} supplies carry it"
            amounts = f"{amount_text(standing.survey, 'mA', used)} of {amount_text(standing.survey, 'mA', left)}"
            yield f"frame {name} runs on: {others}, most of all rail {rail}, {amounts}; replace the failed one soon"


def _without_fans(standing: Standing, dead: Dead) -> Iterator[str]:
    """What becomes of frames without a fan."""
    for frame in standing.frames:
        fails = fan_fails(frame) if frame.site.name in dead.fans - dead.frames else None
        if fails is not None:
            yield f"{without_fan_told(fails)} (estimate)"
