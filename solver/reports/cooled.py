"""How cool frames stay with open slots and without a fan, in words."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from solver.fitted.cooled import FanFails, fan_fails, open_slots, own_margin_mk, runs_without_a_fan
from solver.fitted.standing import Standing


def air_told(standing: Standing) -> list[str]:
    """For each frame of a build: its own open slots beside those that count, and what becomes of it without a fan."""
    return [*_open(standing), *(told for frame in standing.frames for told in _fan(fan_fails(frame)))]


def _open(standing: Standing) -> Iterator[str]:
    for frame in standing.frames:
        margin = own_margin_mk(frame)
        if margin is not None:
            every, own = len(frame.site.slots), open_slots(frame)
            counted = (
                f"frame {frame.site.name} has no blanks: cooling is counted with {every - 1} of {every} slots open"
            )
            yield f"{counted}, the worst that can be; with the {own} that this build leaves open, {_spare(margin)}"


def _fan(fails: FanFails | None) -> Iterator[str]:
    if fails is not None:
        yield without_fan_told(fails)


def without_fan_told(fails: FanFails) -> str:
    """Which fan fails, and what becomes of the frame then."""
    without = "its only fan" if fails.fans == 1 else f"one of its {fails.fans} fans"
    return f"frame {fails.frame} without {without}: {fan_told(fails)}"


def stopped_then(before: Standing, after: Standing, names: Collection[str]) -> Iterator[str]:
    """Frames that run on without a fan as they stand, and no longer with what another build seats in them."""
    for frame in after.frames:
        name = frame.site.name
        was, fails = before.by_name.get(name), fan_fails(frame)
        if name in names and was is not None and runs_without_a_fan(was) and fails is not None and not fails.runs_on:
            yield f"seated so, frame {name} does not run on without a fan, and all on it is lost: {fan_told(fails)}"


def fan_told(fails: FanFails) -> str:
    """What becomes of a frame without a fan."""
    if fails.margin_mk is None:
        return f"nobody says how warm it gets and may get ({fails.lacking}); switch it off"
    if fails.runs_on:
        return f"about {_spare(fails.margin_mk)}, so that it runs on; have the fan seen to soon"
    return f"about {-(fails.margin_mk // 1000)} K warmer than its cards stand; switch it off at once"


def _spare(margin_mk: int) -> str:
    return f"{max(0, margin_mk) // 1000} K to spare" if margin_mk >= 0 else f"{-(margin_mk // 1000)} K too warm"
