"""What a build's figures are made of and which limits are near: of a build that the search finds, or of a file's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solver.answers.asked import Answers, Asked
from solver.reports.checking import check_report, check_room
from solver.reports.describe import describe_build
from solver.reports.explain import explanation, unexplained
from solver.reports.explanation import Explanation
from solver.reports.report import BuildReport
from solver.room.build import Build
from solver.room.errors import WrongQuestion
from solver.room.survey import Survey

if TYPE_CHECKING:
    from solver.search.ask.ranking import RankedBuild, Ranking
    from solver.search.solve.clock import Clock


@dataclass(frozen=True)
class ToExplain:
    """The build to explain, by its number or as a file has it, and the number of one to compare it with.

    Raises
    ------
    WrongQuestion
        If both builds are the same, or one is given in two ways.
    """

    show: int | None = None
    against: int | None = None
    drawn: bool = False

    def __post_init__(self) -> None:
        if self.drawn and self.show is not None:
            raise WrongQuestion("give the number of a build or a build file, not both", about="show")
        if self.shown is not None and self.shown == self.against:
            raise WrongQuestion("this is the build that is explained", about="against")

    @property
    def shown(self) -> int | None:
        """The number of the build to explain; None where a file has it."""
        return None if self.drawn else self.show or 1

    @property
    def top(self) -> int:
        """How many builds have to be searched for."""
        return max(self.shown or 0, self.against or 0)


def rankings(
    asked: Asked, meant: ToExplain, drawn: Build | None, workers: int, clock: Clock | None
) -> Answers[Ranking | None]:
    """The builds that it takes, for each answer; None where it takes no search."""
    if not meant.top:
        return asked.answers(lambda _: None, None, workers, drawn)
    from solver.search.ask.ranking import rank
    from solver.search.ask.readiness import with_readiness

    def ranked(survey: Survey) -> Ranking:
        return with_readiness(survey, rank(survey, meant.top, workers=workers, clock=clock), workers, clock)

    return asked.answers(ranked, clock, workers, drawn)


def explain(survey: Survey, ranking: Ranking | None, meant: ToExplain, drawn: Build | None) -> Explanation:
    """The explanation as a document.

    Raises
    ------
    WrongQuestion
        If the search found fewer builds than are asked for.
    """
    builds = () if ranking is None else ranking.builds
    if ranking is not None and meant.shown is not None and ranking.outcome != "found":
        return unexplained(survey, ranking.outcome)
    against = meant.against
    other = None if against is None else _report(survey, _pick(builds, against, "against"), against)
    if drawn is not None:
        return _of_file(survey, drawn, other)
    shown = meant.shown or 1
    found = _pick(builds, shown, "show")
    document = explanation(survey, "found", found.standing, _report(survey, found, shown), other)
    if ranking is None or ranking.ready is None:
        return document
    from solver.reports.surviving import surviving

    return document.model_copy(update={"surviving": surviving(survey, ranking.ready)})


def _pick(builds: Sequence[RankedBuild], number: int, about: str) -> RankedBuild:
    if number > len(builds):
        raise WrongQuestion(f"the search found only {len(builds)}", about=about)
    return builds[number - 1]


def _report(survey: Survey, found: RankedBuild, number: int) -> BuildReport:
    return describe_build(survey, found.standing, found.figures, number, found.proven, dict(found.stages))


def _of_file(survey: Survey, drawn: Build, other: BuildReport | None) -> Explanation:
    own = drawn.frame if survey.room is None else tuple(frame for frame in drawn.frame if frame.room == survey.room)
    checked = check_room(survey, drawn.model_copy(update={"frame": own}))
    report = check_report(survey, checked)
    document = explanation(survey, report.outcome, checked.standing, report.builds[0], other)
    return document.model_copy(update={"notes": list(checked.assumed)})
