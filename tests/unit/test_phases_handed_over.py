"""Lists and work orders of phases of buying: each phase as if it were alone, and from one to the next."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from inside import strapwork

import solver

ROOT = Path(__file__).parents[2]
YEARS = ROOT / "scenarios/quay-two-years.toml"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The plan of the two years that ship, saved."""
    saved = tmp_path_factory.mktemp("years") / "built.toml"
    assert strapwork("plan", YEARS, "--save", saved).returncode == 0
    return saved


def test_each_phase_has_lists_of_its_own(built: Path) -> None:
    for phase in solver.load(YEARS).scenario.phase:
        found = solver.channels(YEARS, built, phase=phase.name)
        assert {row.need for row in found.rows if row.need} == set(phase.needs)
        assert (found.outcome, found.scenario.endswith(f", {phase.name}")) == ("clean", True)
        for command in ("channels", "looms", "labels", "list", "work-order"):
            ran = strapwork(command, YEARS, built, "--phase", phase.name)
            assert (ran.returncode, f"in two years, {phase.name}, 48 kHz" in ran.stdout) == (0, True), command
    for command in ("channels", "looms", "labels", "list", "work-order"):
        told = strapwork(command, YEARS, built)
        assert told.returncode == 2
        assert 'several phases: "this year", "next year"; name one with --phase' in told.stderr


def test_the_first_phase_begins_with_empty_frames_and_the_next_with_what_it_left(built: Path) -> None:
    """By the build file: the cards of each phase; what is there in both stays where it is (moves = "never")."""
    frames = {frame["phase"]: frame["cards"] for frame in tomllib.loads(built.read_text(encoding="utf-8"))["frame"]}
    first, later = frames["this year"], frames["next year"]
    order = solver.work_order(YEARS, built, phase="this year")
    assert (order.start, order.cards_in, order.cards_moved, order.cards_out) == ("empty frames", len(first), 0, 0)
    order = solver.work_order(YEARS, built, phase="next year")
    assert (order.start, order.cards_in, order.cards_moved) == ("what stands", len(later) - len(first), 0)
    assert 'what stands: phase "this year"' in order.notes
    assert order == solver.work_order(YEARS, built, phase="next year", from_phase="this year")
    seated = [step for section in order.sections for step in section.steps if step.action == "card in"]
    assert {str(step.slot) for step in seated} == later.keys() - first.keys()
    found = solver.diff(YEARS, built, built, phase="next year", from_phase="this year")
    assert {(card.card, str(card.after and card.after.slot)) for card in found.cards} == {
        (card, slot) for slot, card in later.items() if slot not in first
    }
    assert solver.diff(YEARS, built, built, phase="next year").nothing_to_do


def test_what_a_later_phase_does_not_need_is_unplugged(tmp_path: Path) -> None:
    """Unlike on the next kind of day, for nothing comes back."""
    text = YEARS.read_text(encoding="utf-8").replace('"hardware/', f'"{(YEARS.parent / "hardware").as_posix()}/')
    later = 'needs = ["mics", "room mics", "headphones", "returns", "monitors"]'
    assert later in text
    scenario, built = tmp_path / "years.toml", tmp_path / "built.toml"
    scenario.write_text(text.replace(later, later.replace('"headphones", ', "")), encoding="utf-8")
    assert strapwork("plan", scenario, "--save", built).returncode == 0
    order = solver.work_order(scenario, built, phase="next year")
    patched = [step.text for section in order.sections for step in section.steps if step.action == "patch"]
    assert any('"headphones" 1-8' in text and "served no more" in text for text in patched), patched


def test_a_phase_owns_what_is_ordered_until_then_and_no_more(built: Path, tmp_path: Path) -> None:
    """Without the orders of a build its cards are more than there are, in lists as in the check."""
    text = built.read_text(encoding="utf-8")
    document = tomllib.loads(text)
    assert document["order"]
    bare = tmp_path / "bare.toml"
    bare.write_text(text[: text.index("[[order]]")], encoding="utf-8")
    assert "order" not in tomllib.loads(bare.read_text(encoding="utf-8"))
    checked = {fault.rule for fault in solver.check(YEARS, bare).faults}
    assert "stock" in checked
    assert {fault.rule for fault in solver.channels(YEARS, bare, phase="next year").faults} <= checked
    assert "stock" in {fault.rule for fault in solver.channels(YEARS, bare, phase="next year").faults}


def test_a_pack_of_a_phase_has_what_comes_with_it(built: Path, tmp_path: Path) -> None:
    ran = strapwork("pack", YEARS, built, "--phase", "next year", "--to", tmp_path / "pack")
    assert ran.returncode == 0
    page = (tmp_path / "pack/index.html").read_text(encoding="utf-8")
    assert "in two years, next year" in page
    assert "what stands: phase" in page
    assert (tmp_path / "pack/build.toml").read_bytes() == built.read_bytes()


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--phase", "this yaer"), 'did you mean "this year"?'),
        (("--setup", "band"), 'has phases: "this year", "next year"; name one with --phase'),
        (("--phase", "this year", "--setup", "band"), "leave one out of --setup and --phase"),
        (("--phase", "next year", "--from-setup", "band"), "name one with --from-phase"),
    ],
)
def test_what_cannot_be_meant_is_told(built: Path, asked: tuple[str, ...], told: str) -> None:
    ran = strapwork("work-order", YEARS, built, *asked)
    assert ran.returncode == 2
    assert told in " ".join(ran.stderr.split())
