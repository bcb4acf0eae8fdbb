"""A new scenario as it is put together: whatever is usual plans, any name survives, each key has a line of comment."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from decimal import Decimal
from functools import partial
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inside import strapwork
from samples import HARDWARE

import solver
from solver.answers.start import Draft, FrameAnswer, NeedAnswer, hardware_nearby
from solver.files.commented import COMMENTS
from solver.files.reading import load_scenario
from solver.room.errors import WrongQuestion
from solver.room.words import SAMPLE_RATES

ROOT = Path(__file__).parents[2]
SHIPPED = sorted((ROOT / "scenarios" / "hardware").glob("*.toml"))

HOSTILE = (
    'say "when"', "it's", "back\\slash", "'''", '"""', '"\\', "# no comment", "[[frame]]", "a = 1", "[bold]mic[/bold]",
    "<script>alert(1)</script>", "{0} %s $HOME `id`", "Ω mega", "ミキシング室", "מיקס", "drums 🥁", "x" * 120,
    "e\u0301", "true", "1979-05-27", "0x10", ".", "-", "=", ",", "a=b=c",
)  # fmt: skip


def usual(draft: Draft) -> Draft:
    """Answered by nobody."""
    chassis = draft.usual.chassis()
    draft.frame(FrameAnswer(draft.usual.frame(), chassis, draft.usual.board(chassis)))
    direction, signal = draft.usual.signal()
    count = draft.usual.channels(direction, signal)
    draft.need(NeedAnswer(draft.usual.need(direction, signal), direction, signal, count))
    return draft


@pytest.mark.parametrize("hardware", SHIPPED, ids=[file.stem for file in SHIPPED])
@pytest.mark.parametrize("rate", SAMPLE_RATES)
def test_what_is_usual_plans_at_every_rate(hardware: Path, rate: int, tmp_path: Path) -> None:
    draft = Draft([hardware])
    draft.rate(rate)
    started = usual(draft).finish(tmp_path / "room.toml")
    assert started.warnings == ()
    (tmp_path / "room.toml").write_text(started.text, encoding="utf-8")
    report = solver.plan(tmp_path / "room.toml", top=1, workers=1)
    assert (report.outcome, report.sample_rate) == ("found", rate)
    assert report.builds[0].frames[0].slots


def test_hardware_without_figures_and_prices_plans_too(tmp_path: Path) -> None:
    (tmp_path / "quay.toml").write_text(HARDWARE, encoding="utf-8")
    draft = Draft([tmp_path / "quay.toml"])
    (tmp_path / "room.toml").write_text(usual(draft).finish(tmp_path / "room.toml").text, encoding="utf-8")
    assert solver.plan(tmp_path / "room.toml", top=1, workers=1).outcome == "found"


def named(title: str, frame: str, need: str) -> str:
    draft = Draft(SHIPPED[:1])
    draft.title(title)
    draft.frame(FrameAnswer(frame, "tern-6", "slate-32"))
    draft.need(NeedAnswer(need, "in", "mic", 8))
    return draft.finish(ROOT / "room.toml").text


def names(text: str) -> tuple[str, str, str]:
    data = tomllib.loads(text)
    return data["title"], data["frame"][0]["name"], data["need"][0]["name"]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_is_the_same_when_it_is_read(name: str) -> None:
    assert names(named(name, name, name)) == (name, name, name)


printable = st.text(st.characters(codec="utf-8"), min_size=1, max_size=120).filter(
    lambda t: t.isprintable() and t.strip()
)


@settings(max_examples=60)
@given(printable, printable, printable)
def test_any_name_is_the_same_when_it_is_read(title: str, frame: str, need: str) -> None:
    assert names(named(title, frame, need)) == (title, frame, need)


@pytest.mark.parametrize("name", ["", " ", "two\nlines", "bell\x07", "\u202eright to left", "half \ud800", "x" * 121])
def test_what_no_file_may_hold_is_refused_and_changes_nothing(name: str) -> None:
    draft = Draft(SHIPPED[:1])
    before = draft.scenario
    questions: tuple[tuple[str, Callable[[], None]], ...] = (
        ("title", lambda: draft.title(name)),
        ("frame", lambda: draft.frame(FrameAnswer(name, "tern-6", None))),
        ("need", lambda: draft.need(NeedAnswer(name, "in", "mic", 8))),
    )
    for question, take in questions:
        with pytest.raises(WrongQuestion) as caught:
            take()
        assert caught.value.about == question
    assert draft.scenario == before


def test_every_key_has_a_line_of_comment_and_no_line_is_wide(tmp_path: Path) -> None:
    draft = usual(Draft(SHIPPED[:1]))
    draft.budget("9000.00")
    draft.inlet(Decimal("24.5"))
    draft.own("mic-8", 1)
    draft.frame(FrameAnswer("B", "wren-4", "slate-32"))
    lines = draft.finish(ROOT / "room.toml").text.splitlines()
    assert max(map(len, lines)) <= 80
    told: set[str] = set()
    within = ""
    for before, line in zip(["", *lines], lines, strict=False):
        key = re.match(r"([a-z_]+) = ", line)
        table = re.match(r"\[+([a-z]+)\]+$", line)
        name = f"{within}{key[1]}" if key else table[1] if table else ""
        if name and name not in told and not name.startswith("stock."):
            assert before == f"# {COMMENTS[name]}", line
            told.add(name)
        within = f"{table[1]}." if table else within
    assert told == COMMENTS.keys() - {"needs_from"}  # which only --from writes


def test_prices_that_a_currency_cannot_have_are_told_with_the_currency(tmp_path: Path) -> None:
    (tmp_path / "quay.toml").write_text(HARDWARE.replace('"1290.00"', '"1290.50"'), encoding="utf-8")
    draft = Draft([tmp_path / "quay.toml"])
    with pytest.raises(WrongQuestion, match=r'card "line-in-8" > price: 1290.50 has more decimals than JPY') as caught:
        draft.currency("JPY")
    assert caught.value.about == "currency"


def test_a_need_that_no_card_serves_at_the_rate_is_warned_of() -> None:
    draft = Draft([ROOT / "scenarios" / "hardware" / "skerry.toml"])
    draft.rate(192000)
    draft.frame(FrameAnswer("A", "dunlin-9", "chert-40"))
    draft.need(NeedAnswer("voices", "in", "mic", 6))
    (warning,) = draft.finish(ROOT / "room.toml").warnings
    assert warning.text() == 'need "voices" > signal: no card takes in "mic" in the 192 kHz family'


def test_a_hardware_file_is_given_once_and_links_lead_to_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "real" / "rooms").mkdir(parents=True)
    (tmp_path / "real" / "quay.toml").write_text(HARDWARE, encoding="utf-8")
    (tmp_path / "rooms").symlink_to("real/rooms")
    monkeypatch.chdir(tmp_path)
    for again, told in (("real/quay.toml", ""), ("real/../real/quay.toml", ', as "real/quay.toml"')):
        with pytest.raises(WrongQuestion) as refused:
            Draft([Path("real/quay.toml"), Path(again)])
        assert (str(refused.value), refused.value.about) == (f'"{again}" is given twice{told}', "hardware")
    draft = usual(Draft([Path("real/quay.toml")]))
    to = Path("rooms/room.toml")
    to.write_text(draft.finish(to).text, encoding="utf-8")
    assert load_scenario(to).scenario.hardware == ("../quay.toml",)  # beside the folder that the link leads to


def test_hardware_is_looked_for_here_and_then_where_it_ships(tmp_path: Path) -> None:
    shipped = [file.resolve() for file in SHIPPED]
    assert [file.resolve() for file in hardware_nearby(tmp_path, ROOT)] == shipped
    (tmp_path / "hardware").mkdir()
    (tmp_path / "hardware" / "own.toml").write_text(HARDWARE, encoding="utf-8")
    (tmp_path / "hardware" / "notes.toml").write_text("a = 1\n", encoding="utf-8")
    assert hardware_nearby(tmp_path, ROOT) == [Path("hardware/own.toml")]


@pytest.mark.parametrize(
    ("text", "said"), [("format = 1\n", "there is no chassis in "), (HARDWARE.partition("[[card]]")[0], "there is no ")]
)
def test_hardware_that_nothing_can_be_built_of_is_refused(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    with pytest.raises(WrongQuestion, match=said):
        Draft([tmp_path / "own.toml"])


def test_a_board_without_numbers_at_the_rate_is_not_the_usual_one(tmp_path: Path) -> None:
    text = SHIPPED[1].read_text(encoding="utf-8")
    swapped = text.replace('boards = ["chert-40", "tuff-24"]', 'boards = ["tuff-24", "chert-40"]')
    assert swapped != text
    (tmp_path / "own.toml").write_text(swapped, encoding="utf-8")
    draft = Draft([tmp_path / "own.toml"])
    assert (draft.usual.chassis(), draft.usual.board("dunlin-9")) == ("dunlin-9", "tuff-24")
    draft.rate(192000)
    assert (draft.usual.chassis(), draft.usual.board("dunlin-9")) == ("dunlin-9", "chert-40")


LIST = "number,name,signal,group,from\n,kick,mic,drums,box 1\n,snare,mic,drums,box 2\n,bass,line,,\n"


def test_blanks_around_a_name_are_no_part_of_it(tmp_path: Path) -> None:
    told = ("--hardware", SHIPPED[0], "--frame", "M = tern-6/slate-32", "--need", "drums = 8 mic in")
    assert strapwork("start", "--yes", *told, "--to", tmp_path / "room.toml").returncode == 0
    scenario = load_scenario(tmp_path / "room.toml").scenario
    assert (scenario.frame[0].name, scenario.need[0].name) == ("M", "drums")


def test_lines_of_an_input_list_are_needs_of_a_new_scenario(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    run = partial(strapwork, cwd=tmp_path)
    Path("lists").mkdir()
    Path("lists/day.csv").write_text(LIST, encoding="utf-8")
    hardware = SHIPPED[0].as_posix()
    ran = run("start", "--yes", "--hardware", hardware, "--from", "lists/day.csv", "--to", "rooms.toml")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert "  list      lists/day.csv\n" in ran.stdout
    assert "  need      drums: 2 mic in\n" in ran.stdout
    text = Path("rooms.toml").read_text(encoding="utf-8")
    assert f'# {COMMENTS["needs_from"]}\nneeds_from = "lists/day.csv"\n' in text
    assert "[[need]]" not in text
    (room,) = load_scenario(Path("rooms.toml")).scenario.rooms()
    assert [(need.name, need.channels) for need in room.need] == [("drums", 2), ("line in", 1)]
    assert [end.equipment for end in room.far_end] == ["box", "box"]
    assert run("plan", "rooms.toml", "--top", "1").returncode == 0
    more = ("--need", "talk=1 mic in", "--from", "lists/day.csv", "--to", "more.toml")
    assert run("start", "--yes", "--hardware", hardware, *more).returncode == 0
    (room,) = load_scenario(Path("more.toml")).scenario.rooms()
    assert [need.name for need in room.need] == ["talk", "drums", "line in"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("name,signal\nkick,mike\n", '"mike" is no signal of these hardware files'),
        ("name,sgnal\nkick,mic\n", 'there is no column "signal"'),
        (None, "there is no such file"),
    ],
)
def test_a_list_that_cannot_be_used_starts_nothing(tmp_path: Path, text: str | None, told: str) -> None:
    if text is not None:
        (tmp_path / "day.csv").write_text(text, encoding="utf-8")
    to = tmp_path / "room.toml"
    ran = strapwork("start", "--yes", "--hardware", SHIPPED[0], "--from", tmp_path / "day.csv", "--to", to)
    assert (ran.returncode, to.exists()) == (2, False)
    assert told in ran.stderr
