"""The entry point of ``python -m cli`` and of the console script.

Everything is imported inside the guarded part, so that an interrupt is an interrupt from the first moment on.
"""

import gc
import os
import sys
from contextlib import suppress
from typing import NoReturn


def main() -> None:
    """Run the command that the arguments name, and end the process with the code that `cli.main.run` gives."""
    code = 130
    gc.disable()  # nearly all objects stay to the end; a search, which lasts, collects garbage
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # looking for them takes longer than reading a file
    try:
        from cli.stop import stop

        stop.watch()
        from cli.streams import guard

        guard()
        from cli.main import run

        code = run()
        stop.ignore()
    except KeyboardInterrupt:
        pass
    except Exception:  # without this, an import that fails would end in 1, which means impossible
        import traceback

        traceback.print_exc()
        code = 4
    _leave(code)


def _leave(code: int) -> NoReturn:
    """End the process at once: taking apart what a search has loaded takes longer than many a search."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):  # a stream may be closed, or None
            stream.flush()
    os._exit(code)


if __name__ == "__main__":
    main()
