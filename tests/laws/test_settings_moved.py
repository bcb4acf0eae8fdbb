"""What is set on cards between two builds: `diff` tells each change, and the work order each card to set otherwise."""

from __future__ import annotations

import random
from pathlib import Path

from inside import strapwork

from solver.answers.diff import diff
from solver.answers.work_order import work_order
from solver.files.buildfile import write_build
from solver.files.reading import load_scenario
from solver.room.build import Build, BuiltFrame, CardSet
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank

BROADCAST = Path(__file__).parents[2] / "scenarios/quay-broadcast.toml"
CARDS = {"1": "back-8", "2": "front-8", "5": "send-8"}
SERVES = [
    {"need": "radio lines", "slot": 1, "channels": "1-4"},
    {"need": "film lines", "slot": 1, "channels": "5-8"},
    {"need": "film lines", "slot": 2, "channels": "1-2"},
    {"need": "ribbon pair", "slot": 2, "channels": "3-4"},
    {"need": "speakers", "slot": 2, "channels": "5-7"},
    {"need": "to film", "slot": 5, "channels": "1-2"},
    {"need": "to transmission", "slot": 5, "channels": "3-4"},
]
TOGETHER = {
    (1, "full_scale_level", "in"): ("1-4", "5-8"),
    (2, "phantom", "in"): ("1-4", "5-8"),
    (2, "full_scale_level", "in"): (None,),
    (5, "full_scale_level", "out"): tuple(map(str, range(1, 9))),
}
"""What the hardware file says is set together on which card."""

USUAL = {"full_scale_level": "+18 dBu", "phantom": "off"}
OTHER = {"full_scale_level": "+24 dBu", "phantom": "on"}
Set = dict[tuple[int, str, str, int], str]


def _build(settings: list[dict[str, object]], cards: dict[str, str] | None = None) -> Build:
    frame = {"name": "R", "board": "slate-32", "straps": {"layout": "1"}, "cards": cards or CARDS}
    own = BuiltFrame.model_validate({**frame, "settings": settings, "serves": SERVES})
    return Build(frame=(own,))


def _runs(text: str | None) -> range:
    if text is None:
        return range(1, 9)
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def _drawn(draw: random.Random) -> tuple[Build, Set]:
    """A build with anything set on its cards, and what that comes to channel by channel."""
    entries: list[dict[str, object]] = []
    found: Set = {}
    for (slot, name, way), banks in TOGETHER.items():
        for bank in banks:
            off = draw.random() < 0.4
            found |= {(slot, name, way, channel): (OTHER if off else USUAL)[name] for channel in _runs(bank)}
            if off:
                channels = {} if bank is None else {"channels": bank}
                entries.append({"slot": slot, "setting": name, "direction": way, "to": OTHER[name], **channels})
    return _build(entries), found


def test_each_change_of_what_is_set_turns_the_earlier_build_into_the_later_one() -> None:
    loaded = load_scenario(BROADCAST)
    draw = random.Random(1)
    for _ in range(100):
        (old, was), (new, is_) = _drawn(draw), _drawn(draw)
        found = diff(loaded, old, new)
        for change in found.settings:
            for run in (change.channels or "1-8").split(", "):
                for channel in _runs(run):
                    key = change.slot, change.setting, change.direction, channel
                    assert was[key] == change.before != change.after
                    was[key] = change.after
        assert was == is_
        assert found.nothing_to_do == (not found.settings)
        steps = [step for part in work_order(loaded, new, old).sections for step in part.steps]
        levels = {change.slot for change in found.settings if change.setting != "phantom"}
        assert {step.slot for step in steps if step.action == "card settings"} == levels


def test_nothing_is_not_to_do_where_only_phantom_power_is_otherwise() -> None:
    """Phantom power is off for the test and on again where the later build has it, so it is no step by itself."""
    on = {"slot": 2, "setting": "phantom", "direction": "in", "to": "on"}
    order = work_order(load_scenario(BROADCAST), _build([{**on, "channels": "5-8"}]), _build([on]))
    assert (order.nothing_to_do, order.summary) == (
        False,
        "1 card set otherwise, every lid stays on, unless a card is set inside",
    )
    texts = [step.text for part in order.sections for step in part.steps]
    never = "never on R in 9-10 (line); R in 11-12 (mic); looms on, amplifiers still off"
    wanted = f"Phantom on only where it is wanted (frame R, slot 2 channels 5-8); {never}"
    assert wanted in texts
    assert not any("otherwise" in text for text in texts)


def test_a_card_that_comes_is_set_before_it_is_seated_and_one_that_stays_too() -> None:
    level = {"setting": "full_scale_level", "to": "+24 dBu"}
    old = _build([], {"1": "back-8", "2": "front-8"})
    new = _build([{**level, "slot": 1, "direction": "in", "channels": "5-8"}, {**level, "slot": 5, "direction": "out"}])
    loaded = load_scenario(BROADCAST)
    found = [(c.slot, c.channels, c.before, c.after) for c in diff(loaded, old, new).settings]
    assert found == [(1, "5-8", "+18 dBu", "+24 dBu"), (5, "1-8", None, "+24 dBu")]
    order = work_order(loaded, new, old)
    frame = [step.text for step in order.sections[1].steps]
    assert "Set back-8 for slot 1 otherwise: full_scale_level, channels 5-8 +24 dBu" in frame
    assert sum("otherwise" in text for text in frame) == 1
    assert "1 card set otherwise" in order.summary


def test_what_is_set_goes_with_a_card_that_gets_another_slot() -> None:
    set_on = CardSet(slot=2, setting="full_scale_level", direction="in", to="+24 dBu")
    old, new = (
        Build(frame=(BuiltFrame(name="R", board="slate-32", straps={"layout": "1"}, cards=cards, settings=(own,)),))
        for cards, own in (
            ({"2": "front-8"}, set_on),
            ({"3": "front-8"}, set_on.model_copy(update={"slot": 3})),
        )
    )
    assert diff(load_scenario(BROADCAST), old, new).settings == []


def test_the_screen_tells_what_is_set_otherwise(tmp_path: Path) -> None:
    level = {"slot": 5, "setting": "full_scale_level", "direction": "out", "to": "+24 dBu"}
    for name, channels in (("old.toml", "1-2"), ("new.toml", "1-4")):
        write_build(_build([{**level, "channels": channels}]), tmp_path / name)
    ran = strapwork("diff", BROADCAST, tmp_path / "old.toml", tmp_path / "new.toml")
    assert ran.stdout.split("\n\n")[-3:-1] == [
        "lid stays on  R",
        "Settings of cards\n"
        "  card              setting           channels  was      becomes\n"
        "  send-8, R slot 5  full_scale_level  out 3-4   +18 dBu  +24 dBu",
    ]


def test_what_stands_keeps_its_settings_where_no_need_asks_otherwise(tmp_path: Path) -> None:
    """Idle channels that somebody set stay so; without what stands they are as the cards come."""
    settings = [CardSet(slot=5, setting="full_scale_level", direction="out", to="+24 dBu", channels="1-2, 7-8")]
    build = _build([entry.model_dump() for entry in settings])
    write_build(build, tmp_path / "stands.toml")
    text = BROADCAST.read_text(encoding="utf-8").replace(
        '"hardware/', f'"{(BROADCAST.parent / "hardware").as_posix()}/'
    )
    plans = {}
    for name, more in (("anew", ""), ("later", 'installed = "stands.toml"\n')):
        scenario = tmp_path / f"{name}.toml"
        scenario.write_text(text.replace("currency =", f"{more}currency ="), encoding="utf-8")
        loaded = load_scenario(scenario)
        (frame,) = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0].build.frame
        plans[name] = {s.channels for s in frame.settings if (s.slot, s.direction, s.to) == (5, "out", "+24 dBu")}
        if name == "later":
            asking_nothing = [n.model_copy(update={"settings": {}, "phantom": "any"}) for n in loaded.scenario.need]
            plain = loaded.scenario.model_copy(update={"need": tuple(asking_nothing)})
            assert rank(survey_room(plain, loaded.hardware), 1).builds[0].build.frame[0].settings
    assert plans["later"] == {"1-2, 7-8"}, plans
    assert plans["anew"] == {"3-4"}, plans
