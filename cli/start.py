"""`strapwork start`: a new scenario from questions, or from options alone."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from cli import saving
from cli.command import Command, as_option
from cli.options import FILE, Rate
from cli.stop import stop
from solver.room.errors import WrongQuestion

if TYPE_CHECKING:
    from solver.answers.start import Draft, FrameAnswer, NeedAnswer

Taken = TypeVar("Taken")

SHIPPED = Path(__file__).parents[1]
"""Where the scenarios that ship are, in a copy of the project."""

USUAL_FILE = "room.toml"

ANY, ALL, NONE = "any", "all", "none"
"""Answers that are no names: any board, every card, nothing at all."""


@click.command(cls=Command)
@click.option("--hardware", type=FILE, multiple=True, metavar="FILE", help="Hardware file; give it for each.")
@click.option("--title", metavar="TEXT", help="What screens call it.")
@click.option("--rate", metavar="RATE", help="Sample rate, in hertz or kilohertz; 48000 as usual.")
@click.option("--currency", metavar="CODE", help="Three letters that all amounts are in; GBP as usual.")
@click.option("--frame", multiple=True, metavar="[NAME=]CHASSIS[/BOARD]", help="A frame, /any for any board; for each.")
@click.option("--need", multiple=True, metavar="[NAME=]N[+SPARE] SIGNAL in|out", help="A need; give it for each.")
@click.option("--from", "listed", type=FILE, metavar="LIST", help="Input list (CSV) whose lines are needs.")
@click.option("--own", multiple=True, metavar="CARD[=N]", help="A card that is owned; give it for each, or none.")
@click.option("--buy", multiple=True, metavar="CARD", help="A card that may be bought; for each, or all, or none.")
@click.option("--budget", metavar="AMOUNT", help="The most that orders may cost; none, as usual, is any amount.")
@click.option(
    "--inlet", metavar="CELSIUS", help="Air at the rack inlet, 25 as usual; cooling is not checked with none."
)
@click.option("--to", type=FILE, metavar="FILE", help="Where to write it; room.toml as usual.")
@click.option("--yes", is_flag=True, help="Ask nothing: what no option says is as usual.")
@click.option("--force", is_flag=True, help="Overwrite a scenario that is there.")
def start(
    hardware: tuple[Path, ...],
    title: str | None,
    rate: str | None,
    currency: str | None,
    frame: tuple[str, ...],
    need: tuple[str, ...],
    listed: Path | None,
    own: tuple[str, ...],
    buy: tuple[str, ...],
    budget: str | None,
    inlet: str | None,
    to: Path | None,
    yes: bool,
    force: bool,
) -> int:
    """Write a new scenario from questions at a terminal, or from options.

    What no option says is asked at a terminal; Enter takes what stands in brackets. Without a terminal, or with --yes,
    nothing is asked, and all that no option says is as usual: the first hardware file that is near, its first chassis
    and board, one need of line or else microphone inputs, nothing owned, every card to be bought.
    """
    from cli.screen.start import show_started

    asks = Asks(sys.stdin is not None and sys.stdin.isatty() and not yes)
    if asks.asking:
        asks.say("A new scenario. Enter takes what stands in brackets; Ctrl-C leaves nothing behind.")
    draft = _hardware(asks, hardware)
    saving.has_read(dict.fromkeys(draft.files, "a hardware file of this scenario"))
    if listed is not None:
        saving.has_read({listed: "an input list of this scenario"})

    def fill(asks: Asks, draft: Draft) -> None:
        usual = draft.usual
        asks.one("title", title, "Title", usual.title, draft.title)
        asks.one("rate", rate, "Sample rate", str(usual.rate), lambda text: draft.rate(_rate(text)))
        asks.one("currency", currency, "Currency of all amounts", usual.currency, draft.currency)
        _frames(asks, draft, frame)
        _needs(asks, draft, need, listed)
        _owned(asks, draft, own)
        _bought(asks, draft, buy)
        none = "Budget, or none for any amount"
        asks.one("budget", budget, none, NONE, lambda text: draft.budget(_unless_none(text)))
        inlet_c = str(usual.inlet_c)
        question = "Air at the rack inlet in C, or none"
        asks.one("inlet", inlet, question, inlet_c, lambda text: draft.inlet(_celsius(text)))

    trial = Trial()
    fill(trial, draft.copy())
    if to is not None:
        trial.take(partial(saving.check_scenario, to, force))
    trial.refuse()
    fill(asks, draft)
    path = to if to is not None else _place(asks, force)
    started = draft.finish(path)
    with stop.held():
        saving.save_scenario(started.text, path, force)
    show_started(draft, path, started, asks.usual, asks.assumed)
    return 0


class Asks:
    """Puts questions at a terminal, again until an answer is taken; without one takes what is usual."""

    def __init__(self, asking: bool) -> None:
        self.asking = asking
        self.usual: list[str] = []
        """Options that were not given, where nothing is asked."""
        self.assumed: list[str] = []
        """What was taken for granted of what options say."""

    def take(self, take: Callable[[], object]) -> None:
        """Take what an option says."""
        take()

    def assume(self, what: str) -> None:
        """Tell what is taken for granted: at once where something is asked, else in the end."""
        if self.asking:
            self.say(what, 2)
        elif what not in self.assumed:
            self.assumed.append(what)

    def one(self, option: str, given: str | None, question: str, usual: str, take: Callable[[str], None]) -> None:
        """Take what an option gives; else what is answered; else what is usual."""
        if given is not None:
            self.take(partial(take, given))
        elif self.asking:
            self.ask(question, usual, take)
        else:
            self.take_usual(option, lambda: take(usual))

    def take_usual(self, option: str, take: Callable[[], Taken]) -> Taken:
        """Take what is usual, and keep in mind that it was not said."""
        self.usual.append(option)
        return take()

    def ask(self, question: str, usual: str, take: Callable[[str], Taken]) -> Taken:
        """Ask until an answer is taken; an empty one is the usual one."""
        from solver.room.faults import FileFaults, escape

        while True:
            answer = self._line(f"{question} [{escape(usual)}]: " if usual else f"{question}: ")
            try:
                return take(answer or usual)
            except WrongQuestion as wrong:
                self.say(str(wrong), 2)
            except click.BadParameter as bad:
                self.say(bad.message, 2)
            except FileFaults as faulty:
                self.say(faulty.render())
            except OSError as error:
                self.say(f"{error.filename}: {error.strerror}", 2)

    def say(self, text: str, indent: int = 0) -> None:
        """Tell something between questions."""
        from cli.screen.start import say

        say(text, indent)

    def show(self, heading: str, rows: Sequence[tuple[str, str]]) -> None:
        """Tell what there is to choose from, numbered."""
        from cli.screen.start import show_choices

        show_choices(heading, rows)

    def _line(self, prompt: str) -> str:
        click.echo(prompt, nl=False, err=True)
        line = sys.stdin.readline()
        if not line:
            click.echo(err=True)
            raise click.ClickException("the input ended before there was an answer; nothing is written")
        return line.strip()


class Trial(Asks):
    """Tries what the options say, asks nothing, and keeps in mind all that is wrong: it is told before any question."""

    def __init__(self) -> None:
        super().__init__(False)
        self.wrong: list[WrongQuestion | OSError] = []

    def take(self, take: Callable[[], object]) -> None:
        """Take what an option says, or keep in mind what is wrong with it."""
        try:
            take()
        except (WrongQuestion, OSError) as wrong:
            self.wrong.append(wrong)

    def refuse(self) -> None:
        """Raise what is wrong with an option, or with all of several in one."""
        if len(self.wrong) == 1:
            raise self.wrong[0]
        if self.wrong:
            lines = [f"{len(self.wrong)} answers cannot be taken"]
            for wrong in self.wrong:
                about = wrong.filename if isinstance(wrong, OSError) else f"--{wrong.about}"
                said = wrong.strerror or "" if isinstance(wrong, OSError) else wrong.told(as_option)
                lines.append(f"  {about}: {said}".replace("\n", "\n    "))
            raise click.UsageError("\n".join(lines), click.get_current_context())


def _hardware(asks: Asks, given: Sequence[Path]) -> Draft:
    """The draft over the hardware files that are chosen."""
    from solver.answers.start import Draft, hardware_nearby

    if given:
        return Draft(given)
    near = [str(file) for file in hardware_nearby(Path.cwd(), SHIPPED)]
    if asks.asking:
        if near:
            asks.show("Hardware files", [(file, "") for file in near])
        question = "Hardware file, by number or path" if near else "Path of a hardware file"
        first = near[0] if near else ""
        return asks.ask(question, first, lambda text: Draft([FILE.convert(_chosen(text, near), None, None)]))
    if not near:
        raise WrongQuestion("no hardware file is near here; name one", about="hardware")
    return asks.take_usual("hardware", lambda: Draft([Path(near[0])]))


def _frames(asks: Asks, draft: Draft, given: Sequence[str]) -> None:
    from solver.answers.start import FrameAnswer, describe_chassis

    if given:
        for text in given:
            asks.take(partial(_take_frame, draft, text))
        return
    usual = draft.usual.chassis()
    if not asks.asking:
        board = draft.usual.board(usual)
        asks.take_usual("frame", lambda: draft.frame(FrameAnswer(draft.usual.frame(), usual, board)))
        return
    ids = [one.id for one in draft.hardware.chassis]
    asks.show("Chassis", [(one.id, describe_chassis(one)) for one in draft.hardware.chassis])

    def chassis(text: str) -> str:
        found = _chosen(text, ids)
        if found:
            draft.frame(FrameAnswer(draft.usual.frame(), found, draft.usual.board(found)), trying=True)
        return found

    found = asks.ask("Chassis of the first frame, by number or name", usual, chassis)
    while found:
        _board_and_name(asks, draft, found)
        found = asks.ask("Chassis of one more frame; Enter for no more", "", chassis)


def _board_and_name(asks: Asks, draft: Draft, chassis: str) -> None:
    """What else is asked of a frame."""
    from solver.answers.start import FrameAnswer

    boards = draft.boards(chassis)
    asks.show(f"Boards that fit {chassis}", [(board, draft.numbers(board)) for board in boards])

    def board(text: str) -> str | None:
        chosen = _chosen(text, boards)
        found = None if chosen == ANY and ANY not in boards else chosen
        draft.frame(FrameAnswer(draft.usual.frame(), chassis, found), trying=True)
        return found

    usual = draft.usual.board(chassis) or ANY
    found = asks.ask("Its board, or any for the plan to pick one", usual, board)
    asks.ask("Its name", draft.usual.frame(), lambda name: draft.frame(FrameAnswer(name, chassis, found)))


def _needs(asks: Asks, draft: Draft, given: Sequence[str], listed: Path | None) -> None:
    from solver.answers.start import NeedAnswer

    for text in given:
        asks.take(partial(_take_need, asks, draft, text))
    if listed is not None:
        asks.take(lambda: draft.take_list(listed))
    if given or listed is not None:
        return
    direction, signal = draft.usual.signal()
    count = draft.usual.channels(direction, signal)
    if not asks.asking:
        name = draft.usual.need(direction, signal)
        asks.take_usual("need", lambda: draft.need(NeedAnswer(name, direction, signal, count)))
        return
    pairs = [f"{signal} {direction}" for direction, signal in draft.signals()]
    asks.say("What has to come in (towards the recorder) and go out")
    asks.show("Signals of these cards", [(pair, "") for pair in pairs])

    def wanted(text: str) -> tuple[str, str] | None:
        if not text:
            return None
        found = _signal(_chosen(text, pairs), draft)
        draft.need(NeedAnswer(draft.usual.need(*found), *found, 1), trying=True)
        _assume_way(asks, _chosen(text, pairs), *found)
        return found

    pair = asks.ask("Signal of the first need, by number or name", f"{signal} {direction}", wanted)
    while pair is not None:
        _channels_and_name(asks, draft, *pair)
        pair = asks.ask("Signal of one more need; Enter for no more", "", wanted)


def _channels_and_name(asks: Asks, draft: Draft, direction: str, signal: str) -> None:
    """What else is asked of a need."""
    from solver.answers.start import NeedAnswer

    usual = draft.usual.need(direction, signal)

    def channels(text: str) -> int:
        count = _whole(text, "need")
        draft.need(NeedAnswer(usual, direction, signal, count, 1), trying=True)
        return count

    def spare(text: str) -> int:
        more = _whole(text, "need")
        draft.need(NeedAnswer(usual, direction, signal, count, more), trying=True)
        return more

    count = asks.ask("Its channels", str(draft.usual.channels(direction, signal)), channels)
    more = asks.ask("So many more to spare", "0" if count else "1", spare)
    asks.ask("Its name", usual, lambda name: draft.need(NeedAnswer(name, direction, signal, count, more)))
    for text in draft.impossible():
        asks.say(f"Impossible: {text}", 2)


def _owned(asks: Asks, draft: Draft, given: Sequence[str]) -> None:
    if given:
        asks.take(partial(_unless_alone, NONE, given, "own"))
        for text in () if NONE in given else given:
            asks.take(partial(_take_owned, draft, text))
        return
    if not asks.asking:
        asks.take_usual("own", lambda: None)
        return
    ids = [card.id for card in draft.hardware.card]
    asks.show("Cards", draft.cards())

    def card(text: str) -> str:
        found = _chosen(text, ids)
        if found == NONE and NONE not in ids:
            return ""
        if found:
            draft.own(found, 1, trying=True)
        return found

    def many(owned: str, text: str) -> None:
        draft.own(owned, _whole(text, "own"))

    found = asks.ask("A card that is owned, by number or name; Enter for none", "", card)
    while found:
        asks.ask(f"How many {found} are owned", "1", partial(many, found))
        found = asks.ask("One more card that is owned; Enter for no more", "", card)


def _bought(asks: Asks, draft: Draft, given: Sequence[str]) -> None:
    ids = [card.id for card in draft.hardware.card]

    def take(items: Sequence[str]) -> None:
        named = _unless_alone(NONE, items, "buy")
        draft.buy(None if named and _unless_alone(ALL, named, "buy") is None else tuple(named or ()))

    if given:
        asks.take(partial(take, given))
    elif asks.asking:
        question = "Cards that may be bought: all, none, or some, with blanks between"
        asks.ask(question, ALL, lambda text: take([_chosen(part, ids) for part in re.split(r"[\s,]+", text) if part]))
    else:
        asks.take_usual("buy", lambda: draft.buy(None))


def _place(asks: Asks, force: bool) -> Path:
    """Where to write, if no option says so."""

    def place(text: str) -> Path:
        path: Path = FILE.convert(text, None, None)
        saving.check_scenario(path, force)
        return path

    if asks.asking:
        return asks.ask("File to write", USUAL_FILE, place)
    return asks.take_usual("to", lambda: place(USUAL_FILE))


# ---- what answers mean ----


def _chosen(text: str, names: Sequence[str]) -> str:
    """A name, or the one that stands at a number."""
    if text not in names and re.fullmatch("[1-9][0-9]{0,3}", text) and int(text) <= len(names):
        return names[int(text) - 1]
    return text


def _unless_none(text: str) -> str | None:
    return None if text == NONE else text


def _unless_alone(word: str, items: Sequence[str], about: str) -> Sequence[str] | None:
    """The items, or None where the word stands for them; it does not go with others."""
    if word not in items:
        return items
    if len(items) > 1:
        raise WrongQuestion(f"{word} does not go with others", about=about)
    return None


def _whole(text: str, about: str) -> int:
    """A whole number, as the files have it."""
    from solver.room.faults import quote
    from solver.room.words import parse_whole

    try:
        return parse_whole(text)
    except ValueError as error:
        raise WrongQuestion(f"{error}, found {quote(text)}", about=about) from None


def _rate(text: str) -> int:
    try:
        rate: int = Rate().convert(text, None, None)
    except click.BadParameter as bad:
        raise WrongQuestion(bad.message, about="rate") from None
    return rate


def _celsius(text: str) -> Decimal | None:
    from solver.room.faults import quote

    if text == NONE:
        return None
    if not re.fullmatch(r"-?[0-9]{1,4}(\.[0-9]{1,3})?", text):
        raise WrongQuestion(f"must be degrees Celsius such as 25 or 24.5, or none, found {quote(text)}", about="inlet")
    return Decimal(text)


def _take_frame(draft: Draft, text: str) -> None:
    draft.frame(_frame(text, draft))


def _take_need(asks: Asks, draft: Draft, text: str) -> None:
    need, said = _need(text, draft)
    draft.need(need)
    _assume_way(asks, said, need.direction, need.signal)


def _take_owned(draft: Draft, text: str) -> None:
    draft.own(*_owning(text, draft))


def _assume_way(asks: Asks, said: str, direction: str, signal: str) -> None:
    """Tell which way a signal goes where nobody said it."""
    if len(said.split()) == 1:
        way, other = ("comes in", "gives {} out") if direction == "in" else ("goes out", "takes {} in")
        asks.assume(f"{signal} {way}, for no card here {other.format(signal)}")


def _frame(text: str, draft: Draft) -> FrameAnswer:
    """``M=tern-6/slate-32``; without a name the next letter, without a board the usual one."""
    from solver.answers.start import FrameAnswer

    named, equals, what = text.rpartition("=")
    chassis, stroke, board = what.strip().partition("/")
    boards = draft.boards(chassis)
    chosen: str | None = board if stroke else draft.usual.board(chassis)
    if chosen == ANY and ANY not in boards:
        chosen = None
    return FrameAnswer(named.strip() if equals else draft.usual.frame(), chassis.strip(), chosen)


def _need(text: str, draft: Draft) -> tuple[NeedAnswer, str]:
    """``drums=12+2 mic in``; without a name that of the signal. And the words for the signal and its direction."""
    from solver.answers.start import NeedAnswer
    from solver.room.faults import quote

    named, equals, what = text.rpartition("=")
    match = re.fullmatch(r"\s*([0-9]+)\s*(?:\+\s*([0-9]+)\s*)?\s(\S+(?:\s+\S+)?)\s*", what)
    if match is None:
        raise WrongQuestion(f'must be such as "drums=8+2 mic in", found {quote(text)}', about="need")
    direction, signal = _signal(match[3], draft)
    name = named.strip() if equals else draft.usual.need(direction, signal)
    need = NeedAnswer(name, direction, signal, _whole(match[1], "need"), _whole(match[2] or "0", "need"))
    return need, match[3]


def _signal(text: str, draft: Draft) -> tuple[str, str]:
    """``mic in`` as direction and signal; without a direction that of the only cards that have the signal."""
    from solver.room.faults import quote

    signal, *rest = text.split()
    ways = [way for way, known in draft.signals() if known == signal]
    if rest and rest not in (["in"], ["out"]):
        raise WrongQuestion(f'must be a signal with in or out, such as "mic in", found {quote(text)}', about="need")
    if not rest and len(ways) > 1:
        raise WrongQuestion(f"{signal} goes both ways: say {signal} in or {signal} out", about="need")
    return (rest or ways or ["in"])[0], signal


def _owning(text: str, draft: Draft) -> tuple[str, int]:
    """``mic-8=2``; one without a number. Nothing is given twice."""
    from solver.room.faults import quote

    item, equals, count = text.partition("=")
    if item in draft.owned:
        raise WrongQuestion(f"{quote(item)} is given twice", about="own")
    return item, _whole(count, "own") if equals else 1
