"""Command lines made up from a seed: every option of every command, with what fits it and with what nobody means."""

from __future__ import annotations

import os
import random
import shutil
from dataclasses import dataclass
from pathlib import Path

import click

from cli.main import cli

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"

HOSTILE = (
    "", " ", "\t", "0", "-0", "-1", "+1", "01", "1.0", ".5", "5.", "1_0", "1e3", "1e9999999", "1e-9999999", "nan",
    "NaN", "inf", "-inf", "Infinity", "0x10", "9" * 12, "9" * 13, "9" * 5000, "-" + "9" * 5000, "0.000000001",
    "1000000000000.00", "\u0663\u0660", "\uff11\uff12", "\u0967", "\u00bd", "\u00b2", "1\u00a0000", "1 000", "1,5",
    "\u221e",
    "\x1b[2J", "\x07", "a\nb", "\r", "\u202e1", "\u2028", "\ufeff1", "\ud800", "\udcff", "\U0001f600", "x" * 5000,
    "--", "-", "--help", "-h", "--force", "=", "==", "=x", "x=", "a=b=c", "None", "true", "[]", "{}", "%s%n", "{0}",
    "$HOME", "`id`", "'", '"', "\\", "%", "~", "*", "..", ".", "/", "//", "NUL", "CON",
)  # fmt: skip
"""At and past every edge, in every script, and what shells and formatters might make something of."""

SCENARIO_FILES = ("rig.toml", "impossible.toml", "rooms.toml")
INPUTS = (*SCENARIO_FILES, "hardware/quay.toml", "drawn.toml")
"""What the commands read, and so may never change, whatever they are asked."""

FILES = (
    *INPUTS, "./rig.toml", "hardware/../rig.toml", "linked.toml", "twin.toml", "hard.toml", "dangling.toml", "hardware",
    "older.toml", "model.txt", "notes.txt", "empty", "new.toml", "new/new.toml", "none.toml", "rig.toml/", "rig.toml/x",
    "/dev/null", "/dev/full", "/", "", ".", "..", "http://x/y", "file:rig.toml", "x" * 300, "a\nb", "\udcff.toml",
    "\u03a9.toml", "-", "~", " rig.toml", "rig.toml ", "RIG.TOML", "fifo",
)  # fmt: skip

FITTING: dict[str, tuple[str, ...]] = {
    "--top": ("1", "2", "100"),
    "--show": ("1", "2", "3", "99"),
    "--against": ("1", "2", "99"),
    "--limit": ("0.01", "0.05", "0.2", "1000000"),
    "--workers": ("1", "2", "64"),
    "--apply": ("1", "2", "9"),
    "--by": ("work", "money"),
    "--format": ("text", "json"),
    "--time": ("10", "30", "all"),
    "--label-mm": ("18", "6.5", "60", "61"),
    "--setting": ("layout=1", "layout=2", "layout=4", "layout", "width=open"),
    "--card": ("aes-8", "line-in-8", "aes-9"),
    "--slot": ("1", "6", "7", "64"),
    "--board": ("slate-32", "flint-48", "shale-64"),
    "--chassis": ("tern-6", "petrel-12"),
    "--frame": ("M", "A", "m"),
    "--room": ("North", "South", "north"),
    "--need": ("outboard sends", "mic in", "line in", "Outboard sends"),
    "--cost": ("0", "640", "3030.00", "640.005", "999999999999"),
    "--rate": ("48", "96k", "44.1 kHz", "192000", "12"),
}
"""What an option may be given with sense; options that take files have `FILES`, and new ones what is hostile."""

STARTING: dict[str, tuple[str, ...]] = {
    "--hardware": ("hardware/quay.toml", "hardware/quay.toml", "hardware/quay.toml", "rig.toml", "none.toml"),
    "--title": ("Mix room", "Voces \u03a9"),
    "--currency": ("GBP", "JPY", "gbp"),
    "--frame": ("tern-6", "M=tern-6/slate-32", "a=b=wren-4/any", "tern-6/shale-65", "=tern-6", "tern-6/"),
    "--need": ("8 mic in", "drums=12+2 mic in", "aes3", "4 aes3", "=0 line out", "9999999999 mic in", "2 mik in"),
    "--from": ("list.csv", "notes.txt", "none.csv", "fifo"),
    "--own": ("mic-8", "mic-8=2", "mic-9", "slate-32=1", "mic-8=", "none"),
    "--buy": ("all", "none", "mic-8", "mic-9", "slate-32"),
    "--budget": ("none", "0", "9000.00", "9000.005"),
    "--inlet": ("none", "25", "24.5", "-41", "200"),
}
"""The same of ``start``, which means other things by some of the names."""

LIGHT = {"versions", "schema"}
"""Commands with few options, which are tried less."""

QUESTIONS = {"--setting", "--card", "--board", "--cost", "--without-orders"}
"""What ``why-not`` is asked for, so that most of its command lines ask for something."""

ROOMS = """
format = 1
title = "Two rooms"
hardware = ["hardware/quay.toml"]
currency = "GBP"
stock = { line-in-8 = 2 }
room = [
  { name = "North", frame = [{ name = "A", chassis = "tern-6", board = "slate-32" }], need = [
    { name = "returns", direction = "in", signal = "line", channels = 8 } ] },
  { name = "South", frame = [{ name = "A", chassis = "tern-6", board = "slate-32" }] },
]
"""


def furnish(folder: Path) -> None:
    """A folder with scenarios, hardware, a build, links to them, and what else may lie about."""
    (folder / "hardware").mkdir()
    shutil.copy(SCENARIOS / "hardware" / "quay.toml", folder / "hardware" / "quay.toml")
    (folder / "notes.txt").write_text("Ring the hall about the tie lines.\n", encoding="utf-8")
    (folder / "linked.toml").symlink_to("rig.toml")
    (folder / "twin.toml").symlink_to("linked.toml")
    (folder / "dangling.toml").symlink_to("nowhere.toml")
    os.mkfifo(folder / "fifo")
    refurnish(folder)


def refurnish(folder: Path) -> None:
    """Make what a command may have written what it was."""
    shutil.copy(SCENARIOS / "quay-mix-rig.toml", folder / "rig.toml")
    shutil.copy(SCENARIOS / "quay-impossible.toml", folder / "impossible.toml")
    (folder / "rooms.toml").write_text(ROOMS, encoding="utf-8")
    (folder / "hard.toml").unlink(missing_ok=True)
    os.link(folder / "rig.toml", folder / "hard.toml")
    for name in ("drawn.toml", "older.toml"):
        shutil.copy(ROOT / "tests" / "fuzz" / "builds" / "quay-mix-rig.toml", folder / name)
    (folder / "model.txt").write_text("# A model of the search, as --dump-model writes it.\n", encoding="utf-8")
    (folder / "list.csv").write_text("name,signal,from\nkick,mic,box 1\nsnare,mic,box 2\n", encoding="utf-8")
    (folder / "empty").write_text("", encoding="utf-8")


@dataclass(frozen=True)
class Law:
    """What a command may have written, by the files that were there."""

    before: dict[str, bytes]

    @classmethod
    def of(cls, folder: Path) -> Law:
        """The files of a folder as they are."""
        return cls({str(f.relative_to(folder)): f.read_bytes() for f in sorted(folder.rglob("*")) if f.is_file()})

    def broken(self, folder: Path, arguments: list[str]) -> str | None:
        """What was written that may not be, if anything: only what --force replaces, by its own kind."""
        after = Law.of(folder).before
        gone = self.before.keys() - after.keys()
        changed = {name for name in self.before.keys() & after.keys() if self.before[name] != after[name]}
        allowed = {"older.toml", "empty", "model.txt"} if "--force" in arguments else set()
        if "--force" in arguments and arguments[0] in ("plan", "front", "rack"):
            allowed.add("drawn.toml")  # a build like any other to those that read none
        if "--force" in arguments and arguments[0] == "start":
            # scenarios like any other to what reads none; links to them are left alone, and lead to what was written
            allowed |= {*SCENARIO_FILES, "hard.toml", "linked.toml", "twin.toml"}
        if gone or changed - allowed:
            return f"wrote to or removed {', '.join(sorted(gone | (changed - allowed)))}"
        new = {name for name in after.keys() - self.before.keys() if ".strapwork-" in name}
        return f"left {', '.join(sorted(new))}" if new else None


def arguments(seed: int) -> list[str]:
    """A command line; the same seed gives the same one everywhere."""
    rng = random.Random(seed)
    names = [name for name in sorted(cli.every()) for _ in range(1 if name in LIGHT else 3)]
    name = names[seed % len(names)]
    command = cli.every()[name]
    line: list[str] = []
    options = [parameter for parameter in command.params if isinstance(parameter, click.Option)]
    if name == "why-not" and rng.random() < 0.8:
        line += _option(rng, rng.choice([option for option in options if option.opts[-1] in QUESTIONS]), FITTING)
        options = [option for option in options if option.opts[-1] not in QUESTIONS]
    for option in rng.sample(options, min(len(options), rng.choice((0, 1, 1, 2, 2, 3, 4)))):
        line += _option(rng, option, STARTING if name == "start" else FITTING)
    for parameter in command.params:
        if isinstance(parameter, click.Argument) and rng.random() < 0.97:
            line.insert(rng.choice((0, len(line))), _argument(rng, parameter))
    if rng.random() < 0.05:
        line.insert(rng.randrange(len(line) + 1), rng.choice((*HOSTILE, "--no-such", "--limit", "--save", "more")))
    if not any(part.startswith("--limit") for part in line) and any("--limit" in option.opts for option in options):
        line += ["--limit", "0.5"]
    return [name, *line]


def _option(rng: random.Random, option: click.Option, known: dict[str, tuple[str, ...]]) -> list[str]:
    name = option.opts[-1]
    if option.is_flag:
        return [name]
    if getattr(option.type, "name", "") == "file" and not (name in known and rng.random() < 0.75):
        value = rng.choice(FILES if rng.random() < 0.7 else ("new.toml", "older.toml", "empty", "drawn.toml"))
    else:
        fitting = known.get(name, ())
        value = rng.choice(fitting) if fitting and rng.random() < 0.75 else rng.choice(HOSTILE)
    return [f"{name}={value}"] if rng.random() < 0.3 else [name, value]


def _argument(rng: random.Random, argument: click.Argument) -> str:
    if getattr(argument.type, "name", "") != "file":
        return rng.choice(("scenario", "report", "refused", *HOSTILE))
    if rng.random() < 0.1:
        return rng.choice(FILES)
    if argument.name == "scenario":
        return rng.choice((*SCENARIO_FILES, "rig.toml", "rig.toml"))
    return {"hardware": "hardware/quay.toml", "build": "drawn.toml"}.get(argument.name or "", "rig.toml")
