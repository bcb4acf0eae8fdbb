"""What builds are ranked by: recomputed from a build, and as sums for the search. Lower is always better here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from solver.fitted.frame import FrameStanding
from solver.fitted.moves import renumbered, serving, stood_on, strap_moves
from solver.fitted.settings import read_settings
from solver.fitted.standing import Standing
from solver.room.scenario import MOVING
from solver.room.stood import Stood, strap_state
from solver.room.survey import Survey
from solver.room.words import DIRECTIONS, parse_percent
from solver.rules.limit import Draft, Load

SUMS = MOVING | {"cost", "stranded", "holes", "idle", "short", "short_needs"}
"""The criteria that a draft has a sum of by the same name."""


@dataclass(frozen=True, slots=True)
class Figures:
    """A build's own figures. Cost in minor units, margin in mK (None where it cannot be checked).

    `hottest` names the frame and the slots beside the gap with the least margin.
    """

    cost: int
    stranded: int
    holes: int
    idle: int
    margin_mk: int | None
    level: int
    hottest: tuple[str, tuple[int, ...]] | None
    misfit: int
    cards: int
    closed: int
    short: int = 0
    short_needs: int = 0
    """Channels that needs which are nice to have lack, and how many of them lack any."""
    cards_moved: int = 0
    straps_moved: int = 0
    lids_off: int = 0
    renumbered: int = 0
    """From what stands: cards that leave their slot, straps that are set, frames that are opened, needs' channels that
    get another number."""

    @property
    def unused(self) -> int:
        """Stranded, holes and idle together."""
        return self.stranded + self.holes + self.idle


def figures(survey: Survey, standing: Standing) -> Figures:
    """Work out a build's figures from its cards, numbers and services alone."""
    stranded = holes = idle = misfit = 0
    margins: list[tuple[int, str, tuple[int, ...]]] = []
    for frame in standing.frames:
        for direction in DIRECTIONS:
            stranded += frame.stranded(direction)
            holes += len(frame.holes(direction))
            used = {u.number for u in frame.uses if u.need.direction == direction and u.number is not None}
            idle += len(frame.answered(direction) - used)
        served_lines = {
            (u.need.direction, u.slot, u.channel.line): u.channel.line_type for u in frame.uses if u.channel is not None
        }
        misfit += sum(line_type.misfit for line_type in served_lines.values())
        for gap, margin in frame.gap_margins():
            margins.append((margin, frame.site.name, tuple(s for s in (gap, gap + 1) if frame.occupant(s) is not None)))
    coolest = min(margins, default=None)
    short = standing.short()
    margin_mk = coolest[0] if coolest else None
    return Figures(
        cost=standing.cost,
        stranded=stranded,
        holes=holes,
        idle=idle,
        margin_mk=margin_mk,
        level=survey.level(margin_mk),
        hottest=coolest[1:] if coolest else None,
        misfit=misfit,
        cards=standing.cards.total(),
        closed=sum(frame.layout.closed for frame in standing.frames if frame.layout is not None),
        short=sum(short.values()),
        short_needs=len(short),
        **moved(survey, standing),
    )


def moved(survey: Survey, standing: Standing) -> dict[str, int]:
    """What is moved from what stands, frame by frame; nothing where nothing is said to stand.

    Where a board is exchanged all cards come out. A strap that ends a clock line counts nowhere.
    """
    now = {frame.site.name: frame for frame in standing.frames}
    stands = survey.scenario.stands
    cards = straps = lids = 0
    if stands is None:
        return {}
    for site in survey.frames:
        stood = Stood.in_frame(stands, site.name)
        frame = now.get(site.name)
        other_board = frame is not None and frame.built.board != stood.board
        held = {(seat.slot, seat.kind.id) for seat in frame.seats} if frame else set()
        to_set = _straps_set(survey, stood, frame) if frame else 0
        cards += len(stood.cards) if other_board else len(set(stood.cards) - held)
        straps += to_set
        lids += held != set(stood.cards) or to_set > 0 or other_board
    after = serving([standing])
    channels = sum(renumbered(need, spots, after[survey.room, need]) for need, spots in stood_on(survey).items())
    return {"cards_moved": cards, "straps_moved": straps, "lids_off": lids, "renumbered": channels}


def _straps_set(survey: Survey, stood: Stood, frame: FrameStanding) -> int:
    board = frame.board
    ends = board.clock_input.strap_group if board.clock_input else None
    settings = read_settings(board, frame.built.straps, survey.family).chosen
    moves = strap_moves(stood.straps(board), strap_state(board, settings))
    return sum(move.group != ends for move in moves)


def value(survey: Survey, found: Figures, criterion: str) -> int:
    """A criterion's value of a build, lower is better: cooling counts the levels missing from enough."""
    if criterion == "cooling":
        return survey.top_level - found.level
    return int(getattr(found, criterion))


def objective(draft: Draft, criterion: str) -> Load:
    """The same for the search. Cooling is no sum: the search keeps whole margins instead."""
    if criterion == "unused":
        return [*draft.stranded(), *draft.holes(), *draft.idle()]
    if criterion not in SUMS:
        raise ValueError(f"no sum is called {criterion}")
    found: Load = getattr(draft, criterion)()
    return found


def slack(survey: Survey, criterion: str, value: int, asked: Mapping[str, int | str] | None = None) -> int:
    """How far a criterion may be given up against its best value, in its own unit: minor units, channels, levels.

    `asked` takes the place of the scenario's own slack.
    """
    given = (survey.slack if asked is None else asked).get(criterion, 0)
    if isinstance(given, str):
        return value * parse_percent(given, 1000) // 100
    if criterion == "cooling":
        return given * 1000 // survey.step_mk
    return given * 10**survey.decimals if criterion == "cost" else given
