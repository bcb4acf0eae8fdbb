"""A run of the loader under atheris, which looks for damage that reaches new code.

``python tests/fuzz/guided.py FOLDER -max_total_time=300`` with the package `atheris` installed; what it finds worth
keeping stays in FOLDER. Every input is read as a scenario, as a hardware file and as a build.
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import atheris

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]

with atheris.instrument_imports(include=["solver", "tomllib"]):
    from solver.files.reading import check_build_names, load_build, load_hardware, load_scenario
    from solver.reports.element import Refused
    from solver.room.faults import FileFaults
    from solver.room.ready import survey_room

from mutate import HARDWARE, damaged  # noqa: E402 - after the instrumented imports


def read(folder: Path, data: bytes) -> None:
    """Read the same bytes in each of three places; anything but `FileFaults` is a finding."""
    good = damaged(0, whole=True)
    for name, text in good.items():
        (folder / name).write_bytes(text)
    for name in good:
        (folder / name).write_bytes(data)
        told: FileFaults | None = None
        try:
            if name == HARDWARE:
                load_hardware([folder / name])
            loaded = load_scenario(folder / "room.toml")
            build = load_build(folder / "build.toml")
            check_build_names(folder / "build.toml", build, loaded)
            survey_room(loaded.scenario, loaded.hardware)
        except FileFaults as refused:
            told = refused
        if told is not None:
            assert told.faults
            assert all(line.isprintable() for line in told.render().split("\n"))
            Refused.of(told.faults).as_json()
        (folder / name).write_bytes(good[name])


def main() -> None:
    """Seed the corpus with the shipped files and run until told to stop."""
    corpus = Path(sys.argv[1])
    corpus.mkdir(exist_ok=True)
    for name, text in damaged(0, whole=True).items():
        (corpus / name.replace("/", "-")).write_bytes(text)
    with TemporaryDirectory() as name:
        (Path(name) / "hardware").mkdir()
        atheris.Setup(sys.argv, lambda data: read(Path(name), data))
        atheris.Fuzz()


if __name__ == "__main__":
    main()
