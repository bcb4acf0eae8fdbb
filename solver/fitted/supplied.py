"""What of a frame keeps running when one of its supplies or a rail fails."""

from __future__ import annotations

from collections.abc import Mapping

from solver.fitted.frame import FrameStanding


def loads_without_a_supply(frame: FrameStanding) -> dict[str, tuple[int, int]]:
    """By rail what the cards and the board draw, and what is left of it without a supply, in mA, as far as known."""
    draws = [seat.kind.rails_ma for seat in frame.seats] + [frame.site.board_rails_ma.get(frame.built.board)]
    left = frame.site.left_ma or {}
    return {rail: (sum((draw or {}).get(rail, 0) for draw in draws), bound) for rail, bound in left.items()}


def keeps_running(frame: FrameStanding) -> bool:
    """Whether what is left of each rail without a supply carries the cards and the board, as far as that is known."""
    return all(used <= bound for used, bound in loads_without_a_supply(frame).values())


def stops_with_a_supply(frame: FrameStanding) -> bool:
    """Whether a frame stands still without one of its supplies: without its only one it does."""
    return frame.site.chassis.supply.count == 1 or not keeps_running(frame)


def draws(rails_ma: Mapping[str, int] | None, rail: str) -> bool:
    """Whether something draws on a rail; where no figures are known, it is taken to."""
    return rails_ma is None or bool(rails_ma.get(rail))


def stops_without(frame: FrameStanding, rail: str) -> set[int]:
    """The first slots of the cards that stand still without a rail: all of them where the board does."""
    board = draws(frame.site.board_rails_ma.get(frame.built.board), rail)
    return {seat.slot for seat in frame.seats if board or draws(seat.kind.rails_ma, rail)}
