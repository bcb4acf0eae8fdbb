"""What latency needs keep that ask for one, in samples and milliseconds."""

from __future__ import annotations

from decimal import Decimal

from solver.fitted.moves import Spot
from solver.fitted.repatched import Repatched
from solver.fitted.standing import Standing
from solver.reports.report import Latency
from solver.room.faults import quote
from solver.room.survey import Need, Survey
from solver.room.words import write_ranges


def latencies(survey: Survey, standing: Standing) -> list[Latency]:
    """By need in the order of the files what its cards take, where that is known and one figure.

    What comes back is told with what it goes out of.
    """
    known = {need.name: samples for need in survey.needs if (samples := _samples(standing, need)) is not None}
    back = {need.wanted.returns for need in survey.needs if need.wanted and need.wanted.returns and need.name in known}
    found = []
    for need in sorted(survey.needs, key=lambda need: need.index):
        returns = None if need.wanted is None else need.wanted.returns
        if need.name not in known or need.name in back & known.keys():
            continue
        samples, other = known[need.name], known.get(returns or "")
        text = f"{need.name} {samples}"
        if other is None:
            returns, text = None, f"{text} samples, {_ms(samples, survey.sample_rate)}"
        else:
            both = samples + other
            text = f"{text} out, {returns} {other} back: {both} samples, {_ms(both, survey.sample_rate)}"
        found.append(Latency(need=need.name, samples=samples, comes_back_on=returns, back_samples=other, text=text))
    return found


def latency_changes(found: Repatched, before: Standing, after: Standing) -> list[str]:
    """Channels whose cards have another latency than before, where both are known, by need."""
    changed: dict[tuple[str, int, int], list[int]] = {}
    for each in found.channels:
        if each.after is not None:
            was, now = _at(before, each.before), _at(after, each.after)
            if was is not None and now is not None and was != now:
                changed.setdefault((each.need.name, was, now), []).append(each.channel)
    return [
        f"{quote(need)} {write_ranges(channels)}: {now} samples of latency, {was} before"
        for (need, was, now), channels in changed.items()
    ]


def _at(standing: Standing, spot: Spot) -> int | None:
    """The latency of the card in a slot."""
    frame = standing.by_name.get(spot.frame)
    seat = None if frame is None else frame.occupant(spot.slot)
    return None if seat is None else seat.kind.latency


def _samples(standing: Standing, need: Need) -> int | None:
    """The one latency of the cards that serve a need."""
    seats = [frame.occupant(use.slot) for frame, use in standing.uses(need)]
    samples = {None if seat is None else seat.kind.latency for seat in seats}
    return samples.pop() if need.one_latency and len(samples) == 1 else None


def _ms(samples: int, rate: int) -> str:
    return f"{Decimal(1000 * samples) / rate:.2f} ms"
