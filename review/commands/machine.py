"""`open`, `demo`, `doctor`: the pages in the browser, and what this machine needs for them."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections.abc import Callable
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any, Final

from review.actions import demo
from review.actions.class_demo import load_class
from review.actions.erasing import look_again
from review.actions.listening import listening_of
from review.actions.recordings import start_analysis
from review.actions.working import keep_working
from review.capture.models import find_models, missing_libraries
from review.commands import common
from review.commands.inbox import watch_beside
from review.commands.serving import server_checks
from review.domain.errors import InputError, RunthroughError
from review.domain.model import Role
from review.domain.wording import counted
from review.report.recordings import unfinished
from review.speech.model import find_voice_model
from review.store.home import Home, find_home
from review.store.leftovers import sweep
from review.store.repository import reading, repository
from review.store.vault import bucket_of

PORT: Final = 8610
_LEAST_FREE_BYTES: Final = 2 * 1024**3

DEMO_TEXT: Final = (
    "Load three short films of invented, rendered people with a made-up learner's, peer's and instructor's marks, "
    "grades and comments, and open the Review page. The demo has a home folder of its own, beside yours. With --class "
    "it is an invented class of sixty learners with six attempts each, whose films are copies of a small one (about "
    "150 MB, a minute or two; what is broken off is gone on with)."
)


def register(commands: common.Commands) -> None:
    """Add the commands of this family."""
    opening = commands.add_parser("open", help="open the pages in the browser")
    _page_options(opening, "127.0.0.1, unless --address says otherwise")
    opening.add_argument("--inbox", type=Path, metavar="FOLDER", help="add films that are put into this folder, too")
    opening.add_argument(
        "--as", dest="code", metavar="CODE", help="whose films --inbox adds (needed where people sign in)"
    )
    opening.add_argument("--course", metavar="ID", help="the course those films are for, if that person has several")
    opening.add_argument("--address", metavar="IP", help="where people sign in: listen there, such as on 0.0.0.0")
    opening.add_argument(
        "--name", action="append", default=[], metavar="HOST", help="host name under which others reach these pages"
    )
    opening.set_defaults(run=run_open, role=None, prefer=Role.LEARNER)
    showing = commands.add_parser("demo", help="look at invented people's attempts", description=DEMO_TEXT)
    _page_options(showing, "127.0.0.1 only")
    showing.add_argument("--class", dest="whole_class", action="store_true", help="a class of sixty invented learners")
    showing.set_defaults(run=run_demo)
    asking = commands.add_parser("doctor", help="tell what is missing on this machine")
    asking.add_argument("--models", type=Path, metavar="FOLDER", help="folder with the landmark model files")
    asking.add_argument("--server", action="store_true", help="look also at what a school's server needs")
    common.add_home(asking)
    asking.set_defaults(run=run_doctor)


def _page_options(parser: argparse.ArgumentParser, where: str) -> None:
    parser.add_argument("--port", type=int, default=PORT, help=f"port on this machine ({where})")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser window")
    common.add_home(parser)


def _screens() -> Callable[..., None]:
    """Return the function that serves the pages; the screens register themselves under an entry point."""
    for found in entry_points(group="runthrough.screens", name="dashboard"):
        screens: Callable[..., None] = found.load()
        return screens
    raise InputError("The pages are not installed on this machine. Install the whole package again: pip install .")


def run_open(args: argparse.Namespace) -> None:
    """Run `runthrough open`."""
    home = common.open_home(args)
    elsewhere = _elsewhere(home, args)
    if args.inbox is None and (args.code is not None or args.course is not None):
        raise InputError("--as or --course came without --inbox; they say whose films an inbox adds.")
    sweep(home)
    look_again(home)
    if args.inbox is not None:
        watch_beside(home, common.acting(home, args), args.inbox, args.course)
    keep_working(home)
    _screens()(home, args.port, not args.no_browser, **elsewhere)


def _elsewhere(home: Home, args: argparse.Namespace) -> dict[str, Any]:
    """Return where else the pages are to be reached; only a home to which people sign in may be."""
    if args.address is None and not args.name:
        return {}
    with reading(home) as repo:
        if not repo.courses().signing_in():
            raise InputError(
                "--address or --name came, and nobody needs to sign in to this home: whoever reached the pages could "
                "act as anybody. Start a course first (runthrough course start), or leave them out."
            )
    if args.address is not None:
        print("Put these pages behind https: without it passwords and films cross the network for all to read.")
    return {"address": args.address or "", "names": args.name}


def run_demo(args: argparse.Namespace) -> None:
    """Run `runthrough demo`."""
    if args.home is None:
        args.home = find_home(None).root / ("demo-class" if args.whole_class else "demo")
    home = common.open_home(args)
    if args.whole_class:
        run_class_demo(args, home)
        return
    with common.StageBar(quiet=False) as bar:
        learner, loaded = demo.load(home, progress=bar)
    for recording in unfinished(home, learner, loaded):
        start_analysis(home, learner, recording.id)
    keep_working(home)
    _screens()(home, args.port, not args.no_browser, start=f"/review?recording={loaded[0].id}")


def run_class_demo(args: argparse.Namespace, home: Home) -> None:
    """Run `runthrough demo --class`."""
    with common.StageBar(quiet=False) as bar:
        cast = load_class(home, bar)
        bar.say("Everybody in this class, and all that they say, is invented; the people in the films are rendered.")
    keep_working(home)
    _screens()(home, args.port, not args.no_browser, start=f"/class?as={cast.instructors[0].code}")


def run_doctor(args: argparse.Namespace) -> None:
    """Run `runthrough doctor`; raise with all that is missing."""
    checks: dict[str, Callable[[], str]] = {
        "Python": _python,
        "shared libraries": _libraries,
        "landmark models": lambda: _models(args.models),
        "voice model": lambda: _voice(args),
        "home folder": lambda: _home(args),
        "bucket": lambda: _bucket(args),
    }
    if args.server:
        checks |= server_checks(find_home(args.home))
    faults = []
    for name, check in checks.items():
        try:
            print(f"ok       {name}: {check()}")
        except RunthroughError as error:
            print(f"missing  {name}: {error}")
            faults.append(name)
    if faults:
        raise InputError(f"{len(faults)} of {len(checks)} checks failed: {', '.join(faults)}. See the lines above.")


def _python() -> str:
    return ".".join(str(part) for part in sys.version_info[:3])


def _libraries() -> str:
    missing = missing_libraries()
    if missing:
        raise InputError(
            f"{', '.join(missing)} cannot be loaded. On Debian or Ubuntu: "
            "apt-get install libegl1 libgles2 libgl1 libglib2.0-0"
        )
    return "all there"


def _models(folder: Path | None) -> str:
    models = find_models(folder)
    return f"as expected, in {models.pose.parent}"


def _voice(args: argparse.Namespace) -> str:
    listening = listening_of(find_home(args.home))
    if not listening.on:
        return "not needed, words are left out"
    return f"as expected, in {find_voice_model(Path(listening.model) if listening.model else None)}"


def _bucket(args: argparse.Namespace) -> str:
    bucket = bucket_of(find_home(args.home))
    return "not needed, films are kept in the home" if bucket is None else bucket.check()


def _home(args: argparse.Namespace) -> str:
    home = find_home(args.home)
    free = shutil.disk_usage(home.root).free
    if free < _LEAST_FREE_BYTES:
        raise InputError(f"only {free / 1024**3:.1f} GiB are free at {home.root}; make room for films (2 GiB or more).")
    with repository(home) as repo:
        count = len(repo.recordings())
    return f"{home.root}, {counted(count, 'recording')}, {free / 1024**3:.0f} GiB free"
