"""``--room NAME``: a question about one of several rooms, put twice: with what the others leave, and alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

import click

if TYPE_CHECKING:
    from solver.files.reading import Loaded
    from solver.judge.campus import Campus
    from solver.reports.explanation import Explanation, WhyNot
    from solver.reports.reach import ReachReport
    from solver.reports.report import Report
    from solver.reports.share import Given
    from solver.room.build import Build
    from solver.room.survey import Survey
    from solver.search.campus.planning import CampusRanking
    from solver.search.solve.clock import Clock

Command = TypeVar("Command", bound=Callable[..., object])
Answer = TypeVar("Answer")
Other = TypeVar("Other")
Document = TypeVar("Document", "Report", "ReachReport", "Explanation", "WhyNot")


def room_option(command: Command) -> Command:
    """``--room NAME``."""
    told = "One of several rooms: with what the best plan of all rooms leaves for it, and alone with everything."
    return click.option("--room", "room", metavar="NAME", help=told)(command)


@dataclass(frozen=True)
class Told(Generic[Answer]):
    """One answer, the room as it was asked about, and what it may draw on; None where there is only one room."""

    given: Given | None
    survey: Survey
    answer: Answer


@dataclass(frozen=True)
class Answers(Generic[Answer]):
    """The answer about the only room, or the two about one of several.

    `together` says what planning all rooms came to, where several are planned; `others` has the builds of the rooms
    that were not asked about.
    """

    told: tuple[Told[Answer], ...]
    together: Literal["found", "impossible", "unknown", "drawn"] | None = None
    proven: bool = True
    others: tuple[Build, ...] = ()

    @property
    def first(self) -> Told[Answer]:
        """The one that the exit code goes by, and what is saved: with what is left, where the rooms have a plan."""
        return self.told[0]

    def each(self, change: Callable[[Told[Answer]], Other]) -> Answers[Other]:
        """The same with every answer exchanged."""
        told = tuple(Told(one.given, one.survey, change(one)) for one in self.told)
        return Answers(told, self.together, self.proven, self.others)

    def whole(self, build: Build) -> Build:
        """A build of the first answer with those of the other rooms beside it."""
        frames = [frame for other in (build, *self.others) for frame in other.frame]
        return build.model_copy(update={"frame": tuple(sorted(frames, key=lambda f: (f.room or "", f.name)))})

    def code(self, found: int) -> int:
        """The exit code, where it is `found` by the first answer: never better than what the rooms together come to."""
        return {"impossible": 1, "unknown": 3}.get(self.together or "", found)


@dataclass(frozen=True)
class Asked:
    """The room that is meant: the only one of a scenario, or one of several."""

    survey: Survey
    campus: Campus | None = None
    place: int = 0

    @classmethod
    def of(cls, loaded: Loaded, name: str | None, path: Path) -> Asked:
        """The room with a name, or the only one.

        Raises
        ------
        click.UsageError
            If no room has that name, or if there are several and none is named.
        """
        from solver.room.survey import survey_room

        names = sorted(room.name for room in loaded.scenario.room)
        if name is None and len(names) > 1:
            listed = ", ".join(f'"{known}"' for known in names)
            raise click.UsageError(f"{path} has several rooms: {listed}; name one with --room")
        if name is not None and name not in names:
            raise click.BadParameter(_unknown(name, names, path), param_hint="--room")
        if len(names) < 2 or name is None:
            return cls(survey_room(loaded.scenario, loaded.hardware))
        from solver.judge.campus import survey_campus
        from solver.reports.share import alone

        survey = survey_room(alone(loaded.scenario, name), loaded.hardware)
        return cls(survey, survey_campus(loaded.scenario, loaded.hardware), names.index(name))

    def answers(
        self, ask: Callable[[Survey], Answer], clock: Clock | None, workers: int, drawn: Build | None = None
    ) -> Answers[Answer]:
        """Ask about the only room; or about one of several with what the others leave for it, then alone.

        Parameters
        ----------
        drawn
            A build in the place of the best plan of all rooms.
        """
        if self.campus is None:
            return Answers((Told(None, self.survey, ask(self.survey)),))
        from solver.judge.campus import stand_campus
        from solver.reports.share import left_for
        from solver.room.build import Build
        from solver.room.survey import survey_room

        together: Literal["found", "impossible", "unknown", "drawn"] = "drawn"
        proven = True
        standing = None if drawn is None else stand_campus(self.campus, drawn)
        if standing is None:
            planned = plan_rooms(self.campus, workers, clock)
            together = planned.outcome
            proven = planned.outcome == "impossible" or (planned.best is not None and planned.best.proven)
            standing = None if planned.best is None else planned.best.standing
        told = []
        others: tuple[Build, ...] = ()
        if standing is not None:
            left = survey_room(left_for(self.campus, standing, self.place), self.survey.hardware)
            told.append(Told[Answer]("left", left, ask(left)))
            frames = [
                tuple(frame.built for frame in own.frames) for at, own in enumerate(standing.rooms) if at != self.place
            ]
            others = tuple(Build(frame=own) for own in frames)
        told.append(Told[Answer]("all", self.survey, ask(self.survey)))
        return Answers(tuple(told), together, proven, others)


def _unknown(name: str, names: list[str], path: Path) -> str:
    from solver.room.faults import nearest, quote

    if not names:
        return f"{path} names no rooms; leave --room out"
    near = nearest(name, names)
    meant = f'did you mean "{near}"?' if near else f"there are {', '.join(quote(known) for known in names)}"
    return f"{quote(name)} is no room of {path}; {meant}"


def plan_rooms(campus: Campus, workers: int, clock: Clock | None) -> CampusRanking:
    """The best plan of all rooms; the clock tells how far it is."""
    from solver.reports.wording import money
    from solver.search.campus.planning import plan_campus
    from solver.search.campus.purse import UNBUILT
    from solver.search.model.allotment import SHORTS

    clock = clock or Clock()
    words_of = {UNBUILT: "rooms without a build", SHORTS[0]: "channels short", SHORTS[1]: "needs short"}
    known: dict[str, int] = {}

    def said(stage: str, best: int | None, bound: int | None) -> None:
        if best is not None:
            known[stage] = best
        words = {"best": known.get(stage), "bound": bound}
        figures = [
            f"{word} {money(campus.purse, value) if stage == 'cost' else value}"
            for word, value in words.items()
            if value is not None
        ]
        clock.at = ", ".join([words_of.get(stage, stage), *figures])

    return plan_campus(campus, workers, clock, said)


def tell(answers: Answers[Document], loaded: Loaded, path: Path, form: str, show: Callable[[Document], None]) -> None:
    """Print the one answer as its command does, or both, each with what the room may draw on."""
    from solver.reports.assumed import assumed
    from solver.reports.report import file_warnings

    warnings = file_warnings(loaded.warnings)
    by_default = {"assumed": assumed(loaded.scenario, loaded.hardware)}
    documents = [one.answer.model_copy(update=by_default) for one in answers.told]
    if answers.together is None:
        document = documents[0].model_copy(update={"warnings": warnings})
        if form == "json":
            click.echo(document.as_json(), nl=False)
        else:
            show(document)
        return
    from solver.reports.share import room_answers

    whole = room_answers(
        loaded.scenario,
        answers.first.survey.room or "",
        answers.together,
        answers.proven,
        [(one.given or "all", one.survey, document) for one, document in zip(answers.told, documents, strict=True)],
    )
    if form == "json":
        click.echo(whole.model_copy(update={"warnings": warnings}).as_json(), nl=False)
        return
    from cli.screen.room import show_room_answers

    show_room_answers(whole, path, documents, show)
