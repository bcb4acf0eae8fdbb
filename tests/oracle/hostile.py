"""Names that markup, spreadsheets, shells and terminals might take for something else, and builds that bear them."""

from __future__ import annotations

import random

from connected import connected
from two_builds import Pair

from solver.files.reading import Loaded
from solver.room.build import Build
from solver.room.ends import FarEnd, TieEnd, TieLine, Via
from solver.room.scenario import Need

PIECES = (
    "=SUM(A1)", "+1", "-2", "@x", "'quoted'", '"', ",", ";", "<b>", "</td>", "&amp;", "[bold]", "[/]", ":smile:", "\\n",
    "A:in:3", "slot:A:1", "card:x", "loom:A1-in", "bay:B1", "far:x", "tie:x 1", "37", "in", "out", " spare", "%s",
    "{0}",
    "\u202eright to left", "\u05d0\u05d1", "\U0001f941", "e\u0301", "\u00df", "\u0130", "\u212a", "\u3000", "a" * 100,
    "kick", "KICK", "..", "/", "$(x)", "`x`", "NUL", "\u00a0", "1-8", "not used",
)  # fmt: skip


def hostile(draw: random.Random) -> str:
    """A name that a file may have: printable, at most 120 characters, no blank at its ends."""
    text = "".join(draw.choice(PIECES) + draw.choice(["", " "]) for _ in range(draw.randint(1, 4)))
    text = "".join(c for c in text if c.isprintable()).strip()[:120].strip()
    return text or "x"


def with_hostile_names(seed: int, draw: random.Random, pair: Pair, build: Build) -> tuple[Loaded, Build]:
    """A pair with needs, channels, equipment and tie lines of such names, and a build of it that serves them."""
    names: dict[str, None] = {}
    while len(names) < 40:
        names[hostile(draw)] = None
    left = list(names)
    needs, ends, ties = [], [], []
    for need in pair.scenario.need:
        own = tuple(left.pop() for _ in range(min(need.demand, 4)))
        made = Need.model_validate({**need.model_dump(), "name": left.pop(), "channel_names": own})
        needs.append(made)
        told = ",".join(str(n) for n in range(1, need.demand + 1))
        tie = TieLine(
            name=left.pop(), far=TieEnd(at=left.pop(), numbers=told), near=TieEnd(at=left.pop(), numbers=told)
        )
        ties.append(tie)
        via = (Via(tie_line=tie.name, numbers=told),)
        ends.append(FarEnd(equipment=left.pop(), need=made.name, sockets=told, via=via))
    renamed = dict(zip((n.name for n in pair.scenario.need), (n.name for n in needs), strict=True))
    more = {"need": tuple(needs), "far_end": tuple(ends), "tie_line": tuple(ties)}
    loaded = Loaded(pair.scenario.model_copy(update=more), connected(seed, pair.hardware))
    frames = tuple(
        frame.model_copy(
            update={
                "serves": None
                if frame.serves is None
                else tuple(service.model_copy(update={"need": renamed[service.need]}) for service in frame.serves)
            }
        )
        for frame in build.frame
    )
    return loaded, build.model_copy(update={"frame": frames})
