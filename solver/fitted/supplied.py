"""Whether frames keep running when one of their supplies fails."""

from __future__ import annotations

from solver.fitted.standing import FrameStanding


def keeps_running(frame: FrameStanding) -> bool:
    """Whether what is left of each rail without a supply carries the cards and the board, as far as that is known."""
    draws = [seat.kind.rails_ma for seat in frame.seats] + [frame.site.board_rails_ma.get(frame.built.board)]
    left = frame.site.left_ma or {}
    return all(sum((draw or {}).get(rail, 0) for draw in draws) <= bound for rail, bound in left.items())
