"""The rules, in the order in which the search states them and a check reports them."""

from __future__ import annotations

from collections.abc import Sequence

from solver.room.kind import Kind
from solver.room.message import Said
from solver.room.survey import FrameSite, Survey
from solver.room.wish import LimitWish
from solver.rules.alike_levels import AlikeLevels
from solver.rules.apart_from import ApartFrom
from solver.rules.asked_numbers import AskedNumbers
from solver.rules.banks import Banks
from solver.rules.bay_points import BayPoints
from solver.rules.budget import Budget
from solver.rules.card_settings import CardSettings
from solver.rules.cards_set import CardsSet
from solver.rules.channels import Channels
from solver.rules.clock_lines import ClockLines
from solver.rules.companions import Companions
from solver.rules.consecutive import Consecutive
from solver.rules.cooling import Cooling
from solver.rules.exclusions import Exclusions
from solver.rules.fixed import Fixed
from solver.rules.host_link import HostLink
from solver.rules.kept_empty import KeptEmpty
from solver.rules.limit import Apart, Limit, Rule
from solver.rules.must_seat import MustSeat
from solver.rules.must_use import MustUse
from solver.rules.needs import Needs
from solver.rules.numbers import Numbers
from solver.rules.one_card import OneCard
from solver.rules.one_frame import OneFrame
from solver.rules.out_of_service import OutOfService
from solver.rules.pairs import Pairs
from solver.rules.per_card import PerCard
from solver.rules.phantom import Phantom
from solver.rules.pins import Pins
from solver.rules.rails import Rails
from solver.rules.rate_conversion import RateConversion
from solver.rules.refused import Refused
from solver.rules.returns_on import ReturnsOn
from solver.rules.same_latency import SameLatency
from solver.rules.seats import Seats
from solver.rules.serves import Serves
from solver.rules.signals import Signals
from solver.rules.spread import Spread
from solver.rules.stock import Stock
from solver.rules.straps import Straps
from solver.rules.supplies import Supplies
from solver.rules.supply_sockets import SupplySockets
from solver.rules.survive import Survive

LIST: tuple[Rule, ...] = (
    Seats(),
    Refused(),
    KeptEmpty(),
    Pins(),
    Fixed(),
    MustSeat(),
    MustUse(),
    Companions(),
    Exclusions(),
    Straps(),
    ClockLines(),
    CardsSet(),
    OutOfService(),
    Serves(),
    Signals(),
    Phantom(),
    CardSettings(),
    RateConversion(),
    SameLatency(),
    AlikeLevels(),
    Channels(),
    Numbers(),
    HostLink(),
    Needs(),
    Survive(),
    AskedNumbers(),
    Consecutive(),
    Banks(),
    OneCard(),
    Pairs(),
    ReturnsOn(),
    OneFrame(),
    PerCard(),
    Spread(),
    ApartFrom(),
    Stock(),
    Budget(),
    Rails(),
    Supplies(),
    SupplySockets(),
    BayPoints(),
    Cooling(),
)

ALL: dict[str, Rule] = {rule.code: rule for rule in LIST}
"""Every rule by its stable code."""

SHARED = frozenset(rule.code for rule in LIST if rule.shared)
"""Rules whose limits several rooms keep together."""


def limits(survey: Survey) -> list[tuple[Rule, Limit]]:
    """Every limit of every rule, in order."""
    return [(rule, limit) for rule in LIST for limit in rule.limits(survey)]


def wanted(survey: Survey) -> set[str]:
    """Cards that some rule may ask for, or that count as moved when they go, though they serve no need."""
    stood = {card for site in survey.frames if site.stood is not None for _, card in site.stood.cards}
    return stood | {card for rule in LIST for card in rule.wants(survey)}


def losing_a_card_hurts(survey: Survey) -> bool:
    """Whether taking out a card that serves nothing and that no rule wants may break a rule."""
    return any(rule.losing_a_card_hurts(survey) for rule in LIST)


def ready_for(survey: Survey) -> tuple[list[Said], Survey]:
    """The failures that a room is kept ready for, and the room as if it were for none."""
    found = []
    for rule in LIST:
        said, plain = rule.ready_for(survey), rule.lifted(survey)
        if said is not None and plain is not None:
            found.append(said)
            survey = plain
    return found, survey


def apart(survey: Survey, site: FrameSite, board: str, kinds: Sequence[Kind], bound: int) -> list[Apart]:
    """What may not stand side by side in a frame with a board, where the graded rules keep a bound."""
    every = [(rule, limit) for rule in LIST for limit in rule.at(survey, bound) if limit.place.frame == site.name]
    return [rule.apart(limit, site, board, kinds) for rule, limit in every]


def wish_of(limit: Limit) -> LimitWish | None:
    """What somebody could change so that a limit gives way; None where nobody can."""
    return ALL[limit.rule].wish(limit) if limit.source is not None and limit.give else None


def wishes(survey: Survey) -> list[LimitWish]:
    """Every wish of a room that has a negotiable limit."""
    found = {wish for _, limit in limits(survey) if (wish := wish_of(limit)) is not None}
    return sorted(found, key=lambda wish: wish.rank)
