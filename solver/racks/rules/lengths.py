"""Leads and cables reach from one thing to the other: from middle to middle at the rear, and what they take beside."""

from __future__ import annotations

from collections.abc import Iterator

from solver.physics.rack import UNIT_UM
from solver.racks.figures import mm
from solver.racks.limit import Placement, RackDraft, RackLimit, RackRule
from solver.racks.pieces import RackStand, Run
from solver.room.faults import quote

HALF_UM = UNIT_UM // 2
"""Half a rack unit, um."""


def length_um(placement: Placement, run: Run) -> int | None:
    """How long the cables between two things have to be; None where one of them has no place."""
    if any(end not in placement.at for end in run.ends):
        return None
    one, other = map(placement.middle, run.ends)
    return abs(one - other) * HALF_UM + placement.stand.spare_um


class Lengths(RackRule):
    """Cables that are long enough."""

    code = "rack-cable"
    work = 10

    def limits(self, stand: RackStand) -> Iterator[RackLimit]:
        """The shortest that is said between two things."""
        found: dict[tuple[str, str], int] = {}
        for run in stand.runs:
            if run.most_um is not None:
                found[run.ends] = min(run.most_um, found.get(run.ends, run.most_um))
        for ends, most in found.items():
            yield RackLimit(self.code, ends, most, "um", give=stand.rack.units * UNIT_UM + stand.spare_um)

    def used(self, placement: Placement, limit: RackLimit) -> int | None:
        one, other = limit.about
        return length_um(placement, Run((one, other), 1, None))

    def constrain(self, draft: RackDraft, limit: RackLimit) -> None:
        one, other = (draft.stand.by_name[name] for name in limit.about)
        draft.apart((one, other), limit, limit.bound - draft.stand.spare_um)

    def fault(self, placement: Placement, limit: RackLimit, used: int) -> str:
        one, other = map(quote, limit.about)
        return f"from {one} to {other} takes {mm(used)} of cable; there are {mm(limit.bound)}"

    def told(self, stand: RackStand, limit: RackLimit) -> str:
        one, other = map(quote, limit.about)
        return f"the cable from {one} to {other} is at most {mm(limit.bound)} long"

    def way(self, stand: RackStand, limit: RackLimit, amount: int) -> str:
        one, other = map(quote, limit.about)
        return f"a cable of {mm(limit.bound + amount)} from {one} to {other} instead of {mm(limit.bound)}"
