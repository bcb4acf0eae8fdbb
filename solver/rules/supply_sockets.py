"""Each cable that a card has to the supply has a socket of its sort in the card's frame."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from functools import partial

from solver.fitted.standing import Standing
from solver.fitted.unknown import Unknown
from solver.room.faults import quote
from solver.room.kind import Kind
from solver.room.message import Message, Said, joined, tell
from solver.room.survey import FrameSite, Survey
from solver.rules.limit import (
    Draft,
    Limit,
    Near,
    Place,
    Reading,
    Rule,
    Unyielding,
    frames_at,
    in_frame,
    in_several,
    site_of,
    whereabouts,
)

ENOUGH = 10**6
"""More sockets than a frame has cables."""


def cables_of(kind: Kind, sort: str) -> int:
    """How many cables of a sort one card has."""
    return kind.card.supply_cables.count(sort)


class SupplySockets(Rule):
    """Frames with sockets enough for the supply cables of their cards."""

    code = "supply-sockets"
    speaks_of = "loads"

    def limits(self, survey: Survey) -> Iterator[Limit]:
        """For each frame whose sockets are known, every sort that some card has a cable for."""
        sorts = sorted({sort for kind in survey.kinds.values() for sort in kind.card.supply_cables})
        for site in survey.frames:
            sockets = site.chassis.supply_sockets
            for sort in sorts if sockets is not None else ():
                yield Limit(self.code, Place(frame=site.name, subject=sort), (sockets or {}).get(sort, 0), "sockets")

    def used(self, survey: Survey, standing: Standing, limit: Limit) -> int | None:
        """The cables of the cards in the frame."""
        for frame in frames_at(standing, limit):
            return sum(own.count(limit.place.subject) for own in (seat.kind.card.supply_cables for seat in frame.seats))
        return None

    def constrain(self, draft: Draft, limit: Limit) -> None:
        """The same sum over seats."""
        sort = limit.place.subject or ""
        load = [(cables_of(seat.kind, sort), seat.term) for seat in draft.seats(site_of(draft.survey, limit))]
        load = [(count, term) for count, term in load if count]
        if load:
            draft.hold(limit, load)

    def separates(self, survey: Survey, kind: Kind) -> object:
        """Which cables it has."""
        return tuple(sorted(kind.card.supply_cables))

    def unknowns(self, survey: Survey, standing: Standing) -> Iterator[tuple[Unknown, int]]:
        """The sockets of a frame in which a card has a cable."""
        for frame in standing.frames:
            if frame.site.chassis.supply_sockets is None and any(seat.kind.card.supply_cables for seat in frame.seats):
                yield Unknown(self.code, "sockets for supply cables", frame.site.chassis.id), 1

    # How it is told

    def fault(self, survey: Survey, reading: Reading, standing: Standing | None = None) -> Message:
        limit = reading.limit
        chassis, sort = site_of(survey, limit).chassis.id, limit.place.subject or ""
        seats = [seat.kind for frame in frames_at(standing, limit) for seat in frame.seats] if standing else []
        counts = Counter(kind.id for kind in seats if cables_of(kind, sort))
        cards: list[Said] = [tell("{count} x {card}", count=count, card=card) for card, count in sorted(counts.items())]
        return tell(
            "{where}: supply cables take {used} {sockets}{having}; {chassis} has {bound}",
            where=whereabouts(limit),
            used=reading.used,
            sockets=_sockets(reading.used, sort),
            having=tell(" ({cards})", cards=joined(cards)) if cards else "",
            chassis=chassis,
            bound=limit.bound or "none",
        )

    def headroom(self, survey: Survey, reading: Reading, standing: Standing) -> Near | None:
        if not reading.used:
            return None
        limit = reading.limit
        text = "supply sockets {sort}{where}: {used} of {bound}"
        where, sort = in_frame(survey, limit), quote(limit.place.subject or "")
        said = tell(text, sort=sort, where=where, used=reading.used, bound=limit.bound)
        return Near(said, tell("supply_sockets of {chassis}", chassis=site_of(survey, limit).chassis.id))

    def hurdle(self, survey: Survey, channels: int, broken: Sequence[Reading]) -> Message:
        return joined([self.over(survey, each) for each in broken], "; ")

    def over(self, survey: Survey, reading: Reading) -> Message:
        text = "{where}supply sockets {sort} {used} of {bound}"
        limit = reading.limit
        sort = quote(limit.place.subject or "")
        return tell(text, where=in_several(survey, limit), sort=sort, used=reading.used, bound=limit.bound)

    def unyielding(self, survey: Survey) -> Iterator[Unyielding]:
        """What sockets each chassis has."""
        bounds = {
            (site_of(survey, limit).chassis.id, limit.place.subject or ""): limit.bound for limit in self.limits(survey)
        }
        for (chassis, sort), bound in bounds.items():
            cards = [kind.id for kind in survey.kinds.values() if cables_of(kind, sort)]
            said = tell(
                "{chassis} has {bound} {sockets} for supply cables ({cards})",
                chassis=chassis,
                bound=bound or "no",
                sockets=_sockets(bound, sort),
                cards=", ".join(cards),
            )
            yield Unyielding(self.code, said, partial(_without, sorts=(sort,), chassis=chassis))

    def lifted(self, survey: Survey) -> Survey | None:
        sorts = {limit.place.subject or "" for limit in self.limits(survey)}
        return _without(survey, sorts) if sorts else None


def _sockets(count: int, sort: str) -> str:
    """Sockets of a sort, such as ``sockets "aux-6"``."""
    return f"socket{'' if count == 1 else 's'} {quote(sort)}"


def _without(survey: Survey, sorts: Collection[str], chassis: str | None = None) -> Survey:
    """A room in which cards find a socket for every cable of some sorts, in all frames or those of one chassis."""

    def enough(site: FrameSite) -> FrameSite:
        sockets = site.chassis.supply_sockets
        if sockets is None or chassis not in (None, site.chassis.id):
            return site
        more = {**sockets, **dict.fromkeys(sorts, ENOUGH)}
        return replace(site, chassis=site.chassis.model_copy(update={"supply_sockets": more}))

    return replace(survey, frames=tuple(map(enough, survey.frames)))
