"""What a stage is in a seating by its audited figures, whatever a model said of it."""

from __future__ import annotations

from solver.judge import audit, criteria
from solver.room.survey import Survey
from solver.search.model.scale import MARGIN, TIES, Caps, Scale, Stage, tie_weights
from solver.search.model.seating import Seating
from solver.search.solve.part import margin_of
from solver.search.solve.standing import as_stands


def recounted(survey: Survey, scale: Scale, stage: Stage, caps: Caps, seating: Seating) -> int | None:
    """What a stage is in a seating by its audited figures; None where a rule or a cap is broken."""
    standing = as_stands(survey, seating)
    if audit.faults(survey, standing):
        return None
    figures = criteria.figures(survey, standing)
    if figures.short > survey.short.channels or figures.short_needs > survey.short.needs:
        return None

    def summed(asked: Stage) -> int:
        if asked == TIES:
            used = sum(option is not None for option in seating.options)
            amounts = (figures.closed, used, figures.cards, figures.misfit)
            return sum(w * n for w, n in zip(tie_weights(survey), amounts, strict=True))
        return sum(
            weight * criteria.value(survey, figures, criterion) // scale.units.get(criterion, 1)
            for criterion, weight in scale.weights(asked)
        )

    margin = margin_of(survey, seating)
    for other, cap in caps.items():
        if other == MARGIN:
            if margin is not None and margin < cap:
                return None
        elif summed(other) > cap:
            return None
    return 0 if stage == MARGIN else summed(stage)
