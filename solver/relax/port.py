"""One more host port cabled to a frame."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from solver.relax.other import OtherWish
from solver.room.faults import quote
from solver.room.message import Message, Said, tell
from solver.room.survey import Survey
from solver.room.wish import Change, Document, Wish, room_path
from solver.room.words import Work


@dataclass(frozen=True)
class CabledPort(OtherWish):
    """A host port that nothing is cabled to, and the frame that it is cabled to then."""

    sort = "host port"
    order = 45
    work: ClassVar[Work] = "relax a limit"
    words = "another host port"

    port: str

    @classmethod
    def offered(cls, survey: Survey, fixed: Collection[Wish]) -> Iterator[Change]:
        for port in survey.host_ports if cls not in map(type, fixed) else ():
            if port.frame is None:
                yield from (Change(cls(port.name), 1, site.name) for site in survey.frames if site.reach)

    def path(self, survey: Survey) -> list[str | int]:
        index = next(n for n, port in enumerate(survey.host_ports) if port.name == self.port)
        return [*room_path(survey), "host_port", index, "frame"]

    def apply(
        self, survey: Survey, document: Document, room: Document, change: Change, number: Callable[[Decimal], Any]
    ) -> None:
        next(port for port in room["host_port"] if port["name"] == self.port)["frame"] = change.choice

    def told(self, survey: Survey, change: Change, instead: Sequence[int] = ()) -> Message:
        return tell("cable {port} to frame {frame}", port=quote(self.port), frame=str(change.choice))

    def values(self, survey: Survey, change: Change) -> tuple[Said | None, Said | None]:
        return None, str(change.choice)
