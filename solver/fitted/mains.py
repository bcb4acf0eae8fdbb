"""What a frame of a build draws from the mains."""

from __future__ import annotations

from solver.fitted.frame import FrameStanding
from solver.physics.power import rail_heat_mw
from solver.room.words import in_thousandths


def mains_mw(frame: FrameStanding) -> int | None:
    """What the frame draws at most, rails at their maxima and the supply's loss; None where a figure is missing."""
    watts = [watts for _, watts in _heats(frame)]
    known = [each for each in watts if each is not None]
    return sum(known) + in_thousandths(frame.site.chassis.supply.all_loss_w) if len(known) == len(watts) else None


def undrawn(frame: FrameStanding) -> list[str]:
    """The cards, and the board, of which it is not known what they draw; each once."""
    return sorted({item for item, watts in _heats(frame) if watts is None})


def _heats(frame: FrameStanding) -> list[tuple[str, int | None]]:
    draws = [(seat.kind.id, seat.kind.rails_ma) for seat in frame.seats]
    draws.append((frame.board.id, frame.site.board_rails_ma.get(frame.board.id)))
    return [(item, None if draw is None else rail_heat_mw(draw)) for item, draw in draws]
