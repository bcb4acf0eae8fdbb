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
    from solver.relax.suppose import Supposition
    from solver.reports.explanation import WhyNot
    from solver.room.survey import FrameSite, Survey
    from solver.search.solve.clock import Clock
    from solver.search.solve.stages import RankedBuild

EXITS = {"does": 0, "worse": 0, "better": 0, "impossible": 1, "unknown": 3}
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
    if slot is not None and card is None:
        raise click.UsageError("--slot goes with --card")
    if not any([setting is not None, card is not None, board is not None, cost is not None, without_orders]):
        raise click.UsageError("ask for something: --setting, --card, --board, --cost or --without-orders")
    if without_orders and cost:
        raise click.UsageError(f"--without-orders and --cost {cost} contradict each other: give one of them")
    if frame is not None and setting is None and slot is None and board is None:
        raise click.UsageError(
            "--frame goes with --setting, --slot or --board: the rest is asked of all frames together"
        )
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
    """What is asked for, every name checked, and the frame that is meant where it concerns one."""
    from dataclasses import replace

    from solver.relax.suppose import Supposition, frames_for

    named = None if frame is None else survey.site(frame)
    if frame is not None and named is None:
        frames = ", ".join(site.name for site in survey.frames)
        raise click.BadParameter(f"name one of the frames {frames}", param_hint="--frame")
    if card is not None and card not in survey.kinds:
        raise click.BadParameter(f"no card is called {card!r}", param_hint="--card")
    group, _, name = (setting or "").partition("=")
    wish = Supposition(
        setting=None if setting is None else (group, name),
        card=card,
        slot=slot,
        board=board,
        cost=None if cost is None else _minor(survey, cost),
    )
    if setting is not None or slot is not None or board is not None:
        fitting = frames_for(survey, wish)
        meant = [site for site in fitting if named in (None, site)]
        if not meant:
            raise _nowhere(survey, named or survey.frames[0], wish)
        if len(meant) > 1:
            frames = ", ".join(site.name for site in meant)
            raise click.BadParameter(f"name one of the frames {frames}", param_hint="--frame")
        wish = replace(wish, frame=meant[0].name)
        if slot is None:
            wish = _with_the_only_board(survey, meant[0], wish)
    _can_be_paid(survey, wish)
    return wish


def _with_the_only_board(survey: Survey, site: FrameSite, wish: Supposition) -> Supposition:
    """Asked for with its board too, where a frame names none and one of those that it may take has the setting."""
    from dataclasses import replace

    from solver.relax.suppose import fitting_boards

    with_it = fitting_boards(survey, site, wish)
    if site.spec.board is None and wish.setting is not None and wish.board is None and len(with_it) == 1:
        every = {layout.board for layout in site.layouts}
        return replace(wish, board=with_it[0].id) if len(every) > 1 else wish
    return wish


def _nowhere(survey: Survey, site: FrameSite, wish: Supposition) -> click.BadParameter:
    """Why what is asked for can be meant of no frame, or not of the one that is named."""
    from dataclasses import replace

    from solver.relax.suppose import fitting_boards
    from solver.room.straps import possible_settings

    if wish.board is not None and not fitting_boards(survey, site, replace(wish, setting=None)):
        return click.BadParameter(f"{site.chassis.id} takes {', '.join(site.chassis.boards)}", param_hint="--board")
    boards = fitting_boards(survey, site, replace(wish, setting=None))
    if wish.setting is not None and not fitting_boards(survey, site, wish):
        group, _ = wish.setting
        names = sorted(
            {s for b in boards if any(g.name == group for g in b.strap_group) for s in possible_settings(b, group)}
        )
        if names:
            return click.BadParameter(f"{group!r} can be {', '.join(names)}", param_hint="--setting")
        who = wish.board or f"no board of frame {site.name}"
        has = "has no" if wish.board else "has"
        return click.BadParameter(f"{who} {has} strap group {group!r}", param_hint="--setting")
    span = survey.kinds[wish.card].span if wish.card else 1
    last = len(site.slots) - span + 1
    begins = f"; {wish.card} takes {span} slots and can begin in 1-{last}" if span > 1 else ""
    return click.BadParameter(f"frame {site.name} has slots 1-{len(site.slots)}{begins}", param_hint="--slot")


def _can_be_paid(survey: Survey, wish: Supposition) -> None:
    """Refuse a question that contradicts itself: a card or a board for less money than it costs."""
    from solver.relax.suppose import least_price
    from solver.reports.wording import money

    price = least_price(survey, wish)
    if wish.cost is None or price is None or price <= wish.cost:
        return
    what = " and ".join(item for item in (wish.card, wish.board) if item)
    given = f"--cost {money(survey, wish.cost)}" if wish.cost else "--without-orders"
    message = f"{what} cannot be had with {given}: not in stock, and {money(survey, price)} at least to order"
    raise click.BadParameter(message, param_hint="--cost" if wish.cost else "--without-orders")


def _minor(survey: Survey, amount: Decimal) -> int:
    """An amount in minor units of the scenario's currency."""
    if amount != round(amount, survey.decimals):
        message = f"{amount} has more decimals than {survey.currency} has ({survey.decimals})"
        raise click.BadParameter(message, param_hint="--cost")
    return int(amount.scaleb(survey.decimals))


def _answer(survey: Survey, wish: Supposition, workers: int, clock: Clock) -> WhyNot:
    from cli.why import explain_clash
    from solver.relax.suppose import asked_wishes, does, suppose
    from solver.reports.comparison import compare
    from solver.reports.describe import describe_build
    from solver.reports.explanation import WhyNot
    from solver.reports.wording import money
    from solver.room.survey import survey_room
    from solver.search.ask.ranking import rank

    asked = wish.text(survey, "" if wish.cost is None else money(survey, wish.cost))
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
            outcome="better" if best.builds and _ranks_higher(survey, two, best.builds[0]) else "worse",
            best=shown,
            comparison=None if shown is None else compare(shown, instead),
        )
    clash = None
    if other.outcome == "impossible":
        clash, _ = explain_clash(supposed, clock, workers, "work", asked_wishes(survey, wish))
    return WhyNot(
        scenario=survey.title,
        currency=survey.currency,
        asked=asked,
        outcome="unknown" if clash is None else "impossible",
        best=shown,
        clash=clash,
    )


def _ranks_higher(survey: Survey, one: RankedBuild, other: RankedBuild) -> bool:
    """Whether a build ranks before another, whatever slack would let pass."""
    from solver.judge.criteria import value

    ranks = [
        (b.figures.short, b.figures.short_needs, *(value(survey, b.figures, c) for c in survey.rank))
        for b in (one, other)
    ]
    return ranks[0] < ranks[1]
