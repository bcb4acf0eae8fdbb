"""Amounts, seconds, rates and whole numbers of options: the grammar of the files, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest
from samples import SCENARIO, change, texts_of, write

from cli.main import run
from solver.room.words import nearest_rate, parse_rate

MIX = "scenarios/quay-mix-rig.toml"
HARDWARE = "scenarios/hardware/quay.toml"

NO_AMOUNTS = [
    "", " ", "1e9999999", "1e-9999999", "1e3", "1_000", ".5", "5.", "+5", "-5", "nan", "inf", "-inf", "NaN", "Infinity",
    "٣٠٠٠", "\uff13\uff10\uff10\uff10", "३", "1,000", "1 000", " 3000", "3000 ", "3000\n", "£3000", "0x10", "9" * 13,
    "1.1234567", "9" * 5000, "\x1b[31m1", "\u202e1",
]  # fmt: skip


@pytest.mark.parametrize("text", NO_AMOUNTS)
def test_what_is_no_amount_in_a_file_is_none_on_the_command_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    assert run(["why-not", MIX, "--cost", text]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert 'Invalid value for \'--cost\': must be an amount such as "1290.00", found "' in err
    assert all(c.isprintable() or c == "\n" for c in err)
    written = text.replace("\\", "\\\\").replace('"', '\\"')
    if written.isprintable():
        refused = texts_of(write(tmp_path, change(SCENARIO, '"810.50"', f'"{written}"')))
        assert len(refused) == 1
        assert refused[0].startswith('offer 1 > price: must be an amount such as "1290.00", found "')


def test_an_amount_has_no_more_decimals_than_the_currency(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["why-not", MIX, "--cost", "640.005"]) == 2
    said = capsys.readouterr().err.splitlines()[-1]
    assert said == "Error: Invalid value for --cost: 640.005 has more decimals than GBP has (2)"
    assert run(["why-not", MIX, "--cost", "3030.00"]) == 0
    assert run(["why-not", MIX, "--cost", "3030"]) == 0


NO_SECONDS = [
    "", "nan", "inf", "-1", "0", "0.009", "1e3", "1_0", ".5", "5.", "٣", "9999999", "1000001", "1e9999", "1 s", "0x1",
    "9" * 400,
]  # fmt: skip


@pytest.mark.parametrize("command", ["plan", "front", "why", "reach", "explain"])
@pytest.mark.parametrize("text", NO_SECONDS)
def test_what_is_no_span_of_seconds(capsys: pytest.CaptureFixture[str], command: str, text: str) -> None:
    assert run([command, MIX, "--limit", text]) == 2
    out, err = capsys.readouterr()
    shown = text if len(text) <= 60 else text[:60] + "..."
    assert out == ""
    assert err.splitlines()[-1] == (
        'Error: Invalid value for \'--limit\': must be seconds from 0.01 to 1000000, such as "90" or "2.5", '
        f'found "{shown}"'
    )


@pytest.mark.parametrize("text", ["1000000", "60", "2.5", "60.000001"])
def test_spans_of_seconds(text: str) -> None:
    assert run(["plan", MIX, "--top", "1", "--limit", text]) == 0


NO_WHOLE = ["", "1_0", "٣", "\uff11", "+1", "1.0", "1e1", "01", " 1", "0x1", "nan", "9" * 10, "9" * 5000]


@pytest.mark.parametrize(
    "option",
    [
        ("plan", "--top"), ("plan", "--show"), ("plan", "--workers"), ("front", "--show"), ("why", "--apply"),
        ("why-not", "--slot"), ("explain", "--show"), ("explain", "--against"),
    ],
    ids=" ".join,
)  # fmt: skip
@pytest.mark.parametrize("text", NO_WHOLE)
def test_what_is_no_whole_number(capsys: pytest.CaptureFixture[str], option: tuple[str, ...], text: str) -> None:
    command, name = option
    assert run([command, MIX, name, text]) == 2
    out, err = capsys.readouterr()
    shown = text if len(text) <= 60 else text[:60] + "..."
    digits = " of nine digits at most" if text.startswith("99") else ""
    assert out == ""
    assert err.splitlines()[-1] == (
        f"Error: Invalid value for '{name}': must be a whole number{digits}, found \"{shown}\""
    )


RATES = [
    ("96", 96000), ("96k", 96000), ("96000", 96000), ("96 kHz", 96000), ("96kHz", 96000), ("96 KHZ", 96000),
    ("96000 Hz", 96000), ("44.1", 44100), ("44.1 kHz", 44100), ("44.1k", 44100), ("176.4", 176400), ("192k", 192000),
    ("48", 48000), ("48.000 kHz", 48000), ("88200hz", 88200),
]  # fmt: skip


@pytest.mark.parametrize(("text", "hertz"), RATES)
def test_a_rate_in_hertz_or_kilohertz(capsys: pytest.CaptureFixture[str], text: str, hertz: int) -> None:
    assert parse_rate(text) == hertz
    told = {}
    for given in (text, str(hertz)):
        assert run(["blocks", HARDWARE, "--chassis", "tern-6", "--board", "slate-32", "--rate", given]) == 0
        told[given] = capsys.readouterr().out
    assert len(set(told.values())) == 1


KNOWN = "(44100, 48000, 88200, 96000, 176400, 192000)"
NO_RATES = [
    ("12", f'"12" is no known sample rate {KNOWN}'),
    ("0", f'"0" is no known sample rate {KNOWN}'),
    ("47", f'"47" is no known sample rate; did you mean 48000? {KNOWN}'),
    ("9600", f'"9600" is no known sample rate; did you mean 96000? {KNOWN}'),
    ("44100.5", 'must be a whole number of hertz, found "44100.5"'),
    ("", 'must be a sample rate such as "96 kHz" or "96000", found ""'),
    ("٩٦", 'must be a sample rate such as "96 kHz" or "96000", found "٩٦"'),
    ("96 MHz", 'must be a sample rate such as "96 kHz" or "96000", found "96 MHz"'),
    ("9.6e4", 'must be a sample rate such as "96 kHz" or "96000", found "9.6e4"'),
    ("-96", 'must be a sample rate such as "96 kHz" or "96000", found "-96"'),
]


@pytest.mark.parametrize(("text", "said"), NO_RATES)
def test_what_is_no_rate(capsys: pytest.CaptureFixture[str], text: str, said: str) -> None:
    assert run(["blocks", HARDWARE, f"--rate={text}"]) == 2
    assert capsys.readouterr().err.splitlines()[-1] == f"Error: Invalid value for '--rate': {said}"


IN_FILES = [
    ("0", f"0 Hz is no known sample rate {KNOWN}"),
    ("-48000", f"-48000 Hz is no known sample rate; did you mean 48000? {KNOWN}"),
    ("96", f"96 Hz is no known sample rate; did you mean 96000? {KNOWN}"),
    ("44", f"44 Hz is no known sample rate; did you mean 44100? {KNOWN}"),
    ("4800", f"4800 Hz is no known sample rate; did you mean 48000? {KNOWN}"),
    ("1000000", f"1000000 Hz is no known sample rate; did you mean 96000? {KNOWN}"),
    ("60000", f"60000 Hz is no known sample rate {KNOWN}"),
    (f"0x{'f' * 4000}", f"a very large number Hz is no known sample rate {KNOWN}"),
    ('"96 kHz"', 'must be a whole number of hertz, found "96 kHz" (text); did you mean 96000?'),
    ('"96k"', 'must be a whole number of hertz, found "96k" (text); did you mean 96000?'),
    ("44.1", "must be a whole number of hertz, found 44.1; did you mean 44100?"),
    ("96000.0", "must be a whole number of hertz, found 96000.0; did you mean 96000?"),
    ("true", "must be a whole number of hertz, found true"),
]


@pytest.mark.parametrize(("value", "said"), IN_FILES)
def test_a_rate_in_a_file_is_suggested_as_it_is_written(tmp_path: Path, value: str, said: str) -> None:
    path = write(tmp_path, change(SCENARIO, "[stock]", f"sample_rate = {value}\n[stock]"))
    assert texts_of(path) == [f"sample_rate: {said}"]
    if "did you mean" in said:
        pasted = said.split("did you mean ")[1].split("?", maxsplit=1)[0]
        path = write(tmp_path, change(SCENARIO, "[stock]", f"sample_rate = {pasted}\n[stock]"))
        assert not any(text.startswith("sample_rate") for text in texts_of_any(path))


def texts_of_any(path: Path) -> list[str]:
    from solver.files.reading import load_scenario
    from solver.room.faults import FileFaults

    try:
        load_scenario(path)
    except FileFaults as refused:
        return [fault.text() for fault in refused.faults]
    return []


def test_what_is_near_a_known_rate() -> None:
    near = {hertz: nearest_rate(hertz) for hertz in (0, 1, 44, 50000, 60000, 100000, 10**30, -(10**30))}
    assert near == {
        0: None,
        1: None,
        44: 44100,
        50000: 48000,
        60000: None,
        100000: 96000,
        10**30: None,
        -(10**30): None,
    }
