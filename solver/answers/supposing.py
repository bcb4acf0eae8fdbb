"""What `why-not` is asked: every name checked, and the frame that is meant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Literal

from solver.relax.suppose import Supposition, fitting_boards, frames_for, least_price
from solver.reports.wording import money
from solver.room.errors import Parameter, WrongQuestion
from solver.room.faults import nearest, quote
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
        raise WrongQuestion(f"there is no frame {quote(str(frame))}; {_one_of(survey.frames)}", about="frame")
    _known(card, survey.kinds, "card")
    _known(board, [each.id for each in survey.hardware.board], "board")
    group, is_, name = (setting or "").partition("=")
    if setting is not None and not is_:
        raise WrongQuestion(f"must be a strap group and a setting, GROUP=NAME, found {quote(setting)}", about="setting")
    supposed = Supposition(
        setting=None if setting is None else (group, name),
        card=card,
        slot=slot,
        board=board,
        cost=None if question.most is None else _minor(survey, question.most),
    )
    if setting is not None or slot is not None or board is not None:
        fitting = frames_for(survey, supposed)
        meant = [site for site in fitting if named in (None, site)]
        if not meant:
            raise _nowhere(survey, named or survey.frames[0], supposed)
        if len(meant) > 1:
            raise WrongQuestion(f"more than one frame can be meant; {_one_of(meant)}", about="frame")
        supposed = replace(supposed, frame=meant[0].name)
        if slot is None:
            supposed = _with_the_only_board(survey, meant[0], supposed)
    _can_be_paid(survey, supposed)
    return supposed


def _known(item: str | None, known: Iterable[str], what: Literal["card", "board"]) -> None:
    """Refuse a name that no hardware file has."""
    if item is not None and item not in known:
        near = nearest(item, known)
        meant = f"; did you mean {quote(near)}?" if near else ""
        raise WrongQuestion(f"{quote(item)} is no {what} of these hardware files{meant}", about=what)


def _one_of(sites: Sequence[FrameSite]) -> str:
    return f"name one of the frames {', '.join(site.name for site in sites)}"


def _with_the_only_board(survey: Survey, site: FrameSite, supposed: Supposition) -> Supposition:
    """Asked for with its board too, where a frame names none and one of those that it may take has the setting."""
    with_it = fitting_boards(survey, site, supposed)
    if site.spec.board is None and supposed.setting is not None and supposed.board is None and len(with_it) == 1:
        every = {layout.board for layout in site.layouts}
        return replace(supposed, board=with_it[0].id) if len(every) > 1 else supposed
    return supposed


def _nowhere(survey: Survey, site: FrameSite, supposed: Supposition) -> WrongQuestion:
    """Why what is asked for can be meant of no frame, or not of the one that is named."""
    if supposed.board is not None and not fitting_boards(survey, site, replace(supposed, setting=None)):
        takes = ", ".join(site.chassis.boards)
        said = f"{quote(supposed.board)} does not fit frame {site.name}: {site.chassis.id} takes {takes}"
        return WrongQuestion(said, about="board")
    boards = fitting_boards(survey, site, replace(supposed, setting=None))
    if supposed.setting is not None and not fitting_boards(survey, site, supposed):
        group, name = supposed.setting
        names = sorted(
            {s for b in boards if any(g.name == group for g in b.strap_group) for s in possible_settings(b, group)}
        )
        if names:
            said = f"{quote(name)} is no setting of {quote(group)}, which can be {', '.join(names)}"
            return WrongQuestion(said, about="setting")
        who = supposed.board or f"no board of frame {site.name}"
        has = "has no" if supposed.board else "has"
        return WrongQuestion(f"{who} {has} strap group {quote(group)}", about="setting")
    span = survey.kinds[supposed.card].span if supposed.card else 1
    last = len(site.slots) - span + 1
    there = f"frame {site.name} has slots 1-{len(site.slots)}"
    if supposed.slot in site.slots:
        said = f"{supposed.card} takes {span} slots and cannot begin in slot {supposed.slot}: {there}, so in 1-{last}"
        return WrongQuestion(said, about="slot")
    return WrongQuestion(f"there is no slot {supposed.slot}: {there}", about="slot")


def _can_be_paid(survey: Survey, supposed: Supposition) -> None:
    """Refuse a question that contradicts itself: a card or a board for less money than it costs."""
    price = least_price(survey, supposed)
    if supposed.cost is None or price is None or price <= supposed.cost:
        return
    what = " and ".join(item for item in (supposed.card, supposed.board) if item)
    given = Parameter("cost", money(survey, supposed.cost)) if supposed.cost else Parameter("without_orders", True)
    least = f": not in stock, and {money(survey, price)} at least to order"
    raise WrongQuestion(f"{what} cannot be had with ", given, least, about=given.name)


def _minor(survey: Survey, amount: Decimal) -> int:
    """An amount in minor units of the scenario's currency."""
    if amount != round(amount, survey.decimals):
        message = f"{amount} has more decimals than {survey.currency} has ({survey.decimals})"
        raise WrongQuestion(message, about="cost")
    return int(amount.scaleb(survey.decimals))
