"""`strapwork why-not`: why the best build does not do something, or how much worse it is when it does."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cli.options import FILE, Amount, Whole, format_option, load, search_options
from cli.rooms import Asked, room_option, tell
from cli.search import search
from cli.stop import stop

if TYPE_CHECKING:
    from solver.explanation import WhyNot
    from solver.search.clock import Clock
    from solver.suppose import Supposition
    from solver.survey import Survey

EXITS = {"does": 0, "worse": 0, "impossible": 1, "unknown": 3}
"""Exit codes by the answer."""


@click.command("why-not")
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
    given = [setting is not None, card is not None, board is not None, cost is not None, without_orders]
    if sum(given) != 1:
        raise click.UsageError("ask for one thing: --setting, --card, --board, --cost or --without-orders")
    if slot is not None and card is None:
        raise click.UsageError("--slot goes with --card")
    loaded = load(scenario)
    asked = Asked.of(loaded, room, scenario)
    wish = _wish(asked.survey, frame, setting, card, slot, board, Decimal(0) if without_orders else cost)
    answers, interrupted = search(
        lambda clock: asked.answers(lambda survey: _answer(survey, wish, workers, clock), clock, workers),
        limit,
        dump_model,
    )
    tell(answers, loaded, scenario, form, _show)
    return stop.code if interrupted else answers.code(EXITS[answers.first.answer.outcome])


def _show(answer: WhyNot) -> None:
    from cli.screen.why_not import show_why_not

    show_why_not(answer)


def _wish(
    survey: Survey,
    frame: str | None,
    setting: str | None,
    card: str | None,
    slot: int | None,
    board: str | None,
    cost: Decimal | None,
) -> Supposition:
    """What is asked for, every name checked."""
    from solver.straps import possible_settings
    from solver.suppose import Supposition, frame_for

    site = frame_for(survey, frame)
    if site is None:
        frames = ", ".join(site.name for site in survey.frames)
        raise click.BadParameter(f"name one of the frames {frames}", param_hint="--frame")
    if setting is not None:
        group, _, name = setting.partition("=")
        fitting = [b for b in survey.hardware.board if b.id in {layout.board for layout in site.layouts}]
        if not any(own.name == group for b in fitting for own in b.strap_group):
            raise click.BadParameter(f"no board of frame {site.name} has strap group {group!r}", param_hint="--setting")
        names = sorted({s for b in fitting for s in possible_settings(b, group)})
        if name not in names:
            raise click.BadParameter(f"{group!r} can be {', '.join(names)}", param_hint="--setting")
        return Supposition(site.name, setting=(group, name))
    if card is not None:
        if card not in survey.kinds:
            raise click.BadParameter(f"no card is called {card!r}", param_hint="--card")
        if slot is not None and slot not in site.slots:
            raise click.BadParameter(f"frame {site.name} has slots 1-{len(site.slots)}", param_hint="--slot")
        return Supposition(site.name, card=card, slot=slot)
    if board is not None:
        if board not in site.chassis.boards:
            boards = ", ".join(site.chassis.boards)
            raise click.BadParameter(f"{site.chassis.id} takes {boards}", param_hint="--board")
        return Supposition(site.name, board=board)
    return Supposition(site.name, cost=_minor(survey, cost or Decimal(0)))


def _minor(survey: Survey, amount: Decimal) -> int:
    """An amount in minor units of the scenario's currency."""
    if amount != round(amount, survey.decimals):
        message = f"{amount} has more decimals than {survey.currency} has ({survey.decimals})"
        raise click.BadParameter(message, param_hint="--cost")
    return int(amount.scaleb(survey.decimals))


def _answer(survey: Survey, wish: Supposition, workers: int, clock: Clock) -> WhyNot:
    from cli.why import explain_clash
    from solver.causes import money
    from solver.comparison import compare
    from solver.describe import describe_build
    from solver.explanation import WhyNot
    from solver.search.ranking import rank
    from solver.suppose import does, suppose
    from solver.survey import survey_room

    asked = wish.text("" if wish.cost is None else money(survey, wish.cost))
    best = rank(survey, 1, workers=workers, clock=clock)
    shown = None
    if best.builds:
        one = best.builds[0]
        shown = describe_build(survey, one.standing, one.figures, 1, one.proven, dict(one.stages))
        if does(one.standing, wish):
            return WhyNot(scenario=survey.title, currency=survey.currency, asked=asked, outcome="does", best=shown)
    elif best.outcome == "unknown":
        return WhyNot(scenario=survey.title, currency=survey.currency, asked=asked, outcome="unknown")
    supposed = survey_room(suppose(survey, wish), survey.hardware)
    other = rank(supposed, 1, workers=workers, clock=clock)
    if other.builds:
        two = other.builds[0]
        instead = describe_build(supposed, two.standing, two.figures, 1, two.proven, dict(two.stages))
        return WhyNot(
            scenario=survey.title,
            currency=survey.currency,
            asked=asked,
            outcome="worse",
            best=shown,
            comparison=None if shown is None else compare(shown, instead),
        )
    clash = explain_clash(supposed, clock, workers, "work")[0] if other.outcome == "impossible" else None
    return WhyNot(
        scenario=survey.title,
        currency=survey.currency,
        asked=asked,
        outcome="unknown" if clash is None else "impossible",
        best=shown,
        clash=clash,
    )
