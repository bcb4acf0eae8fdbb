"""Seeded damage to the shipped files: what a slip of the hand, a bad merge or a broken disk could leave behind."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HARDWARE = "hardware/quay.toml"
BUILDS = {
    SCENARIOS / "quay-filled.toml": SCENARIOS / "quay-filled-drawn.toml",
    **{SCENARIOS / file.name: file for file in sorted((Path(__file__).parent / "builds").glob("*.toml"))},
}
"""Shipped scenarios and a build of each, as ``plan --save`` wrote it where none is shipped."""

EXTREMES = (
    "0", "-1", "1", "64", "65", "1024", "9999", "10000", "100000", "1e12", "-0.0", "0.0001", "1e-30", "1e30", "nan",
    "inf", "-inf", "9" * 5000, "0x" + "f" * 5000, "1e999999999999999999", "1e-999999999", "12.3456789", "true",
    '""', '" "', '"12"', '"\\u0000"', '"\\u202e"', '"a\\nb"', "'\ud7ff'", '"' + "x" * 5000 + '"', "[]", "{}", "[[]]",
    "[{}]", '[""]', "{ a = 1 }", "{ '' = 1 }", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z", '"1-64"', '"64-1"',
    '"1-4, 3"', '"0"', '"1-9999"', '"100 %"', '"-5 %"', '"open"', '"W1+W1"', '"+"', "192000", "44100", '"JPY"',
    '"1290.123456"', '"999999999999.99"', '"in"', '"out"', '"fan"', '"draught"', '"switch"', '"flat"', '"drop"',
    "[1, 1]", "[64]", '["line", "line"]', '{ "48" = 1024 }', '{ "192" = 0 }', "{ first_slot = 64, widths = 1024 }",
)  # fmt: skip
"""Values at and past the edges of what the files take, and values of every other kind."""

KEYS = re.compile(r"^(\s*)([A-Za-z0-9_-]+|\"[^\"]*\")(\s*=\s*)(.*)$")
NUMBER = re.compile(r"(?<![A-Za-z0-9_.\"-])-?[0-9]+(?:\.[0-9]+)?(?![A-Za-z0-9_.\"-])")
QUOTED = re.compile(r'"[^"\n]*"')


def _spot(rng: random.Random, lines: list[str]) -> int:
    return rng.randrange(len(lines)) if lines else 0


def _flip(rng: random.Random, text: str, other: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + rng.choice("\0\a\t\n\r\"',.=[]{}\u00e9\u2028") + text[at:]


def _cut(rng: random.Random, text: str, other: str) -> str:
    at = rng.randrange(len(text) + 1)
    return text[:at] + text[at + rng.choice((1, 1, 2, 20, 10**6)) :]


def _delete_line(rng: random.Random, text: str, other: str) -> str:
    lines = text.split("\n")
    del lines[_spot(rng, lines)]
    return "\n".join(lines)


def _repeat_line(rng: random.Random, text: str, other: str) -> str:
    lines = text.split("\n")
    at = _spot(rng, lines)
    lines[at:at] = lines[at : at + rng.choice((1, 1, 3, 10))]
    return "\n".join(lines)


def _swap_lines(rng: random.Random, text: str, other: str) -> str:
    lines = text.split("\n")
    a, b = _spot(rng, lines), _spot(rng, lines)
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def _pairs(lines: list[str]) -> list[tuple[int, re.Match[str]]]:
    return [(n, match) for n, line in enumerate(lines) if (match := KEYS.match(line))]


def _swap_values(rng: random.Random, text: str, other: str) -> str:
    """Two keys exchange their values, or two values their keys."""
    lines = text.split("\n")
    pairs = _pairs(lines)
    if len(pairs) < 2:
        return text
    (a, one), (b, two) = rng.sample(pairs, 2)
    lines[a] = f"{one[1]}{one[2]}{one[3]}{two[4]}"
    lines[b] = f"{two[1]}{two[2]}{two[3]}{one[4]}"
    return "\n".join(lines)


def _extreme_value(rng: random.Random, text: str, other: str) -> str:
    lines = text.split("\n")
    pairs = _pairs(lines)
    if not pairs:
        return text
    at, match = rng.choice(pairs)
    lines[at] = f"{match[1]}{match[2]}{match[3]}{rng.choice(EXTREMES)}"
    return "\n".join(lines)


def _replace(rng: random.Random, text: str, pattern: re.Pattern[str], by: Callable[[str], str]) -> str:
    found = list(pattern.finditer(text))
    if not found:
        return text
    match = rng.choice(found)
    return text[: match.start()] + by(match[0]) + text[match.end() :]


def _extreme_number(rng: random.Random, text: str, other: str) -> str:
    return _replace(rng, text, NUMBER, lambda _: rng.choice(EXTREMES))


def _near_number(rng: random.Random, text: str, other: str) -> str:
    """A number a little or a lot off, and still a number of its kind."""

    def by(old: str) -> str:
        if "." in old:
            return f"{float(old) * rng.choice((0.5, 0.99, 1.01, 2, 10)):.3f}"
        return str(rng.choice((int(old) + 1, int(old) - 1, int(old) * 2, int(old) * 10)))

    return _replace(rng, text, NUMBER, by)


def _other_text(rng: random.Random, text: str, other: str) -> str:
    """A text becomes another text of the files, or is mistyped."""

    def by(old: str) -> str:
        pool = QUOTED.findall(other if rng.random() < 0.3 else text)
        if pool and rng.random() < 0.6:
            return str(rng.choice(pool))
        at = rng.randrange(len(old))
        return old[:at] + rng.choice("xX-_ 0\u200b\x1b") + old[at + 1 :]

    return _replace(rng, text, QUOTED, by)


def _tables(text: str) -> list[str]:
    return re.split(r"(?m)^(?=\[)", text)


def _repeat_table(rng: random.Random, text: str, other: str) -> str:
    tables = _tables(text)
    at = _spot(rng, tables)
    tables[at] *= rng.choice((0, 0, 2, 2, 3, 20, 200))
    return "".join(tables)


def _splice(rng: random.Random, text: str, other: str) -> str:
    """A run of tables or lines of another file."""
    pieces, mine = (_tables(other), _tables(text)) if rng.random() < 0.5 else (other.split("\n"), text.split("\n"))
    at, start = _spot(rng, mine), _spot(rng, pieces)
    joiner = "" if pieces[:1] == _tables(other)[:1] else "\n"
    return joiner.join([*mine[:at], *pieces[start : start + rng.choice((1, 2, 5))], *mine[at:]])


def _nest(rng: random.Random, text: str, other: str) -> str:
    depth = rng.choice((3, 50, 500, 5000))
    deep = rng.choice(
        (
            "x = " + "[" * depth,
            "x = " + "[" * depth + "]" * depth,
            "x = " + "{ a = " * depth + "1" + " }" * depth,
            "x" + ".y" * depth + " = 1",
            "[" + "x." * depth + "y]",
            "frame = " + "[" * depth + "{}" + "]" * depth,
            "[[frame" + ".straps" * min(depth, 18) + "]]",
        )
    )
    lines = text.split("\n")
    lines.insert(_spot(rng, lines), deep)
    return "\n".join(lines)


GROUP = re.compile(r'(?m)^\[\[board\.strap_group\]\]\nname = "([^"]*)"')
SETTING = re.compile(r"(?m)^(?:closed|position) = (.*)$")


def _strange_ban(rng: random.Random, text: str, other: str) -> str:
    """A ban of settings that may not be there, of groups that may not be there, or of nothing."""
    groups = [*GROUP.findall(text), "lamp"]
    settings = ["open", *(value.strip('[]"').replace('", "', "+") for value in SETTING.findall(text))]
    ban = {group: rng.choice(settings) for group in rng.sample(groups, rng.choice((0, 1, 1, 2)))}
    line = "  { " + ", ".join(f'"{group}" = "{setting}"' for group, setting in ban.items()) + " },"
    return text.replace("never_together = [", f"never_together = [\n{line}", 1)


def _part_of_a_group(rng: random.Random, text: str, other: str) -> str:
    """A strap group loses its settings, one of its tables or all of them, or gets another name."""
    tables = _tables(text)
    places = [n for n, table in enumerate(tables) if table.startswith("[[board.strap_group]]")]
    if not places:
        return text
    at = rng.choice(places)
    end = next((n for n in range(at + 1, len(tables)) if "strap_group.setting" not in tables[n]), len(tables))
    how = rng.choice(("settings", "settings", "one setting", "all", "name"))
    if how == "name":
        names = [*GROUP.findall(text), "lamp", "lamp"]
        tables[at] = re.sub(r'name = "[^"]*"', f'name = "{rng.choice(names)}"', tables[at], count=1)
    elif how == "one setting":
        del tables[rng.randrange(at, end)]
    else:
        del tables[at + (how == "settings") : end]
    return "".join(tables)


STRAPS = (_strange_ban, _part_of_a_group, _part_of_a_group)
"""Damage to a hardware file that leaves strap groups, their settings and what names them out of step."""

SLIPS = (_near_number, _near_number, _near_number, _other_text, _delete_line, _repeat_table, _swap_lines)
"""Damage that often leaves a file that means something else."""

DAMAGE = (
    _flip, _cut, _delete_line, _repeat_line, _swap_lines, _swap_values, _extreme_value, _extreme_value,
    _extreme_number, _extreme_number, _other_text, _repeat_table, _splice, _nest,
)  # fmt: skip
"""Damage of every kind."""


def _bytes(rng: random.Random, text: str) -> bytes:
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    if rng.random() < 0.1 and data:
        for _ in range(rng.choice((1, 1, 8))):
            data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    if rng.random() < 0.05:
        return bytes(data).replace(b"\n", b"\r\n")
    return b"\xef\xbb\xbf" + bytes(data) if rng.random() < 0.03 else bytes(data)


def damaged(seed: int, *, whole: bool = False) -> dict[str, bytes]:
    """A scenario, its hardware file and a build file, one or two of them damaged one to four times.

    Keys are ``room.toml``, ``hardware/quay.toml`` and ``build.toml``; the same seed gives the same bytes everywhere.
    With `whole` nothing is damaged.
    """
    rng = random.Random(seed)
    room, build = rng.choice(list(BUILDS.items()))
    paths = {"room.toml": room, HARDWARE: SCENARIOS / HARDWARE, "build.toml": build}
    texts = {name: path.read_text(encoding="utf-8") for name, path in paths.items()}
    kinds = rng.choice((SLIPS, SLIPS, SLIPS, SLIPS, DAMAGE, DAMAGE, STRAPS))
    hit = rng.sample(sorted(texts), rng.choice((1, 1, 2))) if kinds is not STRAPS else [HARDWARE]
    hit = [] if whole else hit
    for name in hit:
        for _ in range(rng.choice((1, 1, 1, 2, 4))):
            other = texts[rng.choice(sorted(texts))]
            texts[name] = rng.choice(kinds)(rng, texts[name], other)
    return {name: _bytes(rng, text) if name in hit else text.encode() for name, text in texts.items()}
