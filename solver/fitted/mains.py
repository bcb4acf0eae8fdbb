"""What a frame of a build draws from the mains."""

from __future__ import annotations

from solver.fitted.frame import FrameStanding
from solver.physics.power import rail_heat_mw
from solver.room.words import in_thousandths


def mains_mw(frame: FrameStanding) -> int | None:
    """What the frame draws at most, rails at their maxima and the supply's loss; None where a figure is missing."""
    draws = [seat.kind.rails_ma for seat in frame.seats] + [frame.site.board_rails_ma.get(frame.built.board)]
    watts = [None if draw is None else rail_heat_mw(draw) for draw in draws]
    if any(w is None for w in watts):
        return None
    return sum(w or 0 for w in watts) + in_thousandths(frame.site.chassis.supply.all_loss_w)
