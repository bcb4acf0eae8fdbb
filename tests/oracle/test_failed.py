"""What mends a build in which something fails, against trying every way to give the lines that are left."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product

import brute_force
import generate
from amounts import some_or_all

from solver.answers.failed import failed
from solver.files.reading import Loaded
from solver.fitted.frame import FrameStanding
from solver.fitted.standing import Standing, stand
from solver.room.build import Build
from solver.room.hardware import Card
from solver.room.ready import survey_room
from solver.room.scenario import Offer, Scenario
from solver.room.words import CURRENCY_DECIMALS
from solver.search.ask.ranking import rank
from solver.search.solve.clock import Clock

Line = tuple[str, str, tuple[int, ...], frozenset[str]]
"""Frame, direction, numbers, signals."""


def _lines(standing: Standing, dead: tuple[str, int], cards: dict[str, Card]) -> Iterator[Line]:
    """The lines of a build, port by port, without the card whose first slot is dead."""
    family = standing.survey.family
    for frame in standing.frames:
        assert frame.layout is not None
        for slot, card in ((int(s), cards[c]) for s, c in frame.built.cards.items()):
            if (frame.site.name, slot) == dead:
                continue
            at: Counter[tuple[str, int]] = Counter()
            for port in card.ports:
                block = frame.layout.block(port.direction, slot + port.on_slot - 1)
                for _ in range(port.channels.get(family, 0) // port.grain):
                    first = at[port.direction, port.on_slot]
                    at[port.direction, port.on_slot] += port.grain
                    if first + port.grain <= block.width:
                        numbers = tuple(block.first + first + n for n in range(port.grain))
                        yield frame.site.name, port.direction, numbers, frozenset(port.signals)


def _least(standing: Standing, lines: Sequence[Line], *, borrow: bool) -> tuple[int, int, int, int]:
    """Lost channels of needs that have to be met, of nice ones, and to spare; and numbers that serve a need no more.

    Without `borrow` no need is left with fewer channels, but those to spare, than still work where they are.
    """
    served = {n: [(f.site.name, u.number) for f, u in standing.in_order(n)] for n in standing.survey.needs}
    served = {need: own for need, own in served.items() if own}
    choices = [
        [None, *(n for n in served if n.direction == direction and n.signal in signals)]
        for _, direction, _, signals in lines
    ]
    work = {
        need: sum(
            (frame, number) in own
            for frame, direction, numbers, signals in lines
            for number in numbers
            if direction == need.direction and need.signal in signals
        )
        for need, own in served.items()
    }
    best: tuple[int, int, int, int] | None = None
    for chosen in product(*choices):
        got: Counter[object] = Counter()
        kept: Counter[object] = Counter()
        for need, (frame, _, numbers, _) in zip(chosen, lines, strict=True):
            if need is not None:
                got[need] += len(numbers)
                kept[need] += sum((frame, number) in served[need] for number in numbers)
        lost = [0, 0, 0]
        if not borrow and any(min(len(o), n.channels, work[n]) > got[n] for n, o in served.items()):
            continue
        for need, own in served.items():
            asked = min(len(own), need.channels)
            lacks = max(0, len(own) - got[need])
            lost[2] += min(lacks, len(own) - asked)
            lost[1 if need.nice else 0] += max(0, lacks - (len(own) - asked))
        moved = sum(len(own) - kept[need] for need, own in served.items())
        value = lost[0], lost[1], lost[2], moved
        best = value if best is None or value < best else best
    assert best is not None
    return best


def _others_nice(scenario: Scenario, frame: FrameStanding, slot: int) -> Scenario:
    """Every need is nice to have but those that a card serves."""
    own = {use.need.name for use in frame.uses if (seat := frame.occupant(use.slot)) is not None and seat.slot == slot}
    needs = [n if n.name in own else n.model_copy(update={"importance": "nice"}) for n in scenario.need]
    return scenario.model_copy(update={"need": tuple(needs)})


@some_or_all("seeds", range(140), range(2000))
def test_patching_loses_and_moves_the_least(seeds: range) -> None:
    """On idle lines alone, and with what needs give way that are less important, where that helps."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = (generate.random_nice if seed % 3 == 0 else generate.random_pair)(seed)
        survey = survey_room(scenario, hardware)
        builds = rank(survey, 1).builds
        cards = {card.id: card for card in hardware.card}
        for frame in builds[0].standing.frames if builds else ():
            seat = frame.seats[seed % len(frame.seats)]
            standing = builds[0].standing
            if seed % 3:
                standing = stand(survey_room(_others_nice(scenario, frame, seat.slot), hardware), builds[0].build)
            survey = standing.survey
            lines = list(_lines(standing, (frame.site.name, seat.slot), cards))
            ways = 1
            for _, direction, _, signals in lines:
                ways *= 1 + sum(n.direction == direction and n.signal in signals for n in survey.needs)
            if ways > 20_000:
                continue
            files, what = Loaded(survey.scenario, hardware), f"slot:{frame.site.name}:{seat.slot}"
            told = failed(files, builds[0].build, [what], 1, Clock())
            if not told.affected:
                seen["nothing on it"] += 1
                continue
            answered = {f"{f}:{d}:{number}" for f, d, numbers, _ in lines for number in numbers}
            nice = {need.name for need in survey.needs if need.nice}
            least = {how: _least(standing, lines, borrow=how == "borrow") for how in ("patching", "borrow")}
            patched = [repair for repair in told.repairs if repair.how in least]
            for repair in patched:
                gone = [each for each in repair.moved if each.now is None]
                real = [each.need in nice for each in gone if not each.spare]
                left = {(each.need, each.was) for each in repair.moved} - {(e.need, e.now) for e in repair.moved}
                found = (real.count(False), real.count(True), len(gone) - len(real), len(left))
                assert repair.proven
                taken = [each.now for each in repair.moved if each.now is not None]
                assert len(set(taken)) == len(taken)
                assert set(taken) <= answered
                assert found == least[repair.how], (seed, repair.how)
                assert repair.outcome == ("partly" if real else "whole")
            helps = least["borrow"][:2] != least["patching"][:2]
            assert [repair.how for repair in patched] == ["patching", *["borrow"] * helps], seed
            seen["patched"] += any(each.now is not None for each in patched[0].moved)
            seen.update(f"{repair.how} {repair.outcome}" for repair in told.repairs)
    kinds = ("patching partly", "patched", "shelf none", "shelf whole", "order whole")
    assert min(seen[kind] for kind in kinds) >= 5, seen
    assert seen["borrow partly"] >= 2, seen


def _left(scenario: Scenario, seated: Counter[str]) -> Iterator[Offer]:
    """The offers without what the build has ordered, of each item the cheapest first."""
    short = {item: max(0, count - scenario.stock.get(item, 0)) for item, count in seated.items()}
    for offer in sorted(scenario.offer, key=lambda o: (o.price or 0, o.at_most is None, o.at_most or 0)):
        if offer.at_most is None:
            short[offer.item] = 0
            yield offer
            continue
        taken = min(short.get(offer.item, 0), offer.at_most)
        short[offer.item] = short.get(offer.item, 0) - taken
        if offer.at_most > taken:
            yield offer.model_copy(update={"at_most": offer.at_most - taken})


def _without(scenario: Scenario, build: Build, frame: str, slot: str, offers: bool) -> Scenario:
    """The scenario of what is left: the card is owned no longer, and what it served is still said."""
    seated = Counter(card for own in build.frame for card in own.cards.values())
    seated.update(
        own.board for own in build.frame if next(f for f in scenario.frame if f.name == own.name).board is None
    )
    dead = next(own.cards[slot] for own in build.frame if own.name == frame)
    stock = {item: max(scenario.stock.get(item, 0), seated[item]) for item in {*scenario.stock, *seated}}
    left = [
        own.model_copy(update={"cards": {n: c for n, c in own.cards.items() if (own.name, n) != (frame, slot)}})
        for own in build.frame
    ]
    used = {own.name for own in build.frame}
    assert all(f.pins.get(slot) is None for f in scenario.frame if f.name == frame)
    return scenario.model_copy(
        update={
            "stock": {**stock, dead: stock[dead] - 1},
            "installed": Build(frame=tuple(left)),
            "offer": tuple(_left(scenario, seated)) if offers else (),
            "budget": None,
            "must_seat": (),
            "frame": tuple(f.model_copy(update={"owned": f.owned or f.name in used}) for f in scenario.frame),
            "rank": ("cards_moved", "straps_moved", "renumbered", *scenario.rank),
            "slack": {},
        }
    )


@some_or_all("seeds", range(60), range(1000))
def test_what_is_seated_moves_the_least_that_trying_every_build_finds(seeds: range) -> None:
    """Cards from the shelf, and with an order: as few cards, straps and numbers moved, then as cheap as can be."""
    seen: Counter[str] = Counter()
    for seed in seeds:
        scenario, hardware = generate.random_pair(seed)
        for best in rank(survey_room(scenario, hardware), 1).builds:
            if not best.standing.frames:
                continue
            frame = best.standing.frames[seed % len(best.standing.frames)]
            name, slot = frame.site.name, str(frame.seats[seed % len(frame.seats)].slot)
            if slot in frame.site.spec.pins:
                continue
            whole = scenario.model_copy(update={"must_seat": (), "budget": None, "slack": {}, "rank": ("cost",)})
            repairs = failed(Loaded(whole, hardware), best.build, [f"slot:{name}:{slot}"], 1, Clock()).repairs
            for repair in (each for each in repairs if each.how in ("shelf", "order")):
                left = _without(whole, best.build, name, slot, repair.how == "order")
                found = [one for one in brute_force.ranked(left, hardware, 1) if one.lids_off]
                served = bool(repair.cards or repair.straps) and all(each.now is not None for each in repair.moved)
                assert served == bool(found), (seed, repair.how)
                seen[f"{repair.how} {repair.outcome}"] += 1
                for one in found:
                    moved = sum(card.before is not None for card in repair.cards)
                    other = sum(each.now is not None for each in repair.moved)
                    cost = int(Decimal(repair.cost or 0) * 10 ** CURRENCY_DECIMALS[scenario.currency])
                    told = (moved, len(repair.straps), other, cost)
                    assert told == (one.cards_moved, one.straps_moved, one.renumbered, one.cost), (seed, repair.how)
                    seen["moved"] += moved > 0
                    seen["other numbers"] += other > 0
    assert seen["shelf whole"] >= 5, seen
    assert seen["order whole"] >= 5, seen
    assert seen["shelf none"] + seen["shelf partly"] >= 5, seen
