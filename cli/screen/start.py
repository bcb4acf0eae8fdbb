"""What `start` tells between its questions, and when the file is written."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.padding import Padding
from rich.text import Text

from cli.screen.page import indented, labelled, page
from solver.reports.wording import kilohertz
from solver.room.faults import escape, render

if TYPE_CHECKING:
    from solver.answers.start import Draft, Started


def say(text: str, indent: int = 0) -> None:
    """Tell something between questions."""
    with page(err=True) as out:
        out.print(Padding(Text("\n".join(map(escape, text.split("\n")))), (0, 0, 0, indent), expand=False))


def show_choices(heading: str, rows: Sequence[tuple[str, str]]) -> None:
    """What there is to choose from, numbered."""
    with page(err=True) as out:
        out.print()
        out.print(Text(heading, "bold"))
        wide = len(str(len(rows)))
        out.print(
            indented(
                labelled([(f"{n:>{wide}}  {escape(name)}", escape(what)) for n, (name, what) in enumerate(rows, 1)])
            )
        )


def show_started(draft: Draft, path: Path, started: Started, usual: Sequence[str], assumed: Sequence[str]) -> None:
    """What the file says, which of it nobody said, what is wrong or odd about it, and what to run next."""
    scenario = draft.scenario
    with page() as out:
        out.print(Text(f"{escape(str(path))} is written: {scenario['title']}", "bold"))
        out.print(indented(labelled(list(_rows(draft, scenario)))))
        if usual:
            told = ", ".join(f"--{option}" for option in usual)
            out.print(Text(f"As usual, since no option says otherwise: {told}."))
        for what in assumed:
            out.print(Text(f"Assumed: {what}."))
        if started.impossible:
            out.print()
            out.print(Text("It cannot be planned as it stands; counting alone shows it:"))
            out.print(indented(Text("\n".join(map(escape, started.impossible)))))
        if started.warnings:
            out.print()
            out.print(Text(render(started.warnings, out.width)))
        out.print()
        out.print(Text("Next"))
        ask = "why" if started.impossible else "plan"
        out.print(Text(f"  strapwork {ask} {shlex.quote(_as_argument(escape(str(path))))}"))


def _rows(draft: Draft, scenario: Mapping[str, Any]) -> list[tuple[str, str]]:
    frames = [f"{f['name']}, {f['chassis']} with {f.get('board', 'any board that fits')}" for f in scenario["frame"]]
    needs = [_need(need) for need in scenario["need"]]
    listed = () if draft.listed is None else (("list", str(draft.listed[0])),)
    owned = [f"{count} x {item}" for item, count in scenario["stock"].items()]
    kinds = len(scenario["offer"])
    budget = f"{scenario['budget']} {scenario['currency']}" if "budget" in scenario else "any amount"
    air = f"{scenario['air']['inlet_c']} C at the inlet" if "air" in scenario else "not said: cooling is not checked"
    return [
        ("hardware", ", ".join(map(str, draft.files))),
        ("rate", kilohertz(scenario["sample_rate"])),
        *(("frame", frame) for frame in frames),
        *listed,
        *(("need", need) for need in needs),
        ("owned", ", ".join(owned) or "nothing but the frames and boards above"),
        ("bought", f"any of {kinds} kinds may be" if kinds else "nothing may be"),
        ("budget", budget),
        ("air", air),
    ]


def _need(need: Mapping[str, Any]) -> str:
    spare = f", {need['spare']} to spare" if need.get("spare") else ""
    return f"{need['name']}: {need['channels']} {need['signal']} {need['direction']}{spare}"


def _as_argument(path: str) -> str:
    """A path that no command takes for an option."""
    return f"./{path}" if path.startswith("-") else path
