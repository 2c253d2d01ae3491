"""`words`: whether what is said in films is written down."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from review.actions.listening import erase_words, leave_words_out, listen, listening_of
from review.commands import common
from review.domain.wording import counted

WORDS_TEXT: Final = (
    "Tell or change whether what is said in films is written down when they are analysed. It is done on this machine "
    "and kept beside the tracks until the recording is erased. `off` leaves words out from now on; `erase` erases "
    "those that are there and leaves words out from now on."
)


def register(commands: common.Commands) -> None:
    """Add the command of this family."""
    wording = commands.add_parser("words", help="write down what is said, or not", description=WORDS_TEXT)
    wording.add_argument("what", nargs="?", choices=("on", "off", "erase"), help="nothing to tell how it is")
    wording.add_argument(
        "--voice-model", type=Path, metavar="FOLDER", help="with `on`: a Whisper model in CTranslate2's format"
    )
    common.add_home(wording)
    wording.set_defaults(run=run_words)


def run_words(args: argparse.Namespace) -> None:
    """Run `runthrough words`."""
    home = common.open_home(args)
    if args.what == "on":
        listen(home, args.voice_model)
    elif args.what is not None:
        leave_words_out(home)
    if args.what == "erase":
        count = erase_words(home)
        print(f"The words of {counted(count, 'recording')} were erased.")
    listening = listening_of(home)
    if not listening.on:
        print("Words are left out.")
        return
    model = f"the voice model in {listening.model}" if listening.model else "the installed voice model"
    print(f"What is said is written down with {model} when a film is analysed.")
