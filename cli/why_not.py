"""`strapwork why-not`: why the best build does not do something, or how much worse it is when it does."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.codes import FOUND, IMPOSSIBLE, UNKNOWN
from cli.command import Command
from cli.options import FILE, Amount, Whole, format_option, load, search_options
from cli.rooms import code_of, room_option, tell
from cli.search import search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.answers.asked import Answers
    from solver.reports.explanation import WhyNot
    from solver.search.solve.clock import Clock

EXITS = {"does": FOUND, "worse": FOUND, "equal": FOUND, "better": FOUND, "impossible": IMPOSSIBLE, "unknown": UNKNOWN}
"""Exit codes by the answer."""


@click.command("why-not", cls=Command)
@click.argument("scenario", type=FILE)
@click.option("--setting", metavar="GROUP=NAME", help="A setting of a strap group.")
@click.option("--card", metavar="ID", help="A card, anywhere or in the slot of --slot.")
@click.option("--slot", type=Whole(min=1), help="The slot of --card.")
@click.option("--board", metavar="ID", help="A board.")
@click.option("--cost", type=Amount(), help="Orders for so much at most.")
@click.option("--without-orders", is_flag=True, help="Stock alone.")
@click.option("--frame", metavar="NAME", help="The frame that is meant, where there are several.")
@room_option
@search_options
@format_option
def why_not(
    scenario: Path,
    setting: str | None,
    card: str | None,
    slot: int | None,
    board: str | None,
    cost: Decimal | None,
    without_orders: bool,
    frame: str | None,
    room: str | None,
    limit: float | None,
    workers: int,
    dump_model: Path | None,
    form: str,
) -> int:
    """Say why the best build of SCENARIO does not do something."""
    from solver.answers.asked import Asked
    from solver.answers.supposing import Question, supposition

    question = Question(setting, card, slot, board, cost, without_orders, frame)
    loaded = load(scenario)
    asked = Asked.of(loaded, room)
    wish = supposition(asked.survey, question)

    def reasons(clock: Clock) -> Answers[WhyNot]:
        from solver.answers.why_not import why_not

        return asked.answers(lambda survey: why_not(survey, wish, workers, clock), clock, workers)

    answers, interrupted = search(reasons, limit, dump_model)
    tell(answers, loaded, scenario, form, _show)
    return stop.code if interrupted else code_of(answers, EXITS[answers.first.answer.outcome])


def _show(answer: WhyNot) -> None:
    from cli.screen.why_not import show_why_not

    show_why_not(answer)
