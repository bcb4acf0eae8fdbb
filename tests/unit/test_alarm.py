"""The alarm that ends a command whose files take too long: none once a search has begun or the answer is there."""

from __future__ import annotations

import pytest

from cli.codes import UNKNOWN
from cli.stop import Stop


class Ended(Exception):
    """In place of the end of the process."""


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> Stop:
    def end(code: int) -> None:
        raise Ended(code)

    monkeypatch.setattr("cli.stop.os._exit", end)
    found = Stop()
    found._watching = True
    found.limit(1000)
    return found


def test_it_ends_a_command_that_is_still_reading(watched: Stop, capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(Ended) as ended:
        watched._look_again(due=0)
    assert ended.value.args == (UNKNOWN,)
    assert capfd.readouterr().err == "the limit ended it before the search could begin\n"
    watched._unlimited()


def test_it_is_silent_after_a_search_even_if_it_was_just_looking(watched: Stop) -> None:
    assert watched.search(lambda: "built", lambda: None) == ("built", False)
    watched._look_again(due=0)


def test_it_is_silent_once_the_exit_code_is_settled(watched: Stop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("cli.stop._known", list)
    watched.ignore()
    watched._look_again(due=0)
