"""What a pack of four frames with 256 channels takes beside importing pydantic and rich, and how large its page is.

Processor seconds of whole processes, the least of nine, with compiled modules in place.
"""

from __future__ import annotations

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1]))

from measure_lookups import IMPORTS, seconds
from samples import write_four_frames


def main() -> None:
    """Print a line for the imports, one for the pack and one for its page."""
    with TemporaryDirectory() as name:
        scenario, build = write_four_frames(Path(name))
        target = Path(name) / "handover"
        imports = seconds("-c", IMPORTS)
        took = seconds("-m", "cli", "pack", str(scenario), str(build), "--to", str(target), "--force")
        print(f"imports  {imports:.3f} s")
        print(f"pack     {took:.3f} s  {took / imports:.1f} times the imports; the aim is 1.5 s")
        print(f"page     {(target / 'index.html').stat().st_size / 1000:.0f} kilobytes; the aim is 400")


if __name__ == "__main__":
    main()
