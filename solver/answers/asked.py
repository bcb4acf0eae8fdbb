"""What is asked about: all rooms together, the only one, or one of several: with what the others leave, and alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, TypeAlias, TypeVar

from solver.answers import asking
from solver.files.reading import Loaded
from solver.judge.campus import Campus, stand_campus, survey_campus
from solver.reports.assumed import assumed
from solver.reports.element import file_warnings
from solver.reports.explanation import Explanation, WhyNot
from solver.reports.reach import ReachReport
from solver.reports.report import Report
from solver.reports.share import Given, RoomAnswers, alone, left_for, room_answers
from solver.room.build import Build
from solver.room.demand import bare_signals
from solver.room.errors import Parameter, WrongQuestion
from solver.room.faults import nearest, quote
from solver.room.phases import Phases, phases_of
from solver.room.ready import survey_room
from solver.room.setups import Setups, setups_of
from solver.room.survey import Survey

if TYPE_CHECKING:
    from solver.search.solve.clock import Clock

Answer = TypeVar("Answer")
Other = TypeVar("Other")
Document = TypeVar("Document", Report, ReachReport, Explanation, WhyNot)

Together: TypeAlias = Literal["found", "impossible", "unknown", "drawn"]


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
    together: Together | None = None
    proven: bool = True
    others: tuple[Build, ...] = ()

    @property
    def first(self) -> Told[Answer]:
        """The one that counts, and what is saved: with what is left, where the rooms have a plan."""
        return self.told[0]

    def each(self, change: Callable[[Told[Answer]], Other]) -> Answers[Other]:
        """The same with every answer exchanged."""
        told = tuple(Told(one.given, one.survey, change(one)) for one in self.told)
        return Answers(told, self.together, self.proven, self.others)

    def whole(self, build: Build) -> Build:
        """A build of the first answer with those of the other rooms beside it."""
        frames = [frame for other in (build, *self.others) for frame in other.frame]
        return build.model_copy(update={"frame": tuple(sorted(frames, key=lambda f: (f.room or "", f.name)))})


@dataclass(frozen=True)
class Asked:
    """The room that is meant: the only one of a scenario, or one of several."""

    survey: Survey
    campus: Campus | None = None
    index: int = 0

    @classmethod
    def of(cls, loaded: Loaded, name: str | None) -> Asked:
        """The room with a name, or the only one.

        Raises
        ------
        WrongQuestion
            If no room has that name, or if there are several and none is named.
        """
        names = sorted(room.name for room in loaded.scenario.room)
        if name is None and len(names) > 1:
            listed = ", ".join(f'"{known}"' for known in names)
            raise WrongQuestion(f"{loaded.name} has several rooms: {listed}; name one with ", Parameter("room"))
        if name is not None and name not in names:
            raise _unknown(name, names, loaded.name)
        if len(names) < 2 or name is None:
            return cls(survey_room(loaded.scenario, loaded.hardware))
        survey = survey_room(alone(loaded.scenario, name), loaded.hardware)
        return cls(survey, survey_campus(loaded.scenario, loaded.hardware), names.index(name))

    def answers(
        self, ask: Callable[[Survey], Answer], clock: Clock | None, workers: int, drawn: Build | None = None
    ) -> Answers[Answer]:
        """Ask about the only room; or about one of several with what the others leave for it, then alone.

        Parameters
        ----------
        ask
            Answers about a room.
        clock, workers
            Those of the search for the best plan of all rooms.
        drawn
            A build in the place of that plan.
        """
        if self.campus is None:
            return Answers((Told(None, self.survey, ask(self.survey)),))
        together: Together = "drawn"
        proven = True
        standing = None if drawn is None else stand_campus(self.campus, drawn)
        if standing is None:
            from solver.answers.rooms import plan_rooms

            planned = plan_rooms(self.campus, workers, clock)
            together = planned.outcome
            proven = planned.outcome == "impossible" or (planned.best is not None and planned.best.proven)
            standing = None if planned.best is None else planned.best.standing
        told = []
        others: tuple[Build, ...] = ()
        if standing is not None:
            left = survey_room(left_for(self.campus, standing, self.index), self.survey.hardware)
            told.append(Told[Answer]("left", left, ask(left)))
            frames = [
                tuple(frame.built for frame in own.frames) for at, own in enumerate(standing.rooms) if at != self.index
            ]
            others = tuple(Build(frame=own) for own in frames)
        told.append(Told[Answer]("all", self.survey, ask(self.survey)))
        return Answers(tuple(told), together, proven, others)


def _unknown(name: str, names: list[str], file: str) -> WrongQuestion:
    if not names:
        return WrongQuestion(f"{file} names no rooms; leave ", Parameter("room"), " out", about="room")
    near = nearest(name, names)
    meant = f'did you mean "{near}"?' if near else f"there are {', '.join(quote(known) for known in names)}"
    return WrongQuestion(f"{quote(name)} is no room of {file}; {meant}", about="room")


def surveyed(loaded: Loaded) -> Survey | Campus | Setups | Phases:
    """The only room of a scenario, all of them together, or all kinds of day or all phases of the only one."""
    if loaded.scenario.setup:
        return setups_of(loaded.scenario, loaded.hardware)
    if loaded.scenario.phase:
        return phases_of(loaded.scenario, loaded.hardware)
    survey = survey_campus if len(loaded.scenario.rooms()) > 1 else survey_room
    return survey(loaded.scenario, loaded.hardware)


def needs_meant(survey: Survey, name: str | None) -> list[str] | None:
    """The need or the signal with a name; None, which means all, for None.

    Raises
    ------
    WrongQuestion
        If there is neither a need nor a signal of that name.
    """
    if name is None:
        return None
    known = [need.name for need in [*survey.needs, *bare_signals(survey)]]
    if name not in known:
        raise WrongQuestion(f"{name!r} is none of {', '.join(known)}", about="need")
    return [name]


def with_defaults(answers: Answers[Document], loaded: Loaded) -> Answers[Document]:
    """The same answers, each saying which defaults of the scenario it leans on."""
    update = {"assumed": assumed(loaded.scenario, loaded.hardware)}
    return answers.each(lambda one: one.answer.model_copy(update=update))


def as_document(answers: Answers[Document], loaded: Loaded) -> Document | RoomAnswers:
    """The one answer, or both with what the room may draw on for each; with the warnings about the files."""
    warnings = {"warnings": file_warnings(loaded.warnings)}
    if answers.together is None:
        return answers.first.answer.model_copy(update=warnings)
    return room_answers(
        loaded.scenario,
        answers.first.survey.room or "",
        answers.together,
        answers.proven,
        [(one.given or "all", one.survey, one.answer) for one in answers.told],
    ).model_copy(update=warnings)


def answered(
    asked: Asked, loaded: Loaded, ask: Callable[[Survey, Clock], Document], limit_s: float | None, workers: int
) -> Document | RoomAnswers:
    """The document of what a search answers about the room that is meant, within its limit.

    Raises
    ------
    WrongQuestion
        If there is no such limit.
    """
    answers = asking.searched(limit_s, lambda clock: asked.answers(lambda survey: ask(survey, clock), clock, workers))
    return as_document(with_defaults(answers, loaded), loaded)
