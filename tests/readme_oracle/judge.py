"""Which rules a build breaks, by the words of `scenarios/RULES.md` alone: whatever somebody drew, with its figures."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product

from readme_oracle.planner import Asked, Figures, Placed, Room, Side, banned, names_of, renumbers, same

from solver.room.build import Build, BuiltFrame, Service
from solver.room.hardware import StrapGroup
from solver.room.words import DIRECTIONS, Direction

Fault = tuple[str, str | None]
"""A rule, and the frame where it is broken."""

Place = tuple[str, int, int, int]
"""A channel: its frame, slot and number along the slot, and its direction."""


@dataclass(frozen=True)
class Judged:
    faults: frozenset[Fault]
    figures: Figures
    surplus: int
    """Channels that serve a need beyond what it asks for."""
    certain: bool = True
    """Whether every group that renumbers is set."""


class Judge(Room):
    """A room whose builds are judged."""

    def judge(self, build: Build) -> Judged:
        """Every rule that a build breaks, with the frame where there is one, and its figures.

        Where a group that renumbers is left out: what is wrong under each legal setting of it.
        """
        ways = list(product(*(self._completed(built) for built in build.frame)))
        judged = [self._judge(Build(frame=way)) for way in ways] or [self._judge(build)]
        left_out = {("straps", b.name) for b in build.frame if b.cards and self._left_out(b)}
        certain = frozenset.intersection(*(j.faults for j in judged))
        return replace(judged[0], faults=certain | left_out, certain=len(ways) == 1 and not left_out)

    def settled(self, build: Build) -> bool:
        """Whether each setting that a build names is known and may stand there: its numbers are beyond doubt."""
        for built in build.frame:
            board = self.boards[built.board]
            known = all(self._named(g, built.straps.get(g.name)) for g in board.strap_group if g.name in built.straps)
            if not known or banned(board, built.straps) or not list(self.settings(board, built.straps)):
                return False
        return True

    def _left_out(self, built: BuiltFrame) -> set[str]:
        return {g.name for g in self.boards[built.board].strap_group if renumbers(g) and g.name not in built.straps}

    def _completed(self, built: BuiltFrame) -> list[BuiltFrame]:
        """The frame with what it leaves out set in each legal way; as it is where that cannot be told."""
        if not self._left_out(built):
            return [built]
        board, loud = self.boards[built.board], self._left_out(built)
        ways = [dict(s.straps) for s in self.settings(board, built.straps)]
        return [built.model_copy(update={"straps": {**built.straps, **{g: way[g] for g in loud}}}) for way in ways]

    def _judge(self, build: Build) -> Judged:
        faults: set[Fault] = set()
        placed: list[Placed] = []
        for built in build.frame:
            if built.cards:
                faults |= self._frame_faults(built)
                placed.append(self._placed(built))
        used = {p.frame: p for p in placed}
        for name, frame in self.frames.items():
            cards = dict(used[name].cards) if name in used else {}
            if any(cards.get(int(slot)) != card for slot, card in frame.pins.items()):
                faults.add(("pins", name))
            if frame.must_use and not cards:
                faults.add(("must-use", name))
        counts = sum((p.counts for p in placed), Counter[str]())
        if any(counts[must.card] < must.count for must in self.scenario.must_seat):
            faults.add(("must-seat", None))
        cost, there = self.bought(placed)
        faults |= {("stock", None)} if not there else set()
        faults |= {("budget", None)} if not self.affordable(cost) else set()
        faults |= {("clock-line", None)} if self.clock_faults({n: p.setting.ends for n, p in used.items()}) else set()
        figures = self.figures(tuple(placed), cost)
        said = {b.name: b.serves for b in build.frame if b.cards and b.serves is not None}
        surplus = 0
        if said:
            wrong, figures, surplus = self._as_said(said, used, figures)
            faults |= wrong
        if figures.must_short:
            faults.add(("needs", None))
        return Judged(frozenset(faults), figures, surplus)

    def _placed(self, built: BuiltFrame) -> Placed:
        board = self.boards[built.board]
        frame = self.frames[built.name]
        straps = {g.name: n for g in board.strap_group if (n := self._named(g, built.straps.get(g.name)))}
        quiet = {g.name for g in board.strap_group if not renumbers(g)}
        if quiet - set(straps):
            stands = [
                s for s in self.settings(board, {**frame.straps, **straps}) if straps.items() <= dict(s.straps).items()
            ]
            if stands:
                straps = {g: name for g, name in stands[0].straps if g in straps or g in quiet}
        setting = self.setting_of(board, straps)
        clock = board.clock_input
        if clock is not None and clock.strap_group is not None and clock.strap_group not in built.straps:
            setting = replace(setting, ends=None)
        cards = tuple(built.seats())
        return Placed(
            built.name, built.board, setting, cards, self.sides(setting, cards), self.margin(frame, board, cards)
        )

    def _named(self, group: StrapGroup, said: str | None) -> str | None:
        return next(iter(names_of(group, said)), None) if said is not None else None

    def _frame_faults(self, built: BuiltFrame) -> set[Fault]:
        frame, board = self.frames[built.name], self.boards[built.board]
        chassis = self.chassis[frame.chassis]
        rules = set()
        groups = {g.name: g for g in board.strap_group}
        if any(g not in groups or not names_of(groups[g], said) for g, said in built.straps.items()):
            rules.add("straps")
        if any(g not in built.straps for g in groups) or banned(board, built.straps):
            rules.add("straps")
        if any(not same(built.straps[g], name) for g, name in frame.straps.items() if g in built.straps):
            rules.add("straps")
        if self.family not in board.limits:
            rules.add("straps")
        if board.id not in chassis.boards or (frame.board is not None and frame.board != board.id):
            rules.add("straps")
        taken: set[int] = set()
        for slot, card in built.seats():
            own = set(range(slot, slot + self.cards[card].span))
            if own & taken or max(own) > chassis.slot_count:
                rules.add("seats")
            taken |= own
            if self.refused(chassis, slot, card):
                rules.add("refused")
        if taken & set(board.reserved):
            rules.add("refused")
        if taken & set(frame.keep_empty):
            rules.add("kept-empty")
        rules |= self.company(built.seats())
        if self.overdrawn(chassis, board, built.cards.values()):
            rules.add("rails")
        if self.margin(frame, board, built.seats()) < self.refuse:
            rules.add("cooling")
        return {(rule, built.name) for rule in rules}

    def _as_said(
        self, said: Mapping[str, tuple[Service, ...]], used: Mapping[str, Placed], figures: Figures
    ) -> tuple[set[Fault], Figures, int]:
        """What is wrong with what a build says of services, its figures by its own word, and what is too much.

        Frames that say nothing serve what the others leave of the needs.
        """
        needs = {need.name: need for need in self.scenario.need}
        faults: set[Fault] = set()
        named: defaultdict[Place, list[str]] = defaultdict(list)
        given: dict[Place, list[str]] = {}
        for name, services in said.items():
            for service in services:
                if service.need not in needs:
                    faults.add(("serves", name))
                    continue
                n = DIRECTIONS.index(needs[service.need].direction)
                for channel in service.indices():
                    place = (name, service.slot, channel, n)
                    wrong = self._wrong(used[name].sides[n], place, needs[service.need].signal)
                    faults |= {(rule, name) for rule in wrong}
                    if "serves" not in wrong:
                        named[name, service.slot, channel, n].append(service.need)
                    if not wrong and service.need not in given.get(place, ()):
                        given.setdefault(place, []).append(service.need)
        asked = {need.name: need.channels + need.spare for need in self.scenario.need}
        serving = {need: sorted(place for place, whose in given.items() if need in whose) for need in asked}
        in_use = {place for need in asked for place in serving[need][: asked[need]]}
        holes = spent = 0
        for name, placed in ((name, placed) for name, placed in used.items() if name in said):
            for n, side in enumerate(placed.sides):
                taken = {(slot, channel) for frame, slot, channel, way in in_use if (frame, way) == (name, n)}
                highest = max((side.channel_number[at] or 0 for at in taken), default=0)
                holes += len(set(range(1, highest)) - side.answered)
                for line in side.all_lines:
                    whose = [named[name, line.slot, c, n] for c in line.channels]
                    if any(len(needs) > 1 for needs in whose) or len(set().union(*whose)) > 1:
                        faults.add(("channels", name))
                    if any((line.slot, c) in taken for c in line.channels):
                        spent += (len(line.signals) - 1) * len(line.channels)
        left: dict[Direction, tuple[Asked, ...]] = {
            way: tuple(
                (need.signal, lack, need.importance == "nice")
                for name, need in needs.items()
                if need.direction == way and (lack := max(0, asked[name] - len(serving[name])))
            )
            for way in DIRECTIONS
        }
        rest = self.served([placed.sides for name, placed in used.items() if name not in said], left)
        figures = replace(
            figures,
            must_short=rest[0],
            short=rest[1],
            short_needs=rest[2],
            holes=holes + rest[3],
            idle=sum(side.numbered for placed in used.values() for side in placed.sides) - len(in_use) - rest[5],
            spent=spent + rest[4],
        )
        return faults, figures, sum(max(0, len(serving[need]) - asked[need]) for need in asked)

    def _wrong(self, side: Side, place: Place, signal: str) -> set[str]:
        """Rules by which a channel cannot serve a signal at all."""
        _, slot, channel, _ = place
        line = next((line for line in side.all_lines if line.slot == slot and channel in line.channels), None)
        if line is None:
            return {"serves"}
        wrong = {"signals"} if signal not in line.signals else set()
        return wrong | ({"numbers"} if len(line.numbers) < len(line.channels) else set())
