"""Texts for labels: short enough, never alike, and made by rules that leave what tells names apart."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from solver.handover.labels import shortened, ways

NAMES = (
    "drum mics", "drum overheads left", "drum overheads right", "orchestra mics", "outboard returns", "outboard sends",
    "mix to monitors", "headphone sends", "headphone sends artist", "reference in", "guitars", "line tie lines",
    "line-out-16", "mic-8-cool",
    "talkback from control room", "talkback to control room", "tape machine 24 track returns",
)  # fmt: skip


def _short(names: tuple[str, ...], width: int) -> dict[str, str | None]:
    return shortened(dict.fromkeys(names, width))


def test_what_fits_stays_as_it_is() -> None:
    assert _short(("kick", "snare top"), 9) == {"kick": "kick", "snare top": "snare top"}


@pytest.mark.parametrize("width", range(8, 31))
def test_texts_fit_and_are_never_alike(width: int) -> None:
    found = _short(NAMES, width)
    texts = [text for text in found.values() if text is not None]
    assert list(found) == list(NAMES)
    assert all(len(text) <= width for text in texts)
    assert len({text.casefold() for text in texts}) == len(texts)
    assert len(texts) == len(NAMES) or width < 10


def test_names_of_a_studio_are_shortened_so() -> None:
    """Whole texts, to be read: what a technician would write on ten characters (common practice, no source)."""
    found = _short(("outboard returns", "mix to monitors", "orchestra mics", "headphone sends", "reference in"), 10)
    assert found == {
        "outboard returns": "outb rtns",
        "mix to monitors": "mix mons",
        "orchestra mics": "orch mics",
        "headphone sends": "hp sends",
        "reference in": "ref in",
    }


def test_ids_are_shortened_word_by_word_and_keep_their_hyphens() -> None:
    """As a technician would write them on eight characters (common practice, no source)."""
    found = _short(("line-out-8", "line-out-16", "instrument-4", "mic-8-cool", "mic-8-hot"), 8)
    assert list(found.values()) == ["ln-out-8", "LnOut16", "inst-4", "Mic8Cool", "Mic8Hot"]


def test_each_way_is_shorter_than_the_one_before_and_keeps_first_letters_and_digits() -> None:
    for name in NAMES:
        told = list(ways(name))
        assert told[0] == name
        assert [len(text) for text in told] == sorted((len(text) for text in told), reverse=True)
        for text in told:
            assert Counter(c for c in text if c.isdigit()) == Counter(c for c in name if c.isdigit())
            assert text[0].casefold() == name[0].casefold()


def test_names_that_a_cut_would_make_alike_are_told_apart() -> None:
    found = _short(("talkback from control room", "talkback from control rack"), 12)
    one, other = found.values()
    assert one is not None
    assert other is not None
    assert one.casefold() != other.casefold()


def test_where_nothing_short_is_free_there_is_none() -> None:
    found = _short(("take 1234567", "take 1234568"), 8)
    assert set(found.values()) == {None}


def test_hostile_names_are_shortened_or_told_to_be_too_long() -> None:
    draw = random.Random(7)
    letters = "aeioubcdst  0129-=+@'\"<>&;\u05d0\u05d1\u202e\U0001f3b8\u00e9"
    for _ in range(300):
        names = {"".join(draw.choice(letters) for _ in range(draw.randint(1, 30))).strip() or "x" for _ in range(8)}
        found = shortened(dict.fromkeys(sorted(names), 9))
        texts = [text for text in found.values() if text is not None]
        assert all(0 < len(text) <= 9 for text in texts)
        assert len({text.casefold() for text in texts}) == len(texts)


def test_two_numbers_never_become_one() -> None:
    assert not any("12" in text for text in ways("orchestra 1 2 overheads"))
    assert any(text.startswith("Orch") for text in ways("orchestra 1 2 overheads"))
