"""The best clock tree: the truest reference, then the least cable, then the fewest terminators; the first of equals.

Each device is fed from an output or follows another one on its line of coax. One model says all of that; what follows
from the order in the file is asked for device by device at the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Any

from solver.judge.clocks import Line, Tree, faults
from solver.room.clocks import ClockDevice, ClockInputSocket, ClockOutput, ClockSocket, clock_rates, length_mm
from solver.search.model.cpsat import cp_model, steady_solver
from solver.search.solve.clock import Clock, SearchError


@dataclass(frozen=True)
class Found:
    """A tree, or that there is none; `proven` says that there is no better one, or none at all."""

    tree: Tree | None
    proven: bool


@dataclass(frozen=True)
class Feed:
    """A way to feed a device: from an output, which begins a line, or after another device on its line."""

    source: str
    output: ClockOutput | None
    socket: ClockInputSocket
    term: Any


class TreeModel:
    """The model of all trees of some devices."""

    def __init__(self, devices: tuple[ClockDevice, ...], sample_rate: int) -> None:
        self.devices, self.sample_rate = devices, sample_rate
        self.model = cp_model.CpModel()
        rates = clock_rates(sample_rate)
        most = max((own.most for device in devices for own in device.outputs), default=1)
        names = [device.name for device in devices]
        self.leads = {name: self.model.new_bool_var("") for name in names}
        self.depth = {name: self.model.new_int_var(0, len(names), "") for name in names}
        self.left = {name: self.model.new_int_var(0, most, "") for name in names}
        self.rate = {name: self.model.new_int_var_from_domain(cp_model.Domain.from_values(rates), "") for name in names}
        self.feeds: dict[str, list[Feed]] = {name: [] for name in names}
        self.ends = {name: self.model.new_bool_var("") for name in names}
        for device, source in product(devices, devices):
            if source.name != device.name and not device.asynchronous and not source.apart:
                self._ways(source, device)
        self._state()

    def _ways(self, source: ClockDevice, device: ClockDevice) -> None:
        length = length_mm(self.devices, source.name, device.name)
        for socket in device.inputs:
            if length is None and socket.kind != "network":
                continue
            output = source.output(socket.kind)
            if output is not None and self._fit(output, socket):
                self._feed(source, output, device, socket)
            if socket.kind == "word" and source.input("word") is not None and self._fit(socket, socket):
                self._feed(source, None, device, socket)

    def _fit(self, output: ClockSocket, socket: ClockSocket) -> bool:
        known = [own.rate for own in (output, socket) if own.rate is not None]
        if output.kind == "word":
            return len(set(known)) < 2 and set(known) <= set(clock_rates(self.sample_rate))
        framed = {own.framing for own in (output, socket) if own.framing is not None}
        return output.kind == "network" or self.sample_rate <= 48000 or len(framed) < 2

    def _feed(
        self, source: ClockDevice, output: ClockOutput | None, device: ClockDevice, socket: ClockInputSocket
    ) -> None:
        term = self.model.new_bool_var("")
        self.feeds[device.name].append(Feed(source.name, output, socket, term))
        self.model.add(self.depth[device.name] >= self.depth[source.name] + 1).only_enforce_if(term)
        if socket.kind != "word":
            return
        if socket.rate is not None:
            self.model.add(self.rate[device.name] == socket.rate).only_enforce_if(term)
        if output is not None:
            self.model.add(self.left[device.name] == output.most - 1).only_enforce_if(term)
            if output.rate is not None:
                self.model.add(self.rate[device.name] == output.rate).only_enforce_if(term)
            return
        self.model.add(self.left[device.name] == self.left[source.name] - 1).only_enforce_if(term)
        self.model.add(self.rate[device.name] == self.rate[source.name]).only_enforce_if(term)
        self.model.add_implication(term, ~self.ends[source.name])

    def _state(self) -> None:
        model = self.model
        model.add_exactly_one(self.leads.values())
        for device in self.devices:
            name, own = device.name, self.feeds[device.name]
            if device.apart:
                model.add(self.leads[name] == 0)
                continue
            model.add_exactly_one([self.leads[name], *(way.term for way in own)])
            if device.ppm is None:
                model.add(self.leads[name] == 0)
            if device.leads:
                model.add(self.leads[name] == 1)
            every = [way for ways in self.feeds.values() for way in ways if way.source == name]
            after = [way.term for way in every if way.output is None]
            on_coax = [way for way in own if way.socket.kind == "word"]
            model.add(sum(after) <= sum(way.term for way in on_coax if way.socket.termination != "fixed"))
            model.add(sum(after) + self.ends[name] >= sum(way.term for way in on_coax))
            for output in device.outputs:
                if output.kind != "network":
                    model.add(sum(way.term for way in every if way.output == output) <= output.count)

    def ppm(self) -> Any:
        """How far the reference may be off: its place among what the devices tell of themselves, the truest 0."""
        told = sorted({d.ppm or 0 for d in self.devices})
        return sum(told.index(d.ppm or 0) * self.leads[d.name] for d in self.devices)

    def cable(self) -> Any:
        """All cable in millimetres."""
        found = []
        for name, ways in self.feeds.items():
            for way in ways:
                length = 0 if way.socket.kind == "network" else length_mm(self.devices, way.source, name) or 0
                found.append(length * way.term)
        return sum(found)

    def terminators(self) -> Any:
        """Lines of coax that a plug has to end."""
        found = []
        for name, ways in self.feeds.items():
            bare = [way.term for way in ways if way.socket.kind == "word" and way.socket.termination == "none"]
            if bare:
                plug = self.model.new_bool_var("")
                self.model.add(plug >= sum(bare) + self.ends[name] - 1)
                found.append(plug)
        return sum(found)

    def place(self, name: str) -> Any:
        """What feeds a device, as a number: 0 where it leads, else its ways in the order of the file."""
        return sum(n * way.term for n, way in enumerate(self.feeds[name], start=1))


def tree_of(model: TreeModel, solver: cp_model.CpSolver) -> Tree:
    """The tree that a solver found, lines in order of their sources, kinds and devices."""
    fed = {name: way for name, ways in model.feeds.items() for way in ways if solver.boolean_value(way.term)}
    following = {way.source: name for name, way in fed.items() if way.output is None}
    lines = []
    for name, way in fed.items():
        if way.output is None:
            continue
        chain = [name]
        while chain[-1] in following:
            chain.append(following[chain[-1]])
        plug = way.socket.kind == "word" and fed[chain[-1]].socket.termination == "none"
        lines.append(Line(way.source, way.socket.kind, tuple(chain), terminator=plug))
    ordered = tuple(sorted(lines, key=lambda line: (line.source, line.kind, line.devices)))
    return Tree(model.devices, model.sample_rate, ordered)


def best_tree(devices: tuple[ClockDevice, ...], sample_rate: int, clock: Clock) -> Found:
    """The best tree of some devices, audited; ties go by names.

    Raises
    ------
    SearchError
        If what was found does not pass the audit.
    """
    ordered = tuple(sorted(devices, key=lambda device: device.name))
    model = TreeModel(ordered, sample_rate)
    goals = [
        0 * model.leads[ordered[0].name],
        model.ppm(),
        model.cable(),
        model.terminators(),
        *(model.place(device.name) for device in ordered),
    ]
    found, proven = None, True
    for goal in goals:
        if isinstance(goal, int):
            continue
        model.model.minimize(goal)
        solver = steady_solver()
        outcome = clock.solve(solver, model.model)
        if outcome == "none":
            return Found(None, proven=True)
        if outcome in ("proven", "found"):
            found = tree_of(model, solver)
        if outcome != "proven":
            proven = False
            break
        model.model.add(goal == round(solver.objective_value))
    if found is not None and (wrong := faults(found)):
        raise SearchError(f"a clock tree that was found is wrong: {wrong}")
    return Found(found, proven)


def in_the_way(devices: tuple[ClockDevice, ...], sample_rate: int, clock: Clock) -> list[str]:
    """The devices without any one of which the others have a tree, by name."""
    ordered = sorted(devices, key=lambda device: device.name)
    rests = ((one.name, tuple(other for other in ordered if other is not one)) for one in ordered)
    return [name for name, rest in rests if rest and best_tree(rest, sample_rate, clock).tree is not None]
