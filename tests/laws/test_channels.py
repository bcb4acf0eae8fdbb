"""The list of channels: each number once, each channel of a need once, and the same in CSV, whatever the names are."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path

import generate
from amounts import some_or_all
from inside import strapwork

from solver.answers.channels import channels
from solver.files.reading import Loaded
from solver.fitted.standing import stand
from solver.reports.channels import ChannelList, ChannelRow
from solver.room.build import Build, Service
from solver.room.hardware import Hardware
from solver.room.ready import survey_room
from solver.room.words import DIRECTIONS, write_ranges
from solver.search.ask.ranking import rank

MIX = ("scenarios/quay-mix-rig.toml", "scenarios/quay-mix-rig-next-drawn.toml")
ROOT = Path(__file__).parents[2]
FILLED = ("scenarios/quay-filled.toml", "scenarios/quay-filled-drawn.toml")


@some_or_all("seeds", 60, 600)
def test_each_number_and_each_channel_of_a_need_stands_there_once(seeds: int) -> None:
    seen: Counter[str] = Counter()
    for seed in range(seeds):
        scenario, hardware = generate.random_pair(seed)
        survey = survey_room(scenario, hardware)
        found = rank(survey, top=1).builds
        if not found:
            continue
        build = found[0].build
        document = channels(Loaded(scenario, hardware), build)
        assert document.outcome == "clean"
        places = Counter((row.frame, row.direction, row.number) for row in document.rows)
        assert max(places.values(), default=1) == 1
        standing = stand(survey, build)
        answered = {(f.site.name, d, n) for f in standing.frames for d in ("in", "out") for n in f.answered(d)}
        assert set(places) == answered
        for need in survey.needs:
            own = [row for row in document.rows if row.need == need.name]
            assert sorted(row.channel or 0 for row in own) == list(range(1, standing.served(need) + 1))
            assert sum(row.spare for row in own) == max(0, len(own) - need.channels)
            seen["served"] += len(own)
        for by in ("slot", "need"):
            again = channels(Loaded(scenario, hardware), build, by=by)
            assert sorted(map(str, again.rows)) == sorted(map(str, document.rows))
        seen["not used"] += sum(row.need is None for row in document.rows)
    assert seen["served"] > seeds
    assert seen["not used"] > seeds // 10


def test_a_spreadsheet_reads_what_the_document_holds_and_runs_nothing() -> None:
    names = [
        "=1+1",
        "@SUM(A1)",
        "-3 dB pads",
        "+48",
        'kick "in", out',
        "two\nlines",
        "\u202eright to left",
        "\U0001f3b8",
    ]
    rows = [
        ChannelRow(
            frame="A", direction="in", number=n, slot=1, card="mic-8", card_channel=n, signals=["line", "mic"],
            need=name, channel=1, spare=n == 2,
        )
        for n, name in enumerate(names, start=1)
    ]  # fmt: skip
    document = ChannelList(scenario="x", sample_rate=48000, outcome="clean", by="number", rows=rows)
    text = document.as_csv()
    assert text.count("\r\n") == len(rows) + 1
    read = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [entry["need"] for entry in read] == ["'" + name if name[0] in "=@-+" else name for name in names]
    assert [entry["number"] for entry in read] == [str(n) for n in range(1, len(rows) + 1)]
    assert {entry["signals"] for entry in read} == {"line mic"}
    assert [entry["spare"] for entry in read] == ["", "yes", *[""] * 6]
    assert "room" not in read[0]


def test_the_list_reads_whole() -> None:
    ran = strapwork("channels", *MIX, "--by", "need")
    assert ran.returncode == 0
    lines = ran.stdout.splitlines()
    assert lines[:6] == [
        "Channels: Gannet Quay, mix rig, 44.1 kHz",
        "56 numbers that a card answers, 44 of them used; by need",
        "",
        "number    slot  card        ch  connector  point   carries",
        "M out 1      2  line-duo-8   1  out        P1 A17  outboard sends 1",
        "M out 2      2  line-duo-8   2  out        P1 A18  outboard sends 2",
    ]
    assert lines[-5].endswith("not used")
    assert lines[-3].startswith("Points of bays are the card's: of inputs the lower one")
    assert max(map(len, lines)) <= 80


def test_without_bays_the_list_has_the_pins() -> None:
    lines = strapwork("channels", *FILLED).stdout.splitlines()
    assert "number    slot  card          ch  connector  pins          carries" in lines
    assert "A in 2       1  mic-16         2  in-low     10/23/11      choir mics 2" in lines
    assert "Pins are hot/cold/shield, as on the card's connector." in lines


def test_a_faulty_build_is_said_to_be_one() -> None:
    ran = strapwork("channels", *FILLED)
    assert ran.returncode == 1
    assert ran.stdout.splitlines()[:2] == [
        "FAULTY, 4 faults: Gannet Quay, the filled frame, 48 kHz",
        "Do not wire this before it is put right.",
    ]
    ran = strapwork("channels", *FILLED, "--format", "csv")
    assert ran.returncode == 1
    assert ran.stdout.startswith("frame,direction,number,")
    assert ran.stderr.splitlines()[2] == "FAULTY, stock: mic-8: 3 are used; stock and offers have 2"


SHARED = """
format = 1
title = "Gannet Quay, the filled frame"
[[frame]]
name = "A"
board = "shale-64"
straps = STRAPS
cards = { "1" = "mic-16", "3" = "line-in-8", "4" = "line-in-8" }
serves = [
    { need = "choir mics", slot = 1, channels = "1-2" },
    { need = "band mics", slot = 1, channels = "2" },
]
"""


def test_a_number_that_two_needs_claim_has_a_row_for_each(tmp_path: Path) -> None:
    drawn = (ROOT / FILLED[1]).read_text(encoding="utf-8")
    straps = next(line for line in drawn.splitlines() if line.startswith("straps"))
    build = tmp_path / "shared.toml"
    build.write_text(SHARED.replace("straps = STRAPS", straps), encoding="utf-8")
    ran = strapwork("channels", FILLED[0], build, "--format", "json")
    assert ran.returncode == 1
    rows = ChannelList.model_validate_json(ran.stdout).rows
    assert [(row.need, row.channel) for row in rows if (row.direction, row.number) == ("in", 2)] == [
        ("choir mics", 2),
        ("band mics", 1),
    ]


def test_a_frame_without_all_its_settings_is_said_to_have_no_numbers(tmp_path: Path) -> None:
    drawn = (ROOT / FILLED[1]).read_text(encoding="utf-8")
    straps = next(line for line in drawn.splitlines() if line.startswith("straps"))
    build = tmp_path / "unset.toml"
    build.write_text(drawn.replace(straps, ""), encoding="utf-8")
    ran = strapwork("channels", FILLED[0], build)
    assert ran.returncode == 1
    told = " ".join(ran.stdout.split())
    assert "0 numbers that a card answers, 0 of them used; by number" in told
    assert "NOTE the build: frame A has no numbers, since its straps are not all said" in told


def test_rooms_are_listed_together_or_one_by_one(tmp_path: Path) -> None:
    build = tmp_path / "campus.toml"
    strapwork("plan", "scenarios/quay-campus.toml", "--save", build)
    every = ChannelList.model_validate_json(
        strapwork("channels", "scenarios/quay-campus.toml", build, "--format", "json").stdout
    )
    names = sorted({row.room for row in every.rows if row.room})
    assert len(names) > 2
    one = ChannelList.model_validate_json(
        strapwork("channels", "scenarios/quay-campus.toml", build, "--room", names[0], "--format", "json").stdout
    )
    assert one.rows == [row for row in every.rows if row.room == names[0]]
    text = strapwork("channels", "scenarios/quay-campus.toml", build, "--format", "csv").stdout
    assert text.startswith("room,frame,")
    assert strapwork("channels", "scenarios/quay-campus.toml", build, "--room", "nowhere").returncode == 2


def _from_table(text: str, build: Build, hardware: Hardware) -> Build:
    """A build from the list of its numbers, with the straps and settings of the build itself."""
    cards = {card.id: card for card in hardware.card}
    seats: dict[str, dict[str, str]] = {}
    services: dict[str, dict[tuple[int, str], list[int]]] = {}
    for row in csv.DictReader(io.StringIO(text, newline="")):
        slot, card = int(row["slot"]), cards[row["card"]]
        on = {port.on_slot for port in card.ports if port.direction == row["direction"]}
        assert len(on) == 1  # the others are left out of the law
        seats.setdefault(row["frame"], {})[str(slot - on.pop() + 1)] = card.id
        if row["need"]:
            services.setdefault(row["frame"], {}).setdefault((slot, row["need"]), []).append(int(row["card_channel"]))
    frames = []
    for frame in build.frame:
        own = sorted(services.get(frame.name, {}).items())
        serves = tuple(Service(need=need, slot=slot, channels=write_ranges(each)) for (slot, need), each in own)
        frames.append(frame.model_copy(update={"cards": seats.get(frame.name, {}), "serves": serves}))
    return build.model_copy(update={"frame": tuple(frames)})


@some_or_all("seeds", 60, 600)
def test_the_list_and_the_settings_make_the_same_build_again(seeds: int) -> None:
    """Of cards that have a number at least; others are on no list of numbers."""
    met = 0
    for seed in range(seeds):
        scenario, hardware = generate.random_pair(seed)
        ways = [[port for port in card.ports if port.direction == way] for card in hardware.card for way in DIRECTIONS]
        if any(len({port.on_slot for port in ports}) > 1 for ports in ways):
            continue
        found = rank(survey_room(scenario, hardware), top=1).builds
        if not found:
            continue
        loaded, build = Loaded(scenario, hardware), found[0].build
        document = channels(loaded, build)
        again = _from_table(document.as_csv(), build, hardware)
        assert channels(loaded, again).rows == document.rows
        listed = {(row.frame, row.card) for row in document.rows}
        for one, other in zip(build.frame, again.frame, strict=True):
            own = {slot: card for slot, card in one.cards.items() if (one.name, card) in listed}
            assert other.cards.items() <= one.cards.items()
            met += len(other.cards) == len(own)
    assert met > seeds // 6
