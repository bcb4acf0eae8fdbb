"""What a card needs and excludes, and its supply cables, in a hardware file: faults with their keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import HARDWARE, change, texts_of, write

from solver.files.reading import load_scenario


def _with(more: str) -> str:
    return change(HARDWARE, 'id = "mic-4"', f'id = "mic-4"\n{more}')


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('needs = [{ card = "mic-5", within = "next" }]', "needs 1 > card"),
        ('excludes = [{ card = "mic-5", within = "next" }]', "excludes 1 > card"),
        ('needs = [{ card = "mic-4", within = "frame" }]', "a card cannot need itself"),
        ('needs = [{ card = "line-in-8", per = 0, within = "frame" }]', "needs 1 > per"),
        ('needs = [{ card = "line-in-8", within = "beside" }]', "needs 1 > within"),
        ('needs = [{ card = "line-in-8" }]', "needs 1 > within"),
        (
            'needs = [{ card = "line-in-8", within = "next" }, { card = "line-in-8", per = 2, within = "next" }]',
            'needs 2 > card: "line-in-8" stands there twice within "next"',
        ),
        (
            'needs = [{ card = "line-in-8", within = "frame" }]\nexcludes = [{ card = "line-in-8", within = "frame" }]',
            "mic-4 needs line-in-8 and excludes it, so it can stand nowhere",
        ),
    ],
)
def test_a_card_asks_for_company_that_can_be(tmp_path: Path, more: str, told: str) -> None:
    texts = texts_of(write(tmp_path, hardware=_with(more)))
    assert len(texts) == 1
    assert told in texts[0]
    assert texts[0].startswith('card "mic-4" > ')


def test_a_card_that_is_needed_does_not_exclude_who_needs_it(tmp_path: Path) -> None:
    hardware = change(
        _with('needs = [{ card = "line-in-8", within = "next" }]'),
        'id = "line-in-8"',
        'id = "line-in-8"\nexcludes = [{ card = "mic-4", within = "next" }]',
    )
    assert texts_of(write(tmp_path, hardware=hardware)) == [
        'card "mic-4" > needs 1 > card: mic-4 needs line-in-8, which excludes it, so it can stand nowhere'
    ]


def test_what_is_needed_in_the_frame_may_be_excluded_beside(tmp_path: Path) -> None:
    more = 'needs = [{ card = "line-in-8", within = "frame" }]\nexcludes = [{ card = "line-in-8", within = "next" }]'
    assert load_scenario(write(tmp_path, hardware=_with(more))).warnings == ()


@pytest.mark.parametrize(
    ("cables", "sockets", "told"),
    [
        ('["mic-feed"]', "{ mic-feed = 2 }", None),
        ('["mic-fed"]', "{ mic-feed = 2 }", 'did you mean "mic-feed"?'),
        ('["mic-feed", "mic-feed"]', "{ mic-feed = 0 }", "so this card can stand in none"),
        ('["mic-feed"]', "{}", "so this card can stand in none"),
    ],
)
def test_a_supply_cable_that_no_chassis_has_a_socket_for_is_warned_of(
    tmp_path: Path, cables: str, sockets: str, told: str | None
) -> None:
    hardware = _with(f"supply_cables = {cables}").replace("slot_count", f"supply_sockets = {sockets}\nslot_count")
    own = [
        each.text()
        for each in load_scenario(write(tmp_path, hardware=hardware)).warnings
        if "supply_cables" in each.path
    ]
    assert len(own) == (told is not None)
    assert all((told or "") in text for text in own)


@pytest.mark.parametrize(
    ("cables", "sockets", "told"),
    [
        ('["mic-feed"]', "{ mic-feed = -1 }", "supply_sockets > mic-feed"),
        ('["Mic feed"]', "{ mic-feed = 1 }", "supply_cables 1: must be lower-case"),
    ],
)
def test_supply_sockets_are_counted_by_sorts_that_are_written_like_ids(
    tmp_path: Path, cables: str, sockets: str, told: str
) -> None:
    hardware = _with(f"supply_cables = {cables}").replace("slot_count", f"supply_sockets = {sockets}\nslot_count")
    (text,) = texts_of(write(tmp_path, hardware=hardware))
    assert told in text
