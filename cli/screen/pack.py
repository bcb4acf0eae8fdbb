"""The screen of `pack`: what was written, and of what."""

from __future__ import annotations

from pathlib import Path

from rich.text import Text

from cli.screen.page import grid, indented, page, show_faulty
from solver.reports.pack import Manifest
from solver.reports.wording import kilohertz


def show_packed(manifest: Manifest, folder: Path) -> None:
    """Print what the folder has; or that nothing was written, since the build is faulty."""
    with page() as out:
        room = f", {manifest.room}" if manifest.room else ""
        title = f"{manifest.scenario}{room}, {kilohertz(manifest.sample_rate)}"
        show_faulty(out, title, manifest.faults, "Do not build or wire this before it is put right.")
        if not manifest.files:
            out.print(Text("Nothing is written. With --anyway it is, with FAULTY on every sheet."))
            return
        out.print(Text(f"Packed: {title}", "bold"))
        out.print(Text(f"{folder} has"))
        table = grid("file", "what it is")
        for file in manifest.files:
            table.add_row(file.name, file.what)
        out.print(indented(table))
        out.print(Text(f"Revision {manifest.revision}, {manifest.made_on}: destroy older sheets."))
