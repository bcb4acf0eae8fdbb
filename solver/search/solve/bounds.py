"""What is known of the values that some builds cannot fall below, whatever was asked of them."""

from __future__ import annotations

from solver.search.model.scale import MARGIN, NEVER, Caps, Stage, no_tighter


class Bounds:
    """Bounds by stage and caps. What holds for those `above`, which these builds are among, holds for them."""

    def __init__(self, above: Bounds | None = None) -> None:
        self.above = above
        self._bounds: list[tuple[Stage, dict[Stage, int], int]] = []

    def lower(self, stage: Stage, caps: Caps) -> int:
        """What a stage cannot fall below under caps, from what was found under looser ones."""
        greatest = -NEVER if self.above is None else self.above.lower(stage, caps)
        for name, looser, bound in self._bounds:
            if bound > greatest and (name == stage or bound == NEVER) and no_tighter(looser, caps):
                greatest = bound
        return greatest

    def may_keep(self, caps: Caps) -> bool:
        """Whether known bounds leave room under caps."""
        return self.lower(MARGIN, caps) < NEVER and all(
            self.lower(stage, {s: v for s, v in caps.items() if s != stage}) <= cap
            for stage, cap in caps.items()
            if stage != MARGIN
        )

    def _know(self, stage: Stage, caps: Caps, bound: int) -> None:
        if bound > self.lower(stage, caps):
            self._bounds.append((stage, dict(caps), bound))
