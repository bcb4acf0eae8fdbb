"""Texts for labels of a stated width: shortened word by word, so that they stay apart and can be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

USUAL: Mapping[str, str] = {
    "ambience": "amb",
    "auxiliary": "aux",
    "channel": "ch",
    "digital": "dig",
    "drum": "drm",
    "drums": "drms",
    "foldback": "fb",
    "guitar": "gtr",
    "guitars": "gtrs",
    "headphone": "hp",
    "headphones": "hps",
    "input": "in",
    "instrument": "inst",
    "keyboard": "kbd",
    "keyboards": "kbds",
    "left": "L",
    "line": "ln",
    "microphone": "mic",
    "microphones": "mics",
    "monitor": "mon",
    "monitors": "mons",
    "orchestra": "orch",
    "outboard": "outb",
    "output": "out",
    "overhead": "OH",
    "overheads": "OHs",
    "reference": "ref",
    "return": "rtn",
    "returns": "rtns",
    "right": "R",
    "send": "snd",
    "sends": "snds",
    "spare": "spr",
    "speaker": "spk",
    "speakers": "spks",
    "talkback": "tb",
    "vocal": "vox",
    "vocals": "vox",
}
"""Abbreviations that the trade writes (common practice, no source)."""

SMALL = frozenset({"a", "an", "and", "for", "from", "of", "on", "the", "to", "with"})
"""Words that are left out before others lose letters, as long as two are left."""

VOWELS = frozenset("aeiouAEIOU")

PARTING = re.compile(r"( |(?<=\w)-(?=\w))")
"""What stands between words: blanks, and the hyphens of ids."""


def shortened(widths: Mapping[str, int]) -> dict[str, str | None]:
    """Each name within its width in characters, no two alike; None where no way of writing it is short enough and free.

    Names that fit stay as they are. Others have words that are usually abbreviated written so, then lose small words,
    then vowels inside words, then letters at the ends of words, the longest word first and three letters at least; at
    last words are joined, with capitals to tell them apart, and lose their ends instead. Digits stay.
    """
    found: dict[str, str | None] = {name: name for name, width in widths.items() if len(name) <= width}
    taken = {name.casefold() for name in found}
    for name, width in widths.items():
        if name not in found:
            text = next((text for text in ways(name) if len(text) <= width and text.casefold() not in taken), None)
            found[name] = text
            taken.add((text or name).casefold())
    return {name: found[name] for name in widths}


def ways(name: str) -> Iterator[str]:
    """Every way to write a name, each shorter than the one before."""
    parts = PARTING.split(" ".join(name.split()))
    words, before = parts[::2], ["", *parts[1::2]]

    def told() -> str:
        return "".join(gap + word for gap, word in zip(before, words, strict=True))

    yield told()
    for at in sorted(range(len(words)), key=lambda n: (-len(words[n]), n)):
        usual = USUAL.get(words[at].casefold())
        if usual is not None and len(usual) < len(words[at]):
            words[at] = usual
            yield told()
    for at in [n for n, word in enumerate(words) if word.casefold() in SMALL][::-1]:
        if len(words) > 2:
            del words[at], before[max(at, 1)]
            yield told()
    whole = list(words)
    for shorter in (_without_a_vowel, _without_an_end):
        while (longest := _longest(words, shorter)) is not None:
            words[longest] = shorter(words[longest]) or words[longest]
            yield told()
    shortest = len(told())
    apart = [one[-1:].isdigit() and other[:1].isdigit() for one, other in pairwise(whole)]  # 1 2 is not 12
    words = [word[:1].upper() + word[1:] for word in whole]
    before = ["", *(gap if digits else "" for gap, digits in zip(before[1:], apart, strict=True))]
    while True:
        if len(told()) < shortest:
            yield told()
        longest = _longest(words, _without_an_end_of_three)
        if longest is None:
            return
        words[longest] = words[longest][:-1]


def _longest(words: list[str], change: Callable[[str], str | None]) -> int | None:
    """The longest word that can still be changed, the last of equals."""
    able = [(len(word), at) for at, word in enumerate(words) if change(word) is not None]
    return max(able)[1] if able else None


def _without_a_vowel(word: str) -> str | None:
    """A word less its last vowel that is inside it; None where it has none, or would have fewer than three letters."""
    at = next((n for n in range(len(word) - 2, 0, -1) if word[n] in VOWELS), None)
    return None if at is None or len(word) < 4 else word[:at] + word[at + 1 :]


def _without_an_end(word: str) -> str | None:
    """A word less its last letter; None where it is not all letters, or fewer than three would be left."""
    return word[:-1] if len(word) > 3 and word.isalpha() else None


def _without_an_end_of_three(word: str) -> str | None:
    """The same down to two letters, which are still read where words begin with capitals."""
    return word[:-1] if len(word) > 2 and word.isalpha() else None
