"""``paddock completion``: a script for a shell, and what that script asks at each tab.

The scripts hold no verb and no option: they hand the line over, each word behind a ``=`` so that none is taken for an
option here, and offer what comes back. A line ``:files`` or ``:folders`` asks the shell for paths of its own.
"""

from __future__ import annotations

import csv
import io
import re
from argparse import Action, ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path

from paddock.commands.common import Answer
from paddock.errors import PaddockError, UsageError

HELP = "Print a completion script for your shell: verbs, options, paths, car numbers, classes, days, changes."
EXAMPLES = (
    "paddock completion bash > ~/.local/share/bash-completion/completions/paddock",
    "paddock completion zsh > ~/.zfunc/_paddock",
    "paddock completion fish > ~/.config/fish/completions/paddock.fish",
    "paddock completion powershell > paddock-completion.ps1",
)
FILES, FOLDERS = ":files", ":folders"

SCRIPTS = {
    "bash": """\
_paddock() {
  local IFS=$'\\n' cur=${COMP_WORDS[COMP_CWORD]} line
  local -a words=("${COMP_WORDS[@]:1:COMP_CWORD}")
  COMPREPLY=()
  while read -r line; do
    case $line in
      :files) compopt -o filenames 2>/dev/null; COMPREPLY+=($(compgen -f -- "$cur")) ;;
      :folders) compopt -o filenames 2>/dev/null; COMPREPLY+=($(compgen -d -- "$cur")) ;;
      ?*) COMPREPLY+=("$line") ;;
    esac
  done < <("$1" completion words "${words[@]/#/=}" 2>/dev/null)
}
complete -o default -F _paddock paddock
""",
    "zsh": """\
#compdef paddock
_paddock() {
  local line
  local -a found
  for line in ${(f)"$($words[1] completion words "=${(@)^words[2,CURRENT]}" 2>/dev/null)"}; do
    case $line in
      :files) _files ;;
      :folders) _files -/ ;;
      ?*) found+=("$line") ;;
    esac
  done
  (( $#found )) && compadd -a found
}
if [[ $funcstack[1] == _paddock ]]; then _paddock "$@"; else compdef _paddock paddock; fi
""",
    "fish": """\
function __paddock_words
    set -l now (commandline -ct)
    set -l words (commandline -opc)
    set -l program $words[1]
    set -e words[1]
    for line in ($program completion words "="$words "=$now" 2>/dev/null)
        switch $line
            case :files
                __fish_complete_path "$now"
            case :folders
                __fish_complete_directories "$now" ''
            case '?*'
                echo $line
        end
    end
end
complete -c paddock -f -a '(__paddock_words)'
""",
    "powershell": """\
Register-ArgumentCompleter -Native -CommandName paddock -ScriptBlock {
    param($now, $ast, $place)
    $words = @($ast.CommandElements | Select-Object -Skip 1 |
        Where-Object { $_.Extent.EndOffset -lt $place } | ForEach-Object { "=$($_.Extent.Text)" }) + "=$now"
    $head = if ($now -match '^(.*[\\\\/])') { $Matches[1] } else { '' }
    & $ast.CommandElements[0].Value completion words @words 2>$null | ForEach-Object {
        if ($_ -eq ':files') { Get-ChildItem -Name "$now*" | ForEach-Object { "$head$_" } }
        elseif ($_ -eq ':folders') { Get-ChildItem -Name -Directory "$now*" | ForEach-Object { "$head$_" } }
        else { $_ }
    } | Where-Object { $_ } | ForEach-Object { [System.Management.Automation.CompletionResult]::new($_) }
}
""",
}


def configure(parser: ArgumentParser) -> None:
    """Which shell, or the words of a line."""
    parser.add_argument("shell", choices=(*SCRIPTS, "words"), help="a shell; words: what its script asks at each tab")
    parser.add_argument("line", nargs="*", metavar="=WORD", help="with words: the words after paddock, the last begun")


def run(args: Namespace) -> Answer:
    """The script, or the candidates a line of each."""
    if args.shell == "words":
        found = list(candidates([word.removeprefix("=") for word in args.line]))
        return Answer({"shell": None, "script": None, "words": found}, lambda: "\n".join(found), exact=True)
    if args.line:
        raise UsageError("words to complete go with: paddock completion words")
    script = SCRIPTS[args.shell].rstrip("\n")
    return Answer({"shell": args.shell, "script": script, "words": []}, lambda: script, exact=True)


def candidates(words: Sequence[str]) -> Iterator[str]:
    """What may stand where the last word has begun; ``FILES`` or ``FOLDERS``: the shell's own paths."""
    from paddock.commands.verbs import VERBS

    *before, begun = words or [""]
    if not before:
        yield from (verb for verb in VERBS if verb.startswith(begun))
        yield FOLDERS
    elif before[0] in VERBS:
        offered = _after_verb(before[0], before[1:], begun)
        yield from (item for item in offered if item.startswith((":", begun)))


def _after_verb(verb: str, before: Sequence[str], begun: str) -> Iterator[str]:
    from paddock.commands.ask import parser_of

    actions = parser_of(verb)._actions
    flags = {flag: action for action in actions for flag in action.option_strings}
    places = [action for action in actions if not action.option_strings]
    given: list[str] = []
    wanting: Action | None = None
    in_use = ""
    for word in before:
        if wanting is not None:
            in_use, wanting = (word if wanting.dest == "folder" else in_use), None
        elif word in flags:
            wanting = flags[word] if flags[word].nargs != 0 else None
        elif not word.startswith("-"):
            given.append(word)
    folder = next((Path(word) for word in (in_use, *given) if word and (Path(word) / "event.toml").is_file()), Path())
    if wanting is not None:
        yield from _values(wanting, folder)
    elif before[-1:] == ["--log"]:
        yield FILES
    elif begun.startswith("-"):
        yield from (*flags, "--log")
    elif places:
        yield from _values(places[min(len(given), len(places) - 1)], folder)
        yield from (() if begun else (flag for flag in flags if flag.startswith("--")))


def _values(action: Action, folder: Path) -> Iterator[str]:
    """What an option or a place takes."""
    if action.choices is not None:
        yield from map(str, action.choices)
    elif action.dest in {"number", "only", "change", "day", "run"}:
        yield from dict.fromkeys(_of_folder(action.dest, folder))
    elif action.metavar in {"FOLDER", "DIR", "OLD", "A", "B", "C"}:
        yield FOLDERS
    elif action.type is Path or action.dest == "source":
        yield FILES


def _of_folder(what: str, folder: Path) -> Iterator[str]:
    """Car numbers, tables, ids of changes, days, runs as the event's files have them; none where they can't be read."""
    if what == "number":
        yield from _column(folder, "entrants.csv", "number")
    elif what == "only":
        yield from (*_column(folder, "entrants.csv", "class"), "index", "raw")
    elif what == "change":
        yield from _column(folder, "changes.csv", "id")
    else:
        yield from sorted(set(_column(folder, "times.csv", what)), key=lambda text: (len(text), text))


def _column(folder: Path, file: str, name: str) -> Iterator[str]:
    """The cells of a column that are no blanks and hold in one word of a shell's line."""
    from paddock.store import disk
    from paddock.store.disk import inside

    try:
        text = (disk.read(inside(folder, file), 8_000_000) or b"").decode("utf-8-sig")
    except (OSError, ValueError, PaddockError):
        return
    lines = io.StringIO(text, newline="")
    head = next((line for line in lines if line.strip()), "")
    sign = max(",;\t", key=head.count)
    names = [cell.strip().lower() for cell in next(csv.reader([head], delimiter=sign), [])]
    if name not in names:
        return
    at = names.index(name)
    try:
        for row in csv.reader(lines, delimiter=sign, skipinitialspace=True):
            if at < len(row) and re.fullmatch(r"[\w.+-]+", row[at].strip()):
                yield row[at].strip()
    except csv.Error:
        return
