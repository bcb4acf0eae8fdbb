"""What has no clock any more where what leads, passes it on or carries it fails, as the clock lines are drawn."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from solver.judge.clocks import Tree


@dataclass(frozen=True)
class ClockPart:
    """A device that others have their clock from, or a line, and whatever has none without it."""

    name: str
    told: str
    below: tuple[str, ...]


def clock_parts(tree: Tree | None, frames: Collection[str]) -> list[ClockPart]:
    """The devices of a tree that feed others, but frames, and its lines, counted from 1 as the tree has them."""
    if tree is None:
        return []
    leading = {device.name for device in tree.leading}
    found = [
        ClockPart(f"clock:{device.name}", "leads the clock" if device.name in leading else "passes clock on", below)
        for device in tree.devices
        if device.name not in frames and (below := tuple(tree.below(device.name)))
    ]
    for n, line in enumerate(tree.lines, 1):
        there = {*line.devices, *(fed for name in line.devices for fed in tree.below(name))}
        below = tuple(device.name for device in tree.devices if device.name in there)
        found.append(ClockPart(f"clock-line:{n}", line.told, below))
    return found


def without_clock(tree: Tree | None, failed: Iterable[str]) -> set[str]:
    """Whatever has no clock where some devices give none."""
    return set() if tree is None else {fed for name in failed for fed in tree.below(name)}


def stand_ins(tree: Tree | None, unclocked: Collection[str], failed: Collection[str]) -> list[str]:
    """What of all that has no clock any more has one of its own and could lead the rest, the truest first."""
    devices = () if tree is None else tree.devices
    able = [
        device
        for device in devices
        if device.ppm is not None
        and device.name not in failed
        and device.name in unclocked
        and (device.outputs or len(unclocked) == 1)  # one without an output leads none but itself
    ]
    order = sorted(able, key=lambda device: (device.ppm or 0, device.name))
    return [f"{device.name} (within {device.ppm:g} ppm)" for device in order]
