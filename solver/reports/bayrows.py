"""Bays as they are seen from the front: every point of every pair of rows, with its label and its normal."""

from __future__ import annotations

from collections.abc import Sequence

from solver.fitted.standing import Standing
from solver.reports.element import Element
from solver.reports.labels import Label
from solver.room.bays import ROWS, Bay


class BayPlace(Element):
    """A pair of points, one above the other: what their labels say, null where nothing is on them, and the normal."""

    point: int
    upper: str | None
    upper_whole: str | None
    lower: str | None
    lower_whole: str | None
    normal: str


class BayPair(Element):
    """A pair of rows: sources above, destinations below."""

    upper_row: str
    lower_row: str
    places: list[BayPlace]


class BaySheet(Element):
    """A bay from the front. `block` is how many points beside each other a connector at its rear serves."""

    room: str | None = None
    name: str
    gauge: str
    sleeves: str | None
    phantom: str
    rear: str | None
    block: int
    pairs: list[BayPair]


def bay_sheets(rooms: Sequence[Standing], labels: Sequence[Label]) -> list[BaySheet]:
    """The bays of some rooms, in the order of the file."""
    said = {(label.room, label.strip, label.at): label for label in labels if label.on == "bay"}
    found = []
    for room in rooms:
        name = room.survey.room
        bays = next(own.bay for own in room.survey.scenario.rooms() if (own.name or None) == name)
        for bay in bays:
            own = {(strip, at): label for (at_room, strip, at), label in said.items() if at_room == name}
            found.append(
                BaySheet(
                    room=name,
                    name=bay.name,
                    gauge=bay.gauge,
                    sleeves=bay.sleeves,
                    phantom=bay.phantom,
                    rear=None if bay.rear is None else bay.rear.connector,
                    block=bay.block,
                    pairs=[_pair(bay, pair, own) for pair in range(1, bay.pairs + 1)],
                )
            )
    return found


def _pair(bay: Bay, pair: int, said: dict[tuple[str, str], Label]) -> BayPair:
    upper, lower = ROWS[2 * pair - 2], ROWS[2 * pair - 1]
    places = []
    for point in range(1, bay.points + 1):
        above, below = (said.get((f"{bay.name} {row}", f"{row}{point}")) for row in (upper, lower))
        places.append(
            BayPlace(
                point=point,
                upper=None if above is None else above.text,
                upper_whole=None if above is None else above.whole,
                lower=None if below is None else below.text,
                lower_whole=None if below is None else below.whole,
                normal=bay.normal_at(pair, point),
            )
        )
    return BayPair(upper_row=upper, lower_row=lower, places=places)
