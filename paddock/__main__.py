"""The doorway: arguments in, an answer or one line of error out, and the exit code."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from paddock.errors import FolderError, PaddockError, UsageError, missing

INTERNAL = 70
"""Exit code of a fault in the program itself."""
RARELY = (400_000, 20, 20)
"""How many objects more before the collector looks for dropped ones, while the program starts or answers a command."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the program; returns the exit code (the console script hands it to the system)."""
    code = _run(list(sys.argv[1:] if argv is None else argv))
    if "paddock.log" in sys.modules:
        sys.modules["paddock.log"].end(code)
    return code


def program() -> NoReturn:
    """The program as it is started, a process of its own: run it, then end the process.

    The collector hardly finds a dropped object in what a start makes, and looking took a tenth of an answer's time.
    """
    gc.set_threshold(*RARELY)
    _leave(main())


def _leave(code: int) -> NoReturn:
    """End at once where nothing runs any more: taking every object apart first took a sixth of an answer's time."""
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except (OSError, ValueError):
        sys.exit(code)
    alone = "multiprocessing" not in sys.modules and ("threading" not in sys.modules or _one_thread())
    if alone and sys.getprofile() is None and sys.gettrace() is None:
        os._exit(code)
    sys.exit(code)


def _one_thread() -> bool:
    import threading

    return threading.active_count() == 1


def _run(arguments: list[str]) -> int:
    try:
        if any(word == "--log" or word.startswith("--log=") for word in arguments):
            from paddock.log import asked

            arguments = asked(arguments)
        return _dispatch(arguments)
    except PaddockError as error:
        return _fail(str(error), error.exit_code)
    except ModuleNotFoundError as error:
        wanted = missing(error)
        return _crashed(error) if wanted is None else _fail(str(wanted), wanted.exit_code)
    except KeyboardInterrupt:
        return _fail("stopped", 130)
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        return _fail(f"{where}{(error.strerror or str(error)).lower()}", FolderError.exit_code)
    except Exception as error:
        return _crashed(error)


def _crashed(error: Exception) -> int:
    from paddock.store.machine import note

    return _fail(f"a fault in the program itself, not in your files ({type(error).__name__}); {note(error)}", INTERNAL)


def _fail(message: str, code: int) -> int:
    from paddock.clean import clean
    from paddock.log import note

    note(message)
    line = clean(" ".join(message.split()))
    print(f"paddock: {line}", file=sys.stderr)
    return code


def _dispatch(arguments: list[str]) -> int:
    if arguments and arguments[0] in {"-h", "--help", "help"}:
        from paddock.commands.ask import overview

        print(overview(), end="")
        return 0
    if arguments and arguments[0] in {"-V", "--version"}:
        arguments = ["version", *arguments[1:]]
    from paddock.commands.verbs import VERBS

    wants_json = "--json" in arguments
    words = [word for word in arguments if word != "--json"]
    if words and words[0] in VERBS:
        return _answer(words[0], words[1:], wants_json)
    if wants_json:
        raise UsageError("--json goes with a verb (see: paddock --help)")
    return _screens(words)


def _answer(verb: str, words: list[str], wants_json: bool) -> int:
    from paddock.commands.ask import as_json, ask

    try:
        answer = ask(verb, [*words, *(["--json"] if wants_json else [])])
    except SystemExit as leaving:  # --help has printed itself
        return int(leaving.code or 0)
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(errors="replace")
    text = as_json(verb, answer) if wants_json else answer.text()
    if text and not (wants_json or answer.exact):
        from paddock.clean import clean_lines
        from paddock.render.lines import fitted

        text = fitted(clean_lines(text))
    if text:
        print(text, flush=True)
    return int(answer.exit_code)


def _screens(words: list[str]) -> int:
    flags = [word for word in words if word.startswith("-")]
    if flags or len(words) > 1:
        strange = flags if words[0].startswith("-") or os.path.isdir(words[0]) else words
        raise UsageError(f"{(strange or words)[0]!r} is no verb and no folder (see: paddock --help)")
    folder = Path(words[0]) if words else None
    if folder is not None and not os.path.isdir(folder):
        raise UsageError(f"{words[0]!r} is no verb and no folder (see: paddock --help)")
    drawn_elsewhere = "TEXTUAL_DRIVER" in os.environ  # a server shows them
    if not drawn_elsewhere and not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise UsageError("there is no terminal here to show the screens on (paddock --help lists what answers without)")
    from paddock.tui.app import run

    return run(folder)


if __name__ == "__main__":
    program()
