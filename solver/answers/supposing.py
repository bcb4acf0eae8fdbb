"""What `why-not` is asked: every name checked, and the frame that is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from solver.relax.suppose import Supposition, fitting_boards, frames_for, least_price
from solver.reports.wording import money
from solver.room.errors import Parameter, WrongQuestion
from solver.room.straps import possible_settings
from solver.room.survey import FrameSite, Survey


@dataclass(frozen=True)
class Question:
    """What is asked for together, as somebody puts it; `cost` in units of the currency.

    Raises
    ------
    WrongQuestion
        If nothing is asked for, or if parts of it do not go together.
    """

    setting: str | None = None
    card: str | None = None
    slot: int | None = None
    board: str | None = None
    cost: Decimal | None = None
    without_orders: bool = False
    frame: str | None = None

    def __post_init__(self) -> None:
        if self.slot is not None and self.card is None:
            raise WrongQuestion(Parameter("slot"), " goes with ", Parameter("card"))
        if not self.without_orders and {self.setting, self.card, self.board, self.cost} == {None}:
            raise WrongQuestion("ask for something: ", *_listed("setting", "card", "board", "cost", "without_orders"))
        if self.without_orders and self.cost:
            raise WrongQuestion(
                Parameter("without_orders", True),
                " and ",
                Parameter("cost", str(self.cost)),
                " contradict each other: give one of them",
            )
        if self.frame is not None and self.setting is None and self.slot is None and self.board is None:
            other = _listed("setting", "slot", "board")
            raise WrongQuestion(Parameter("frame"), " goes with ", *other, ": the rest is asked of all frames together")

    @property
    def most(self) -> Decimal | None:
        """What orders may cost; None for any amount."""
        return Decimal(0) if self.without_orders else self.cost


def _listed(*names: str) -> list[str | Parameter]:
    """Parameters in a sentence: one, two or three."""
    parts: list[str | Parameter] = [Parameter(names[0])]
    for name in names[1:]:
        parts += [" or " if name == names[-1] else ", ", Parameter(name)]
    return parts


def supposition(survey: Survey, question: Question) -> Supposition:
    """What is asked for, every name checked, and the frame that is meant where it concerns one.

    Raises
    ------
    WrongQuestion
        If a name is not there, more than one frame could be meant, or the money cannot buy what is asked for.
    """
    setting, card, slot = question.setting, question.card, question.slot
    board, frame = question.board, question.frame
    named = None if frame is None else survey.site(frame)
    if frame is not None and named is None:
        raise _name_one_of(survey.frames)
    if card is not None and card not in survey.kinds:
        raise WrongQuestion(f"no card is called {card!r}", about="card")
    group, _, name = (setting or "").partition("=")
    wish = Supposition(
        setting=None if setting is None else (group, name),
        card=card,
        slot=slot,
        board=board,
        cost=None if question.most is None else _minor(survey, question.most),
    )
    if setting is not None or slot is not None or board is not None:
        fitting = frames_for(survey, wish)
        meant = [site for site in fitting if named in (None, site)]
        if not meant:
            raise _nowhere(survey, named or survey.frames[0], wish)
        if len(meant) > 1:
            raise _name_one_of(meant)
        wish = replace(wish, frame=meant[0].name)
        if slot is None:
            wish = _with_the_only_board(survey, meant[0], wish)
    _can_be_paid(survey, wish)
    return wish


def _name_one_of(sites: Sequence[FrameSite]) -> WrongQuestion:
    return WrongQuestion(f"name one of the frames {', '.join(site.name for site in sites)}", about="frame")


def _with_the_only_board(survey: Survey, site: FrameSite, wish: Supposition) -> Supposition:
    """Asked for with its board too, where a frame names none and one of those that it may take has the setting."""
    with_it = fitting_boards(survey, site, wish)
    if site.spec.board is None and wish.setting is not None and wish.board is None and len(with_it) == 1:
        every = {layout.board for layout in site.layouts}
        return replace(wish, board=with_it[0].id) if len(every) > 1 else wish
    return wish


def _nowhere(survey: Survey, site: FrameSite, wish: Supposition) -> WrongQuestion:
    """Why what is asked for can be meant of no frame, or not of the one that is named."""
    if wish.board is not None and not fitting_boards(survey, site, replace(wish, setting=None)):
        return WrongQuestion(f"{site.chassis.id} takes {', '.join(site.chassis.boards)}", about="board")
    boards = fitting_boards(survey, site, replace(wish, setting=None))
    if wish.setting is not None and not fitting_boards(survey, site, wish):
        group, _ = wish.setting
        names = sorted(
            {s for b in boards if any(g.name == group for g in b.strap_group) for s in possible_settings(b, group)}
        )
        if names:
            return WrongQuestion(f"{group!r} can be {', '.join(names)}", about="setting")
        who = wish.board or f"no board of frame {site.name}"
        has = "has no" if wish.board else "has"
        return WrongQuestion(f"{who} {has} strap group {group!r}", about="setting")
    span = survey.kinds[wish.card].span if wish.card else 1
    last = len(site.slots) - span + 1
    begins = f"; {wish.card} takes {span} slots and can begin in 1-{last}" if span > 1 else ""
    return WrongQuestion(f"frame {site.name} has slots 1-{len(site.slots)}{begins}", about="slot")


def _can_be_paid(survey: Survey, wish: Supposition) -> None:
    """Refuse a question that contradicts itself: a card or a board for less money than it costs."""
    price = least_price(survey, wish)
    if wish.cost is None or price is None or price <= wish.cost:
        return
    what = " and ".join(item for item in (wish.card, wish.board) if item)
    given = Parameter("cost", money(survey, wish.cost)) if wish.cost else Parameter("without_orders", True)
    least = f": not in stock, and {money(survey, price)} at least to order"
    raise WrongQuestion(f"{what} cannot be had with ", given, least, about=given.name)


def _minor(survey: Survey, amount: Decimal) -> int:
    """An amount in minor units of the scenario's currency."""
    if amount != round(amount, survey.decimals):
        message = f"{amount} has more decimals than {survey.currency} has ({survey.decimals})"
        raise WrongQuestion(message, about="cost")
    return int(amount.scaleb(survey.decimals))
