"""Why several rooms cannot all be built: against trying everything, and whole screens."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from itertools import combinations
from pathlib import Path

import campus_brute_force
import generate
import pytest
from amounts import some_or_all
from booths import NORTH, SOUTH
from counted import Counted
from test_campus_nice_needs import with_nice_needs

from cli.main import run
from solver.files.reading import load_scenario
from solver.judge.campus import survey_campus
from solver.relax.document import changed
from solver.reports.campus_why import CampusWhy
from solver.room.buying import price_of
from solver.room.hardware import Hardware
from solver.room.scenario import Offer, Scenario
from solver.room.wish import Change, Wish
from solver.room.words import CURRENCY_DECIMALS
from solver.rules.budget import MoreMoney
from solver.rules.needs import FewerChannels
from solver.search.campus.clash import MOST_WAYS, clash_of_rooms, shared_wishes, smallest
from solver.search.campus.planning import RankedCampus, plan_campus
from solver.search.solve.clock import Clock

HARDWARE = Path(__file__).parents[2] / "scenarios/hardware/quay.toml"

Draw = Callable[[int], tuple[Scenario, Hardware]]
"""The campus of a seed and its hardware."""

SEEDS = range(80)
"""Campuses of the seeded generator whose clashes are compared."""


def _of(scenario: Scenario, rooms: list[str]) -> Scenario:
    return scenario.model_copy(update={"room": tuple(room for room in scenario.room if room.name in rooms)})


def _possible(scenario: Scenario, hardware: Hardware, rooms: list[str]) -> bool:
    return not rooms or campus_brute_force.plan(_of(scenario, rooms), hardware) is not None


def _lifted(scenario: Scenario, hardware: Hardware, wishes: Sequence[Wish]) -> Scenario:
    """With any number of the items at their prices, and money without end where the budget is among them."""
    purse = survey_campus(scenario, hardware).purse
    kinds = {**{c.id: "card" for c in hardware.card}, **{b.id: "board" for b in hardware.board}}
    unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
    more = []
    for wish in wishes:
        if wish.item is not None:
            item, price = wish.item, Decimal(price_of(purse, wish.item)) / unit
            more.append(Offer.model_validate({kinds.get(item, "chassis"): item, "price": price}))
    budget = None if MoreMoney() in wishes else scenario.budget
    return scenario.model_copy(update={"offer": (*scenario.offer, *more), "budget": budget})


def _changed(scenario: Scenario, hardware: Hardware, room: int | None, changes: list[Change]) -> Scenario:
    survey = survey_campus(scenario, hardware).rooms[room or 0]
    return changed(survey, changes)


def _scarcer(scenario: Scenario, hardware: Hardware, best: RankedCampus, seed: int) -> Scenario:
    """Less of what the best plan takes: one fewer of an item, or half the money."""
    if best.figures.cost and seed % 2:
        unit = 10 ** CURRENCY_DECIMALS[scenario.currency]
        return scenario.model_copy(update={"budget": Decimal(best.figures.cost // 2) / unit})
    item, count = sorted(best.standing.joint.items.items(), key=lambda entry: (-entry[1], entry[0]))[0]
    offers = tuple(offer for offer in scenario.offer if offer.item != item)
    return scenario.model_copy(update={"stock": {**scenario.stock, item: count - 1}, "offer": offers})


def _must_be_met(scenario: Scenario) -> Scenario:
    rooms = [
        room.model_copy(update={"need": tuple(need for need in room.need if need.importance == "must")})
        for room in scenario.room
    ]
    return scenario.model_copy(update={"room": tuple(rooms)})


def _clashing(seeds: range, draw: Draw = generate.random_campus) -> Iterator[tuple[int, Scenario, Hardware]]:
    for seed in seeds:
        scenario, hardware = draw(seed)
        best = plan_campus(survey_campus(scenario, hardware)).best
        if best is not None and best.standing.joint.items:
            scenario = _scarcer(scenario, hardware, best, seed)
        if plan_campus(survey_campus(scenario, hardware)).outcome == "impossible":
            yield seed, scenario, hardware


@some_or_all("seeds", SEEDS[:40], SEEDS)
def test_rooms_limits_and_ways_out_are_those_of_trying_everything(seeds: range) -> None:
    seen = _compared(seeds, generate.random_campus)
    share = len(seeds) / len(SEEDS)
    assert seen["sums"] >= 3 * share
    assert seen["alone"] >= 10 * share
    assert seen["clash"] >= 15 * share
    assert seen["limit: budget"] >= 3 * share
    assert min(seen["need"], seen["item"], seen["budget"]) >= 3 * share


@some_or_all("seeds", SEEDS[:20], SEEDS)
def test_what_is_nice_to_have_takes_no_part_in_a_clash_and_costs_nothing_in_its_ways_out(seeds: range) -> None:
    seen = _compared(seeds, with_nice_needs)
    share = len(seeds) / len(SEEDS)
    assert min(seen["clash"], seen["nice"], seen["budget"]) >= 3 * share, seen


def _compared(seeds: range, draw: Draw) -> Counter[str]:
    """Compare what is said of clashes with trying everything; what they had."""
    seen: Counter[str] = Counter()
    for seed, scenario, hardware in _clashing(seeds, draw):
        campus = survey_campus(scenario, hardware)
        found = clash_of_rooms(campus)
        names = [survey.room or "" for survey in campus.rooms]
        alone = [name for name in names if not _possible(scenario, hardware, [name])]
        assert [names[place] for place in found.alone] == alone, seed
        assert found.sure
        others = [name for name in names if name not in alone]
        assert found.rest == _possible(scenario, hardware, others), seed
        seen["alone"] += bool(alone)
        if found.rest:
            continue
        seen["clash"] += 1
        seen["nice"] += any(need.importance == "nice" for room in scenario.room for need in room.need)
        rooms = [names[place] for place in found.rooms]
        assert found.minimal
        assert not _possible(scenario, hardware, rooms), seed
        for some in combinations(rooms, len(rooms) - 1):
            assert _possible(scenario, hardware, list(some)), seed
        limits = shared_wishes(campus.purse)
        free = [key for key in limits if key not in found.over]
        assert not _possible(_lifted(scenario, hardware, free), hardware, rooms), seed
        for key in found.over:
            assert _possible(_lifted(scenario, hardware, [*free, key]), hardware, rooms), (seed, key)
        if len(found.over) == 1 and found.over[0].item is not None:
            takes = sum(found.least[room, found.over[0]] for room in found.rooms)
            assert takes > (campus.purse.most_of(found.over[0].item or "") or 0), seed
            seen["sums"] += 1
        if found.over == (MoreMoney(),):
            assert found.cost is not None
            assert found.cost > (campus.purse.budget or 0)
        seen["several limits"] += len(found.over) > 1
        seen["limit: budget"] += MoreMoney() in found.over
        listed = set()
        for way in found.ways:
            better = _changed(scenario, hardware, way.room, list(way.changes))
            cheapest = _must_be_met(better).model_copy(update={"rank": ("cost",), "slack": {}})
            best = campus_brute_force.plan(_of(cheapest, others), hardware)
            assert best is not None, (seed, way)
            assert best.cost == way.cost, (seed, way)
            for place, change in enumerate(way.changes):
                fewer = [Change(change.wish, change.amount - 1)] if change.amount > 1 else []
                changes = [*way.changes[:place], *fewer, *way.changes[place + 1 :]]
                less = _changed(scenario, hardware, way.room, changes)
                assert not _possible(less, hardware, others), (seed, way, change)
            listed |= {(way.room, way.changes[0].wish)} if len(way.changes) == 1 else set()
            seen[str(way.changes[0].wish.sort)] += 1
        assert found.complete
        assert len(found.ways) <= MOST_WAYS
        needs = [
            (room, Change(FewerChannels(need.index), need.demand))
            for room, survey in enumerate(campus.rooms)
            for need in survey.needs
            if need.demand
        ]
        money = [(None, Change(MoreMoney(), 10**6))] if scenario.budget is not None else []
        items = [(None, Change(key, 9)) for key in limits if key.item is not None]
        for room, change in [*needs, *money, *items]:
            helps = _possible(_changed(scenario, hardware, room, [change]), hardware, others)
            assert helps == ((room, change.wish) in listed), (seed, room, change)
    return seen


def test_the_smallest_part_has_none_to_spare() -> None:
    for impossible in ([{1, 2}], [{0}], [{3, 4, 6}], [{0, 6}, {2, 3}], [set(range(7))]):

        def clash(some: Sequence[int], sets: Sequence[set[int]] = impossible) -> bool:
            return any(own <= set(some) for own in sets)

        parts = smallest(range(7), clash)
        assert parts in [sorted(own) for own in impossible]


def test_a_search_out_of_time_says_nothing_of_any_room() -> None:
    scenario, hardware = next((s, h) for _, s, h in _clashing(SEEDS))
    found = clash_of_rooms(survey_campus(scenario, hardware), Clock(0.0))
    assert (found.alone, found.sure, found.rest, found.rooms, found.ways) == ((), False, None, (), ())
    assert (found.minimal, found.complete) == (False, False)


SHARED = """\
format = 1
title = "Gannet Quay, two booths"
hardware = ["HARDWARE"]
currency = "GBP"
budget = "3000.00"
air = { inlet_c = 24 }

[stock]
mic-16 = 1
mic-8 = 1
line-out-8 = 1

[[offer]]
card = "mic-8"
at_most = 0
[[offer]]
card = "line-out-8"

# the one that came first
"""
BOOTHS = SHARED + NORTH + SOUTH

SCREEN = """\
Impossible, proven: Gannet Quay, two booths

These rooms cannot all be built, and each can alone; without any one of them the
others can
  Booth north
  Booth south

What they clash over, whatever there were of anything else
  mic-16: 1 to be had
  mic-8: 1 to be had; at the very least Booth north 1

Ways out, the least work first
     work              lid  change                                least cost GBP
  1  give up channels  on   room Booth north: drop 6 of 14 mic            890.00
                            inputs on "voices"; 8 left
  2  give up channels  on   room Booth south: drop all 8 mic              890.00
                            inputs on "voices"
  3  buy               off  allow 1 more mic-8 (1 -> 2 to be             2070.00
                            had, 1180.00 each)
  4  buy               off  order 1 x mic-16, which is not on            2850.00
                            offer now, 1960.00 each
  None is missing of these kinds: more of one item in stock or on offer, with
  the money for it; more money; less of one need.
  Each was planned again for all rooms that are possible alone, and audited.
"""


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str], str]:
    def written(text: str) -> str:
        path = tmp_path / "booths.toml"
        path.write_text(text.replace("HARDWARE", HARDWARE.as_posix()), encoding="utf-8")
        return str(path)

    return written


def test_the_screen_names_the_rooms_what_they_clash_over_and_ways_out(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert run(["why", write(BOOTHS)]) == 1
    said, _, defaults = capsys.readouterr().out.partition("\nAssumed  ")
    assert said == SCREEN
    assert defaults.startswith("48 kHz; ranked by cost, unused, cooling; ")


def test_rooms_that_clash_over_money_say_what_each_takes_at_least(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """One mic-8 at 1180.00 and one line-out-8 at 890.00 have to be bought, and no more; the budget is 1500.00."""
    monkeypatch.setenv("COLUMNS", "80")
    text = BOOTHS.replace("at_most = 0", "at_most = 3").replace('"3000.00"', '"1500.00"')
    assert run(["why", write(text)]) == 1
    said = capsys.readouterr().out
    head = "What they clash over, whatever there were of anything else\n"
    assert f"{head}  budget 1500.00 GBP; together at the very least 2070.00\n" in said
    assert "  spend 570.00 more (1500.00 -> " in said


def test_an_item_that_the_budget_cannot_pay_comes_with_the_money_that_it_takes(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """One line-out-8 at 890.00 has to be bought in any case; 900.00 leave too little for a mic-8 at 1180.00."""
    assert run(["why", write(BOOTHS.replace('"3000.00"', '"900.00"')), "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    bought = [[(c.before, c.after) for c in way.changes] for way in document.ways if way.work == "buy"]
    assert bought == [[("1", "2"), ("900.00", "2070.00")], [("1", "2"), ("900.00", "2850.00")]]


def test_an_offer_of_none_is_something_that_rooms_can_clash_over(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Each room takes a mic-8, of which there is one, or a mic-16, of which none is to be had."""
    none = 'at_most = 0\n[[offer]]\ncard = "mic-16"\nat_most = 0\n'
    text = BOOTHS.replace("mic-16 = 1\n", "").replace("at_most = 0\n", none).replace("channels = 14", "channels = 8")
    assert run(["why", write(text), "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    assert [(one.item, one.to_be_had) for one in document.over] == [("mic-16", "0"), ("mic-8", "1")]
    assert document.complete


FOUR_BOOTHS = """\
format = 1
title = "Gannet Quay, four booths"
hardware = ["HARDWARE"]
currency = "GBP"
budget = "1000.00"
air = { inlet_c = 24 }
stock = { mic-8 = 1 }
offer = [{ card = "line-out-8" }, { card = "mic-8", at_most = 0 }]
""" + "".join(
    f"""\
[[room]]
name = "Booth {name}"
frame = [{{ name = "A", chassis = "wren-4", board = "flint-48" }}]
need = [{{ name = "n", direction = "{direction}", signal = "{signal}", channels = 8 }}]
"""
    for name, direction, signal in (("A", "out", "line"), ("B", "out", "line"), ("C", "in", "mic"), ("D", "in", "mic"))
)


def test_rooms_that_clash_over_money_beside_others_that_clash_over_an_item_take_both(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Two line-out-8 at 890.00 and one more mic-8 at 1180.00; the budget is 1000.00."""
    assert run(["why", write(FOUR_BOOTHS), "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    assert document.complete
    assert [[(c.before, c.after) for c in way.changes] for way in document.ways] == [
        [("1", "2"), ("1000.00", "2960.00")],
    ]


def test_what_is_nice_to_have_costs_nothing_in_a_clash_over_money(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Two line-out-8 at 890.00 have to be bought; microphones for both at 1180.00 each are only nice to have."""
    rooms = re.sub(
        r"^need = \[(.*)\]$",
        r"need = [\1, "
        '{ name = "m", direction = "in", signal = "mic", channels = 8, importance = "nice" }]',
        FOUR_BOOTHS.partition('[[room]]\nname = "Booth C"')[0].replace(", at_most = 0", ""),
        flags=re.MULTILINE,
    )
    assert run(["why", write(rooms.replace("stock = { mic-8 = 1 }\n", "")), "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    assert [one.together for one in document.over] == ["1780.00"]
    assert [(way.cost, [c.after for c in way.changes]) for way in document.ways] == [
        ("890.00", ["0"]),
        ("890.00", ["0"]),
        ("1780.00", ["1780.00"]),
    ]


def test_a_search_that_is_ended_anywhere_misses_no_way_out_where_it_says_that_none_is_missing(
    write: Callable[[str], str],
) -> None:
    text = FOUR_BOOTHS.partition('[[room]]\nname = "Booth C"')[0]
    text = re.sub(r"^need = .*$", 'must_seat = [{ card = "line-out-8" }]', text, flags=re.MULTILINE)
    loaded = load_scenario(Path(write(text)))
    campus = survey_campus(loaded.scenario, loaded.hardware)
    whole = clash_of_rooms(campus)
    assert [[(c.wish, c.amount) for c in way.changes] for way in whole.ways] == [[(MoreMoney(), 78000)]]
    for solves in range(200):
        found = clash_of_rooms(campus, Counted(solves))
        assert found.ways or not found.complete, solves
        assert [way.changes for way in found.ways] in ([], [way.changes for way in whole.ways])
        if found == whole:
            break
    else:
        pytest.fail("never ended by itself")


def test_a_room_that_is_impossible_even_alone_has_its_own_clash_and_the_others_are_said(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    path = write(BOOTHS.replace("channels = 8 }", "channels = 40 }"))
    assert run(["why", path]) == 1
    said = capsys.readouterr().out
    assert said.startswith(
        "Impossible, proven: Gannet Quay, two booths\n\n"
        'Room "Booth south" is impossible even alone, with all stock, all offers and the\nwhole budget\n'
    )
    assert "\n\nThe other rooms can be built together.\n" in said
    assert "".join(f'strapwork why {path} --room "Booth south"'.split()) in "".join(said.split())
    assert run(["why", path, "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    assert [one.room for one in document.alone] == ["Booth south"]
    assert document.alone[0].clash.because[0].path == ["room", 1, "need", 0, "channels"]
    assert (document.others, document.rooms, document.ways) == ("possible", [], [])


@pytest.mark.parametrize("number", ["1", "2", "3", "4"])
def test_each_way_out_written_to_a_file_can_be_planned_and_keeps_comments(
    write: Callable[[str], str], tmp_path: Path, capsys: pytest.CaptureFixture[str], number: str
) -> None:
    better = tmp_path / "better.toml"
    assert run(["why", write(BOOTHS), "--apply", number, "--to", str(better)]) == 0
    told = capsys.readouterr()
    assert told.err == f"way out {number} is made in {better}\n"
    assert "# the one that came first" in better.read_text("utf-8")
    assert run(["why", str(better)]) == 0
    assert capsys.readouterr().out.startswith("Possible: Gannet Quay, two booths, all rooms\n")


def test_a_way_that_there_is_not_says_how_many_there_are(
    write: Callable[[str], str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write(BOOTHS)
    assert run(["why", path, "--apply", "5", "--to", str(tmp_path / "x.toml")]) == 2
    told = capsys.readouterr()
    assert told.err == "way out 5 is not made: give 1 to 4: so many ways out there are\n"
    assert told.out.startswith("Impossible, proven: ")


def test_the_document_says_where_in_the_file_and_what_before_and_after(
    write: Callable[[str], str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["why", write(BOOTHS), "--by", "money", "--format", "json"]) == 1
    document = CampusWhy.model_validate_json(capsys.readouterr().out)
    assert (document.rooms, document.minimal, document.complete) == (["Booth north", "Booth south"], True, True)
    assert [(one.item, one.to_be_had, one.least) for one in document.over] == [
        ("mic-16", "1", {}),
        ("mic-8", "1", {"Booth north": 1}),
    ]
    changes = [change for way in document.ways for change in way.changes]
    assert [(c.path, c.before, c.after) for c in changes] == [
        (["room", 0, "need", 0, "channels"], "14", "8"),
        (["room", 1, "need", 0, "channels"], "8", "0"),
        (["offer", 0, "at_most"], "1", "2"),
        (["offer"], "1", "2"),
    ]
    assert [way.cost for way in document.ways] == ["890.00", "890.00", "2070.00", "2850.00"]


def test_rooms_that_lack_what_is_nice_to_have_say_what_gives_way(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    path = tmp_path / "rooms.toml"
    room = (
        '[[room]]\nname = "ROOM"\nframe = [{ name = "A", chassis = "tern-6", board = "slate-32" }]\n'
        'need = [{ name = "returns", direction = "in", signal = "line", channels = 6, importance = "nice" }]\n'
    )
    hardware = (Path(__file__).parents[2] / "scenarios" / "hardware" / "quay.toml").as_posix()
    head = f'format = 1\ntitle = "Two rooms"\nhardware = ["{hardware}"]\ncurrency = "GBP"\nrank = ["cost"]\n'
    path.write_text(
        head + "stock = { line-in-8 = 1 }\n" + room.replace("ROOM", "East") + room.replace("ROOM", "West"),
        encoding="utf-8",
    )
    assert run(["why", str(path)]) == 0
    said = capsys.readouterr().out
    assert said.startswith(
        "Possible: Two rooms, all rooms\n  Not with all that is nice to have; over all rooms this gives way:\n"
    )
    assert re.search(r'^    room (East|West): drop all 6 line inputs on "returns"$', said, re.MULTILINE)
    assert run(["why", str(path), "--format", "json"]) == 0
    assert len(CampusWhy.model_validate_json(capsys.readouterr().out).short) == 1
