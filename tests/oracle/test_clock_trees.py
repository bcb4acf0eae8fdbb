"""Clock trees against every tree of up to six devices, read by rules of its own; each rule broken alone."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from itertools import product
from typing import Any

import pytest
from amounts import some_or_all

from solver.judge.clocks import Line, Tree, faults
from solver.room.clocks import ClockDevice
from solver.search.ask.clock_tree import best_tree, in_the_way
from solver.search.solve.clock import Clock

Ways = tuple[tuple[str, str, bool], ...]
"""For each device by name its source, the kind, and whether it follows that on its line; ("", "", False): none."""


def drawn(seed: int, most: int = 6) -> tuple[tuple[ClockDevice, ...], int]:
    """Two to six devices with few ways between them, and a sample rate; every third four at most, at 96 kHz.

    Those mostly say what rate of word clock they have and how they frame, and have more outputs.
    """
    draw, fussy = random.Random(seed), seed % 3 == 0
    rate = 96000 if fussy else draw.choice([48000, 48000, 44100, 96000])
    names = [f"d{n}" for n in range(draw.randint(2, min(most, 4) if fussy else most))]
    devices = []
    for name in names:
        kinds = draw.sample(["word", "aes3", "madi", "network"], draw.choice([1, 1, 2]))
        if draw.random() < 0.6 and "word" not in kinds:
            kinds[0] = "word"

        def socket(kind: str) -> dict[str, Any]:
            if kind == "word" and draw.random() < (0.5 if fussy else 0.3):
                return {"kind": kind, "rate": draw.choice([rate, rate, rate // 2])}
            if kind in ("aes3", "madi") and draw.random() < (0.8 if fussy else 0.5):
                return {"kind": kind, "framing": draw.choice(["whole", "split"])}
            return {"kind": kind}

        inputs = [
            socket(kind) | ({"termination": draw.choice(["switched", "fixed", "none"])} if kind == "word" else {})
            for kind in kinds
        ]
        outputs = []
        for kind in dict.fromkeys([*(kinds if fussy else kinds[:1]), "word"]) if draw.random() < 0.7 else ():
            own = socket(kind) | {"count": draw.choice([1, 1, 2, 3])}
            outputs.append(own | ({"most": draw.randint(1, 3)} if kind == "word" else {}))
        device: dict[str, Any] = {"name": name, "inputs": inputs, "outputs": outputs}
        if draw.random() < 0.6:
            device["ppm"] = draw.choice([1, 1, 10, 25])
        if draw.random() < 0.1:
            device |= {"asynchronous": True, "converted": draw.random() < 0.5}
        if draw.random() < 0.08:
            device["leads"] = True
        device["cables"] = {o: draw.randint(1, 5) for o in names if o < name and draw.random() < 0.9}
        devices.append(ClockDevice.model_validate(device))
    return tuple(devices), rate


class Reading:
    """What the practice of clock lines asks, read device by device from the keys alone."""

    def __init__(self, devices: tuple[ClockDevice, ...], rate: int) -> None:
        self.by = {device.name: device for device in devices}
        self.rate = rate
        self.told = any(device.cables for device in devices)

    def metres(self, one: str, other: str) -> Decimal | None:
        """Cable between two devices."""
        if not self.told:
            return Decimal(0)
        return self.by[one].cables.get(other, self.by[other].cables.get(one))

    def kinds(self, name: str, way: str) -> set[str]:
        """The kinds of inputs or outputs that a device has."""
        return {own.kind for own in getattr(self.by[name], way)}

    def ways(self, name: str) -> list[tuple[str, str, bool]]:
        """Whatever may feed a device at all, in order of sources."""
        found: list[tuple[str, str, bool]] = []
        device = self.by[name]
        if device.asynchronous:
            return [("", "", False)]
        for source in sorted(self.by):
            if source == name:
                continue
            for own in device.inputs:
                if own.kind != "network" and self.metres(source, name) is None:
                    continue
                if own.kind in self.kinds(source, "outputs"):
                    found.append((source, own.kind, False))
                if own.kind == "word" and "word" in self.kinds(source, "inputs"):
                    found.append((source, "word", True))
        return [("", "", False), *found]

    def trees(self) -> Iterator[dict[str, tuple[str, str, bool]]]:
        """Every way to feed every device that keeps the rules."""
        names = sorted(self.by)
        for ways in product(*(self.ways(name) for name in names)):
            tree = dict(zip(names, ways, strict=True))
            if self.good(tree):
                yield tree

    def good(self, tree: dict[str, tuple[str, str, bool]]) -> bool:
        """Whether a tree keeps all rules."""
        alone = [n for n, (source, _, _) in tree.items() if not source]
        led = [n for n in alone if not (self.by[n].asynchronous and self.by[n].converted and not self.by[n].leads)]
        if len(led) != 1 or self.by[led[0]].ppm is None:
            return False
        if any(self.by[n].leads and n != led[0] for n in tree):
            return False
        if any(source in alone and source != led[0] for source, _, _ in tree.values()):
            return False
        return all(self.roots(tree, n) for n in tree) and self.lines_good(tree)

    @staticmethod
    def roots(tree: dict[str, tuple[str, str, bool]], name: str) -> bool:
        """Whether going from source to source comes to an end."""
        for _ in tree:
            if not name:
                return True
            name = tree[name][0]
        return not name

    def lines_good(self, tree: dict[str, tuple[str, str, bool]]) -> bool:
        """Lines: sockets, devices, ends, rates, framing."""
        followers = Counter(source for source, _, after in tree.values() if after)
        if followers and max(followers.values()) > 1:
            return False
        begun = Counter((source, kind) for source, kind, after in tree.values() if source and not after)
        for (source, kind), count in begun.items():
            own = next(o for o in self.by[source].outputs if o.kind == kind)
            if kind != "network" and count > own.count:
                return False
        for name, (source, kind, after) in tree.items():
            if not source or after:
                continue
            output = next(o for o in self.by[source].outputs if o.kind == kind)
            chain = [name]
            while kind == "word" and (then := [n for n, w in tree.items() if w == (chain[-1], "word", True)]):
                chain += then
            sockets = [output, *(next(i for i in self.by[n].inputs if i.kind == kind) for n in chain)]
            if kind == "word" and len(chain) > output.most:
                return False
            if kind == "word" and any(getattr(s, "termination", None) == "fixed" for s in sockets[1:-1]):
                return False
            rates = {s.rate for s in sockets} - {None}
            allowed = {self.rate, self.rate // 2} if self.rate == 96000 else {self.rate}
            if kind == "word" and (len(rates) > 1 or rates - allowed):
                return False
            if kind in ("aes3", "madi") and self.rate == 96000 and len({s.framing for s in sockets} - {None}) > 1:
                return False
        return all(tree[source][1] == "word" for source, _, after in tree.values() if after)

    def value(self, tree: dict[str, tuple[str, str, bool]]) -> tuple[Any, ...]:
        """What the best one has the least of; then names."""
        led = next(n for n, (s, _, _) in tree.items() if not s and not self.by[n].apart)
        cable = sum(
            (self.metres(s, n) or Decimal(0) for n, (s, k, _) in tree.items() if s and k != "network"), Decimal(0)
        )
        followed = {source for source, _, after in tree.values() if after}
        ends = [self.by[n].input("word") for n, (_, kind, _) in tree.items() if kind == "word" and n not in followed]
        plugs = sum(own is not None and own.termination == "none" for own in ends)
        return self.by[led].ppm, cable, plugs


def test_a_thousandth_of_a_thousandth_is_truer() -> None:
    sockets = {"inputs": [{"kind": "word", "termination": "switched"}], "outputs": [{"kind": "word"}]}
    devices = [
        ClockDevice.model_validate({"name": name, "ppm": Decimal(ppm), **sockets})
        for name, ppm in (("a", "0.0009"), ("b", "0.0001"))
    ]
    found = best_tree(tuple(devices), 48000, Clock(None))
    assert found.tree is not None
    assert [line.source for line in found.tree.lines] == ["b"]


@some_or_all("seeds", range(200), range(2000))
def test_the_best_tree_is_the_best_of_all(seeds: range) -> None:
    seen: Counter[str] = Counter()
    for seed in seeds:
        devices, rate = drawn(seed)
        reading = Reading(devices, rate)
        values = [reading.value(tree) for tree in reading.trees()]
        found = best_tree(devices, rate, Clock(None))
        assert found.proven
        assert (found.tree is not None) == bool(values), seed
        seen["found" if values else "impossible"] += 1
        if found.tree is None:
            continue
        assert faults(found.tree) == []
        ways = as_ways(found.tree)
        assert reading.good(ways), seed
        assert reading.value(ways) == min(values), seed
        seen["on a line"] += any(after for _, _, after in ways.values())
        seen["equals"] += values.count(min(values)) > 1
    assert min(seen["found"], seen["impossible"]) >= len(seeds) // 10, seen
    assert min(seen["on a line"], seen["equals"]) >= len(seeds) // 40, seen


def as_ways(tree: Tree) -> dict[str, tuple[str, str, bool]]:
    """What feeds each device of a tree."""
    found = {device.name: ("", "", False) for device in tree.devices}
    for line in tree.lines:
        found[line.devices[0]] = (line.source, line.kind, False)
        found |= {n: (before, "word", True) for before, n in zip(line.devices, line.devices[1:], strict=False)}
    return found


@some_or_all("seeds", range(120), range(1500))
def test_the_audit_finds_fault_with_what_is_no_tree(seeds: range) -> None:
    """Any way to feed the devices, good or not: the audit says what the reading says."""
    seen: Counter[bool] = Counter()
    for seed in seeds:
        devices, rate = drawn(seed, 4)
        reading = Reading(devices, rate)
        names = sorted(reading.by)
        every = list(product(*(reading.ways(n) for n in names)))
        for ways in random.Random(seed).sample(every, k=min(len(every), 3)):
            tree = dict(zip(names, ways, strict=True))
            followers = Counter(source for source, _, after in tree.values() if after)
            if followers and max(followers.values()) > 1:
                continue
            lines = []
            for name, (source, kind, after) in tree.items():
                if source and not after:
                    chain = [name]
                    while then := [n for n, w in tree.items() if w == (chain[-1], "word", True)]:
                        chain += then
                    lines.append(Line(source, kind, tuple(chain)))  # type: ignore[arg-type]  # a kind is text here
            if sum(len(line.devices) for line in lines) < sum(bool(source) for source, _, _ in tree.values()):
                continue
            good = reading.good(tree)
            assert (faults(Tree(devices, rate, tuple(lines))) == []) == good, seed
            seen[good] += 1
    assert seen[False] >= len(seeds) // 10, seen


def _device(name: str, **more: Any) -> dict[str, Any]:
    word = {"kind": "word", "termination": "switched"}
    return {"name": name, "inputs": [word], "outputs": [{"kind": "word", "count": 2, "most": 2}], **more}


GOOD: dict[str, dict[str, Any]] = {
    "G": _device("G", ppm=1, inputs=[]),
    "A": _device("A", ppm=10),
    "B": _device("B", inputs=[{"kind": "word", "termination": "fixed"}]),
    "C": _device("C", inputs=[{"kind": "madi"}], outputs=[{"kind": "madi"}]),
    "D": _device("D", inputs=[{"kind": "madi"}]),
    "E": {"name": "E", "asynchronous": True, "converted": True},
    "F": _device("F", inputs=[{"kind": "word", "termination": "none"}], outputs=[{"kind": "madi", "framing": "whole"}]),
}
LINES = [
    Line("G", "word", ("A", "B")),
    Line("G", "word", ("F",), True),
    Line("F", "madi", ("C",)),
    Line("C", "madi", ("D",)),
]

BROKEN: dict[str, tuple[dict[str, Any], list[Line]]] = {
    "one-reference": ({}, LINES[1:]),
    "fed-once": ({"D": {"inputs": [{"kind": "madi"}, {"kind": "word"}]}}, [*LINES, Line("A", "word", ("D",))]),
    "no-circle": (
        {"F": {"inputs": [{"kind": "word"}, {"kind": "madi"}]}, "D": {"outputs": [{"kind": "madi"}]}},
        [LINES[0], Line("D", "madi", ("F",)), *LINES[2:]],
    ),
    "asynchronous": ({"E": {"converted": False, "ppm": 1}}, LINES),
    "output": ({"C": {"outputs": []}}, LINES),
    "outputs": ({"G": {"outputs": [{"kind": "word", "most": 2}]}}, LINES),
    "input": ({"D": {"inputs": []}}, LINES),
    "devices": ({"G": {"outputs": [{"kind": "word", "count": 2}]}}, LINES),
    "ended-once": ({}, [Line("G", "word", ("B", "A")), *LINES[1:]]),
    "impedance": ({}, [Line("G", "word", ("A", "B"), impedance_ohm=50), *LINES[1:]]),
    "rate": ({"A": {"inputs": [{"kind": "word", "termination": "switched", "rate": 44100}]}}, LINES),
    "framing": ({"C": {"inputs": [{"kind": "madi", "framing": "split"}]}}, LINES),
}


def _codes(changes: dict[str, Any], lines: list[Line], rate: int = 96000) -> set[str]:
    devices = [ClockDevice.model_validate({**own, **changes.get(name, {})}) for name, own in GOOD.items()]
    return {code for code, _, _ in faults(Tree(tuple(devices), rate, tuple(lines)))}


@pytest.mark.parametrize("code", BROKEN)
def test_each_rule_broken_alone(code: str) -> None:
    assert _codes({}, LINES) == set()
    changes, lines = BROKEN[code]
    assert code in _codes(changes, lines)
    assert _codes(changes, lines) <= {code, "one-reference"}


def test_what_stands_in_the_way_of_the_others() -> None:
    devices = tuple(ClockDevice.model_validate(GOOD[name]) for name in ("G", "A", "C"))
    assert best_tree(devices, 48000, Clock(None)).tree is None
    assert in_the_way(devices, 48000, Clock(None)) == ["C"]
