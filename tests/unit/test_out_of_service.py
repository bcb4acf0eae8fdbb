"""What is out of service: how files say it, what plans make of it, and what screens say."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from inside import strapwork
from samples import BUILD, HARDWARE, SCENARIO, change, faults_of, write

import solver
from solver.files.reading import load_build, load_scenario
from solver.fitted.standing import stand
from solver.reports.reach import ReachReport
from solver.room.out_of_service import OutOfService
from solver.room.ready import survey_room
from solver.search.ask.ranking import rank

ROOT = Path(__file__).parents[2]

ENTRY = '[[out_of_service]]\n{key} = "{what}"\ndate = 2026-11-20\nsymptom = "hum"\nfound_by = "house technician"\n'
STANDS = change(change(BUILD, '"3" = "line-in-8"', '"3" = "line-in-8", "5" = "mic-4"'), '"1-8"', '"1-6"')
WIRED = change(
    HARDWARE,
    'channels = { "48" = 8, "96" = 8 } } ]\n',
    'channels = { "48" = 8, "96" = 8 } } ]\n[[card.connector]]\nid = "in"\ntype = "db25"\n'
    'pinout = "aes59"\ncarries = [{ port = 1 }]\n',
)


def _written(folder: Path, *entries: tuple[str, str], stock: str = "line-in-8 = 1\nmic-4 = 2") -> Path:
    """A line card in slot 3 and a mic card in slot 5 stand, and another mic card is on the shelf."""
    (folder / "stands.toml").write_text(STANDS)
    text = change(SCENARIO, 'slack = { cost = "5 %" }\n', 'installed = "stands.toml"\n')
    text = change(text, "line-in-8 = 1", stock)
    text = change(text, 'rank = ["cost", "unused"]', 'rank = ["cards_moved", "cost", "unused"]')
    text = change(text, "channels = 8", "channels = 6")
    text = change(text, 'pins = { "3" = "line-in-8" }\n', "")
    text = change(text, '[[must_seat]]\ncard = "mic-4"\n', "")
    return write(folder, text + "".join(ENTRY.format(key=key, what=what) for key, what in entries), WIRED)


@pytest.mark.parametrize(
    ("key", "what", "told"),
    [
        ("slot", "A:4", "no card has its first slot there in what stands"),
        ("slot", "A:13", "A has slots 1 to 12"),
        ("slot", "B:3", '"B" is no frame of this scenario'),
        ("slot", "A", 'must be written like "A:5"'),
        ("channel", "A:5", 'must be written like "A:5.3"'),
        ("channel", "A:5.0", 'must be written like "A:5.3"'),
        ("number", "A:in:x", 'must be written like "A:37"'),
        ("loom", "A3-out", 'is the name of no loom, such as "A5-in"'),
        ("channel", "A:1.99", "no card has more than"),
        ("number", "A:99999", "no board has numbers above"),
        ("stock", "line-in-8", "so many are not in stock beside those that stand"),
        ("bench", "A:3", "bench"),
    ],
)
def test_what_names_nothing_is_a_fault(tmp_path: Path, key: str, what: str, told: str) -> None:
    texts = [fault.text() for fault in faults_of(_written(tmp_path, (key, what)))]
    assert any(told in text for text in texts), texts


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("date = 2026-11-20", 'date = "soon"', "must be a day, such as 2026-11-20"),
        ("date = 2026-11-20", "date = 5", "must be a day, such as 2026-11-20"),
        ('symptom = "hum"\n', "", "symptom"),
        ('slot = "A:3"', 'slot = "A:3"\nnumber = "A:3"', "it has slot and number"),
        ('slot = "A:3"\n', "", "it has none"),
    ],
)
def test_an_entry_names_one_thing_and_says_what_is_wrong_with_it(tmp_path: Path, old: str, new: str, told: str) -> None:
    path = _written(tmp_path, ("slot", "A:3"))
    path.write_text(change(path.read_text(), old, new))
    texts = [fault.text() for fault in faults_of(path)]
    assert any(told in text for text in texts), texts


def test_what_is_told_twice_and_a_slot_where_nothing_stands_are_faults(tmp_path: Path) -> None:
    path = _written(tmp_path, ("slot", "A:3"), ("slot", "A:3"))
    assert [f.path for f in faults_of(path)] == [("out_of_service", 2, "slot")]
    path.write_text(change(path.read_text(), 'installed = "stands.toml"\n', ""))
    assert any("name its build file as installed" in fault.text() for fault in faults_of(path))


@pytest.mark.parametrize(
    ("entry", "empty", "cards", "moved"),
    [
        # Six lines are asked for: all that has numbers of the line card.
        (None, 12, {"3": "line-in-8", "5": "mic-4"}, 0),
        (("stock", "mic-4"), 12, {"3": "line-in-8", "5": "mic-4"}, 0),
        # Five of its six, and one of the mic card on the shelf: in slot 1 that leaves 8 gaps, the one in slot 5 18.
        (("number", "A:in:13"), 12, {"1": "mic-4", "3": "line-in-8", "5": "mic-4"}, 0),
        (("channel", "A:3.1"), 12, {"1": "mic-4", "3": "line-in-8", "5": "mic-4"}, 0),
        # The mic card on the shelf comes where none is left of the line card.
        (("slot", "A:3"), 12, {"1": "mic-4", "5": "mic-4"}, 0),
        (("loom", "A3-in"), 12, {"1": "mic-4", "3": "line-in-8", "5": "mic-4"}, 0),
        # Slot 3 is to be empty: a whole card goes to another slot, one with a channel out of service does not.
        (None, 3, {"1": "line-in-8", "5": "mic-4"}, 1),
        (("channel", "A:3.1"), 3, {"1": "mic-4", "5": "mic-4"}, 1),
    ],
)
def test_a_plan_does_without(
    tmp_path: Path, entry: tuple[str, str] | None, empty: int, cards: dict[str, str], moved: int
) -> None:
    path = _written(tmp_path, *([entry] if entry else []))
    path.write_text(change(path.read_text(), "keep_empty = [12]", f"keep_empty = [{empty}]"))
    loaded = load_scenario(path)
    best = rank(survey_room(loaded.scenario, loaded.hardware), 1).builds[0]
    assert best.proven
    assert (best.build.frame[0].cards, best.figures.cards_moved, best.figures.cost) == (cards, moved, 0)


def test_a_channel_of_another_card_in_its_place_serves(tmp_path: Path) -> None:
    loaded = load_scenario(_written(tmp_path, ("channel", "A:5.1")))
    survey = survey_room(loaded.scenario, loaded.hardware)
    for text, dead in ((STANDS, True), (change(STANDS, '"5" = "mic-4"', '"5" = "line-in-8"'), False)):
        (tmp_path / "other.toml").write_text(text)
        frame = stand(survey, load_build(tmp_path / "other.toml")).frames[0]
        assert ((5, 1) in frame.dead("in")) is dead


def test_a_way_out_brings_it_back_into_service(tmp_path: Path) -> None:
    path, mended = _written(tmp_path, ("slot", "A:3"), stock="line-in-8 = 1"), tmp_path / "mended.toml"
    path.write_text(change(path.read_text(), '[[offer]]\ncard = "mic-4"\nprice = "810.50"\n', ""))
    ran = strapwork("why", path)
    assert ran.returncode == 1, ran
    said = " ".join(ran.stdout.split())
    (number,) = re.findall(r"([0-9]+) repair off bring the card in slot A:3 back into service", said)
    assert strapwork("why", path, "--apply", number, "--to", mended).returncode == 0
    assert "[[out_of_service]]" not in mended.read_text()
    assert strapwork("plan", mended, "--top", "1").returncode == 0


def test_screens_say_what_is_out_of_service(tmp_path: Path) -> None:
    path, build = _written(tmp_path, ("channel", "A:3.2"), ("slot", "A:5")), tmp_path / "stands.toml"
    ran = strapwork("check", path, build)
    said = " ".join(ran.stdout.split())
    assert ran.returncode == 1
    assert 'input channel 2 carries "returns", and channel A:3.2 is out of service: "hum", found by' in said
    assert 'out of service: the card in slot A:5 (mic-4): "hum", found by house technician on 2026-11-20' in said
    assert "A in 14 3 line-in-8 2" in " ".join(strapwork("channels", path, build).stdout.split())
    idle = tmp_path / "idle.toml"
    idle.write_text(change(STANDS, 'channels = "1-6"', 'channels = "1"'))
    said = strapwork("channels", path, idle).stdout
    assert len(re.findall("out of service$", said, re.MULTILINE)) == 1, said
    assert "OUT OF SERVICE" in strapwork("find", path, build, "A:in:14").stdout


def test_a_work_order_takes_it_out_where_its_slot_is_taken_or_the_lid_is_off(tmp_path: Path) -> None:
    path, new = _written(tmp_path, ("slot", "A:3")), tmp_path / "new.toml"
    served = 'serves = [ { need = "returns", slot = 3, channels = "1-6" } ]\n'
    for cards, taken in (('"3" = "mic-4", "5" = "mic-4"', True), ('"5" = "mic-4"', False)):
        new.write_text(change(change(STANDS, '"3" = "line-in-8", "5" = "mic-4"', cards), served, ""))
        said = " ".join(strapwork("work-order", path, new).stdout.split())
        away = "Take line-in-8, which is out of service, out of slot 3"
        assert ((away in said), ("line-in-8 in 3 (out of service), mic-4 in 5" in said)) == (taken, taken), said


@pytest.mark.parametrize(("slot", "cards"), [("A:5", "1 card in, 1 card out, lid off A"), (None, "nothing to do")])
def test_all_tell_the_same_of_a_card_that_another_of_its_kind_replaces(
    tmp_path: Path, slot: str | None, cards: str
) -> None:
    path, build = _written(tmp_path, *([("slot", slot)] if slot else [])), tmp_path / "stands.toml"
    stands = load_build(build)
    changed = solver.diff(path, stands, stands)
    ordered = [solver.work_order(path, stands, old=old) for old in (None, stands)]
    (checked,) = solver.check(path, stands).builds
    assert checked.moved is not None
    for told in (checked.moved.text, changed.summary, *(order.summary for order in ordered)):
        assert told.replace(";", ",").startswith(cards), told
    gone = [("mic-4", True)] if slot else []
    assert [(card.card, card.out_of_service) for card in changed.cards if card.after is None] == gone
    assert solver.pack(path, stands).shelf == ({} if slot else {"mic-4": 1})
    said = strapwork("check", path, build).stdout
    assert ("Out of service  1 x mic-4" in said, "all that is owned and in service is fitted" in said) == (
        bool(slot),
    ) * 2


def test_a_channel_along_a_slot_is_found_and_fails_by_the_same_name(tmp_path: Path) -> None:
    path, build = _written(tmp_path), tmp_path / "stands.toml"
    for name in ("A:3.2", "A:in:3.2"):
        assert "A in 14" in strapwork("find", path, build, name).stdout
        said = " ".join(strapwork("failed", path, build, name).stdout.split())
        assert "returns 2" in said
        assert "returns 3" not in said
    assert strapwork("find", path, build, "A:out:3.2").returncode == 2


@pytest.mark.parametrize(("scenario", "number"), [("quay-scoring", "S:out:15"), ("quay-mix-rig", "M:out:15")])
def test_reach_names_a_number_out_of_service_just_where_more_could_be_had_without_that(
    scenario: str, number: str
) -> None:
    files = solver.load(ROOT / "scenarios" / f"{scenario}.toml")
    entry = OutOfService(number=number, date=date(2026, 11, 20), symptom="hum", found_by="technician")
    without = files.scenario.model_copy(update={"budget": None})
    with_it = without.model_copy(update={"out_of_service": (entry,)})
    answer = solver.reach(with_it, hardware=files.hardware)
    assert isinstance(answer, ReachReport)
    assert answer.proven
    named = 0
    for one in answer.needs:
        most = one.any_money.channels
        if one.bare or one.direction == "in" or most is None:
            continue
        asked = [
            need.model_copy(update={"channels": most + 1, "spare": 0}) if need.name == one.name else need
            for need in without.need
        ]
        more = solver.plan(without.model_copy(update={"need": tuple(asked)}), hardware=files.hardware)
        told = [stop.cause for stop in one.stops or ()]
        assert ("out-of-service" in told) == bool(more.builds), (one.name, told)
        named += "out-of-service" in told
    assert named


@pytest.mark.parametrize("scenario", ["quay-week", "quay-two-years"])
def test_plans_of_several_days_and_of_phases_say_what_is_out_of_service(scenario: str) -> None:
    files = solver.load(ROOT / "scenarios" / f"{scenario}.toml")
    frame = files.scenario.frame[0].name
    out = OutOfService(number=f"{frame}:out:32", date=date(2026, 11, 20), symptom="hum", found_by="technician")
    plan = solver.plan(files.scenario.model_copy(update={"out_of_service": (out,)}), hardware=files.hardware)
    assert plan.outcome == "found"
    assert plan.notes == [f'out of service: number {frame}:out:32: "hum", found by technician on 2026-11-20']


def test_what_is_out_of_service_is_neither_spare_nor_only_not_used(tmp_path: Path) -> None:
    """Of the lines of slot 3, numbers 13 to 18, the first serves and the second is out of service."""
    path, build = _written(tmp_path, ("channel", "A:3.2")), tmp_path / "idle.toml"
    path.write_text(change(path.read_text(), "channels = 6", "channels = 1"))
    build.write_text(change(STANDS, 'channels = "1-6"', 'channels = "1"'))
    files = solver.load(path)
    whole = files.scenario.model_copy(update={"out_of_service": ()})
    ours = [solver.check(each, build, hardware=files.hardware).builds[0] for each in (whole, files.scenario)]
    before, after = ({tuple(s.signals): s.channels for s in own.spare if s.direction == "in"} for own in ours)
    assert before == {**after, ("line",): after[("line",)] + 1}
    assert ours[0].unused == ours[1].unused
    said = " ".join(strapwork("check", path, build).stdout.split())
    assert "returns on 13; 4 not used; 1 out of service; 2 without a number" in said
    assert "not used (1 out of service)" in said
    said = " ".join(strapwork("explain", path, "--build", build).stdout.split())
    assert "A 3 line-in-8 in 1 out of service: 14, line" in said
    assert "A 3 line-in-8 in 4 not used: 15-18, line" in said
    assert "A in 14 3 line-in-8 2 A3-in out of service" in " ".join(
        strapwork("find", path, build, "slot:A:3").stdout.split()
    )
    assert "carries out of service; takes line" in " ".join(strapwork("find", path, build, "A:in:14").stdout.split())
    assert strapwork("pack", path, build, "--to", tmp_path / "pack").returncode == 0
    assert "4 not used; 1 out of service" in (tmp_path / "pack" / "index.html").read_text()


def test_a_pair_of_which_one_channel_is_out_of_service_is_so_whole() -> None:
    """Six AES3 outputs are left beside the pair to the monitors; without the first pair four can be had."""
    files = solver.load(ROOT / "scenarios" / "quay-mix-rig.toml")
    out = OutOfService(channel="M:out:3.2", date=date(2026, 11, 20), symptom="hum", found_by="technician")
    hurt = files.scenario.model_copy(update={"out_of_service": (out,)})
    build = solver.plan(hurt, hardware=files.hardware, top=1).builds[0]
    (spare,) = [own for own in build.spare if (own.direction, own.signals) == ("out", ["aes3"])]
    (slot,) = [own for frame in build.frames for own in frame.slots if own.card == "aes-8"]
    assert (slot.slots, spare.channels, slot.idle, slot.out_of_service) == ([3], 4, 12, 2)
