"""Scenarios as large as the files may be, and larger than anybody's: what a command may be stopped on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from solver.files.contents import MOST_BYTES
from solver.room.words import MOST_ITEMS, MOST_SLOTS


@dataclass(frozen=True)
class Size:
    """How much of everything a scenario has. `combinations` are those of a board's settings, a power of two."""

    kinds: int
    needs: int
    slots: int
    frames: int = 1
    rooms: int = 1
    signals: int = 12
    combinations: int = 1
    boards: int = 1
    demand: int = 1
    channels: int = 8


MANY_NEEDS = Size(kinds=30, needs=500, slots=24, frames=3)
MANY_KINDS = Size(kinds=60, needs=100, slots=24)
IMPOSSIBLE = Size(kinds=40, needs=60, slots=16, frames=2, demand=12)
ONE_FRAME = Size(kinds=MOST_ITEMS, needs=800, slots=MOST_SLOTS, signals=4)
STRAPS = Size(kinds=200, needs=100, slots=MOST_SLOTS, combinations=1024, boards=4)
DOZENS = Size(kinds=60, needs=200, slots=24, frames=48, combinations=4)
ALL = Size(
    kinds=MOST_ITEMS, needs=MOST_ITEMS, slots=MOST_SLOTS, frames=MOST_ITEMS, signals=60, combinations=1024, boards=8
)
CAMPUS = Size(kinds=200, needs=10, slots=24, frames=3, rooms=60, combinations=4)
SIZES = {
    "needs": MANY_NEEDS,
    "kinds": MANY_KINDS,
    "impossible": IMPOSSIBLE,
    "one frame": ONE_FRAME,
    "straps": STRAPS,
    "dozens": DOZENS,
    "all": ALL,
    "campus": CAMPUS,
}


def write(folder: Path, size: Size) -> Path:
    """The scenario of a size, with its hardware in as many files as it takes."""
    parts: list[list[str]] = [["format = 1"]]
    for entry in _hardware(size):
        if sum(map(len, parts[-1])) + len(entry) > MOST_BYTES - 10_000:
            parts.append(["format = 1"])
        parts[-1].append(entry)
    names = [f"hardware-{n}.toml" for n in range(len(parts))]
    for name, part in zip(names, parts, strict=True):
        (folder / name).write_text("\n".join(part), encoding="utf-8")
    scenario = folder / "scenario.toml"
    scenario.write_text("\n".join(_scenario(size, names)), encoding="utf-8")
    return scenario


def _hardware(size: Size) -> Iterator[str]:
    for n in range(size.kinds):
        way = ("in", "out")[n % 2]
        signals = sorted({f"s{(n // 2 + step) % size.signals}" for step in (0, 0, 1, 5)[: 1 + n // 2 % 4]})
        count = (8, 16, 16, 4)[n // 2 % 4] * size.channels // 8
        amperes = Decimal(20 + n * 13 % 60) / 100
        yield (
            f'[[card]]\nid = "c{n}"\nprice = "{100 + n * 37 % 900}.00"\nheat_w = {17 * amperes}\n'
            f'rails = {{ "+17" = {amperes} }}\nair_limit_c = {50 + n % 11}\n'
            f'ports = [{{ direction = "{way}", signals = {list(map(str, signals))}, '
            f"channels = {{ 48 = {count}, 96 = {count // 2} }} }}]"
        )
    for n in range(size.boards):
        yield (
            f'[[board]]\nid = "b{n}"\nprice = "900.00"\nheat_w = 5\nlimits = {{ 48 = {{ in = 1024, out = 1024 }} }}\n'
            f"inputs = {{ first_slot = 1, widths = 16 }}\noutputs = {{ first_slot = 1, widths = 16 }}"
        )
        yield from _groups(size)
    boards = [f"b{n}" for n in range(size.boards)]
    yield (
        f'[[chassis]]\nid = "f"\nprice = "500.00"\nslot_count = {size.slots}\nboards = {boards}\n'
        f'rails = {{ "+17" = 60 }}\n'
        'air = { path = "draught", gap_area_cm2 = 38, opening_below_cm2 = 300, opening_above_cm2 = 300, '
        "stack_mm = 190 }"
    )


def _groups(size: Size) -> Iterator[str]:
    """Four groups with as many settings each as make the combinations; each sets one of the four block keys."""
    each, left = [1, 1, 1, 1], size.combinations
    while left > 1:
        each[each.index(min(each))] *= 2
        left //= 2
    keys = ("inputs.first_slot", "outputs.first_slot", "inputs.widths", "outputs.widths")
    for key, count in zip(keys, each, strict=True):
        if count > 1:
            yield f'[[board.strap_group]]\nname = "{key}"\nkind = "switch"'
            yield from (
                f'[[board.strap_group.setting]]\nposition = "{n}"\n{key} = {n + 1 if "slot" in key else 16 + 4 * n}'
                for n in range(count)
            )


def _scenario(size: Size, hardware: Iterable[str]) -> Iterator[str]:
    yield f'format = 1\ntitle = "as large as can be"\nhardware = {list(hardware)}\ncurrency = "GBP"'
    yield "air = { inlet_c = 24 }"
    yield "[stock]"
    yield from (f"c{n} = {n % 3}" for n in range(0, size.kinds, 2))
    yield from (f"b{n} = 2" for n in range(size.boards))
    for n in range(size.kinds - size.kinds // 20):
        yield f'[[offer]]\ncard = "c{n}"\nat_most = {n % 5 + 6}'
    for n in range(size.boards):
        yield f'[[offer]]\nboard = "b{n}"'
    for room in range(size.rooms):
        prefix = "room." if size.rooms > 1 else ""
        if prefix:
            yield f'[[room]]\nname = "room {room}"'
        yield from (f'[[{prefix}frame]]\nname = "F{n}"\nchassis = "f"' for n in range(size.frames))
        for n in range(size.needs):
            yield (
                f'[[{prefix}need]]\nname = "need {n}"\ndirection = "{("in", "out")[n % 2]}"\n'
                f'signal = "s{(n + room) // 2 % size.signals}"\nchannels = {size.demand}'
            )


if __name__ == "__main__":
    import sys

    for name, size in SIZES.items():
        made = Path(sys.argv[1], name.replace(" ", "-"))
        made.mkdir(parents=True, exist_ok=True)
        print(write(made, size))
