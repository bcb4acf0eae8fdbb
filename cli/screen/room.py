"""The screen of two answers about one of several rooms, each headed by what the room may draw on."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from rich.text import Text

from cli.screen.page import indented, labelled, page
from solver.reports.share import RoomAnswer, RoomAnswers

Document = TypeVar("Document")


def show_room_answers(
    whole: RoomAnswers, path: Path, documents: Sequence[Document], show: Callable[[Document], None]
) -> None:
    """Print each answer under a heading of its own; `show` prints a document as its command does."""
    if whole.campus in ("impossible", "unknown"):
        with page() as out:
            out.print(Text(_no_plan(whole), "bold"))
            if whole.campus == "impossible":
                out.print(indented(Text(f"strapwork why {path}")))
            out.print()
    for place, (one, document) in enumerate(zip(whole.answers, documents, strict=True)):
        with page() as out:
            if place:
                out.print()
                out.print()
            out.print(Text(_heading(whole, one), "bold"))
            out.print(indented(labelled(_may_draw_on(whole, one))))
            out.print()
            if place and document == documents[0]:
                out.print(Text("The answer is the same."))
        if not place or document != documents[0]:
            show(document)


def _no_plan(whole: RoomAnswers) -> str:
    if whole.campus == "impossible":
        return "The rooms cannot all be built, proven, so that no plan of all of them leaves anything. For the reason:"
    return "The search ended before it found builds of all rooms, so that nothing can be said of what they leave."


def _heading(whole: RoomAnswers, one: RoomAnswer) -> str:
    room = f'Room "{whole.room}"'
    if one.given == "all":
        return f"{room} alone, as if no other room drew on anything"
    if whole.campus == "drawn":
        return f"{room} with what the other rooms of the build file leave"
    known = "" if whole.proven else ", which works but is not proven best"
    return f"{room} with its share of the best plan of all rooms{known}, and what no room uses"


def _may_draw_on(whole: RoomAnswers, one: RoomAnswer) -> list[tuple[str, str]]:
    stock = ", ".join(f"{count} x {item}" for item, count in one.stock.items())
    offers = [f"{offer.at_most} x {offer.item}" for offer in one.offers if offer.at_most is not None]
    endless = [offer.item for offer in one.offers if offer.at_most is None]
    if endless:
        offers.append(f"any number of {', '.join(endless)}")
    rows = [("in stock", stock or "nothing"), ("on offer", "; ".join(offers) or "nothing")]
    return rows if one.budget is None else [*rows, ("budget", one.budget)]
