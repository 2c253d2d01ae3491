"""The states of the pages, and how each is come to: axe-core looks at all of them, and pictures are taken of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from tests.e2e.coded import open_film
from tests.screens import all_kept

PATIENCE_MS = 60_000


@dataclass(frozen=True, slots=True)
class Scene:
    """Where the states are to be found: an address, recordings by what they show, and steps of the first of them.

    Parameters
    ----------
    address, empty
        Of a home with recordings, and of one without any.
    film
        Id of an analysed recording of L-07's, with marks, grades and comments of others, one of them settled, and a
        phrase kept by L-07.
    later
        Id of a later attempt of L-07's at the same sheet, with no grade, in which
        several people were seen, and `covered` is marked and has an exemplar.
    running, stopped, lost
        Ids of recordings that are being analysed, whose analysis was stopped, and whose film is gone.
    shown, covered, plain
        Keys of a measured step that L-07 has graded, a measured one that is marked but not graded, and one of which
        nobody said anything.
    """

    address: str
    empty: str
    film: str
    later: str
    running: str
    stopped: str
    lost: str
    shown: str
    covered: str
    plain: str


STATES = {
    "covered": "A step that is marked but not graded yet: its values, its curves and what others said stay covered.",
    "uncover-asked": "*Uncover all* asks once more, because seeing everything before grading is done on purpose.",
    "uncovered": "A graded step: values with their intervals and what is expected, curves on the timeline.",
    "landmarks": "Landmarks over the picture, and what the step's measures rest on in this very frame.",
    "closer": "The picture from near, with a map of which part is seen, and the timeline closer on the step in hand.",
    "keys": "The list of all keys; every one of them is a button with a word as well.",
    "comment": "A comment is being written beside the picture, with one's own phrases.",
    "drawing-circle": "A circle is being drawn with a comment, by dragging or by keys.",
    "drawing-arrow": "An arrow is being drawn.",
    "answer": "An answer to a comment is being written.",
    "caption": "Comments stand over the picture at their seconds.",
    "comments": "All comments, with answers, drawings and what is settled.",
    "undone": "A grade is undone after the page was loaded anew.",
    "nothing-to-show": "A filter that lets no step through says so; the step in hand stays.",
    "exemplar": "An instructor's exemplar beside one's own film: both begin where the step begins.",
    "earlier-attempt": "One's own earlier attempt beside the film.",
    "nothing-beside": "There is nothing to show beside this step.",
    "who": "Several people are in the film: the examined one is pointed at.",
    "being-analysed": "A film that is being analysed, with how far it is and about how long it still takes.",
    "not-analysed": "A film whose analysis was stopped: it can be marked, graded and talked about all the same.",
    "fetching": "The film and the times of its frames are on their way.",
    "no-answer": "Runthrough does not answer: what is done is kept in this window.",
    "unknown-recording": "The address names a recording that is not known.",
    "film-gone": "The film's file is gone: what was said of it is still there.",
    "recordings": "The list of recordings, and the way in for films.",
    "filming-guide": "The filming guide: what to have in the picture for which steps.",
    "no-recordings": "The list before the first film has come.",
    "nothing-to-review": "The Review page before the first film has come.",
}
"""Every state, and what it shows in one sentence."""

Walk = Callable[[Any, Scene], Iterator[str]]
"""Goes from state to state in one page; gives the name of each when it is there."""


def take(page: Any, key: str) -> Any:
    """Take a step in hand; return its row."""
    row = page.locator(f'[data-testid="row"][data-key="{key}"]')
    row.locator(".row-title").click()
    page.locator(f'[data-testid="row"][data-key="{key}"].in-hand').wait_for()
    return row


def kept(page: Any) -> None:
    """Wait until everything that was done is acknowledged."""
    all_kept(page, PATIENCE_MS)


def reviewing(page: Any, scene: Scene) -> Iterator[str]:
    """Look at steps: covered, uncovered, with landmarks, from near, with the list of keys."""
    open_film(page, scene.address, scene.film)
    take(page, scene.covered)
    yield "covered"
    page.get_by_test_id("uncover-all").click()
    page.get_by_text("Sure? Uncover all").wait_for()
    yield "uncover-asked"
    take(page, scene.shown).get_by_test_id("spark").wait_for()
    page.keyboard.press("Enter")
    page.get_by_text("Fetching the curve").first.wait_for(state="hidden", timeout=PATIENCE_MS)
    yield "uncovered"
    page.keyboard.press("o")
    page.get_by_test_id("overlay-legend").locator("b").first.wait_for(timeout=PATIENCE_MS)
    yield "landmarks"
    page.keyboard.press("o")
    page.keyboard.press("+")
    page.keyboard.press("+")
    page.keyboard.press("z")
    yield "closer"
    page.keyboard.press("0")
    page.keyboard.press("z")
    page.keyboard.press("?")
    page.get_by_text("All keys").first.wait_for()
    yield "keys"
    page.keyboard.press("Escape")


def commenting(page: Any, scene: Scene) -> Iterator[str]:
    """Write, draw, answer and read comments; undo after the page was loaded anew."""
    open_film(page, scene.address, scene.film)
    row = take(page, scene.shown)
    page.keyboard.press("Enter")
    page.keyboard.press("c")
    page.get_by_test_id("phrase").first.wait_for()
    page.get_by_test_id("comment-box").fill("Hands ready before the feet come together.")
    yield "comment"
    for kind in ("circle", "arrow"):
        page.get_by_test_id(f"draw-{kind}").click()
        _draw(page)
        yield f"drawing-{kind}"
        page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    row.get_by_test_id("comment").first.get_by_role("button", name="Answer").click()
    page.get_by_test_id("comment-box").fill("Next time.")
    yield "answer"
    page.keyboard.press("Escape")
    page.keyboard.press("y")
    row.get_by_test_id("comment").first.locator(".time").click()
    page.get_by_test_id("comment-caption").wait_for()
    yield "caption"
    page.keyboard.press("y")
    page.get_by_role("tab", name="Comments").click()
    page.get_by_role("tabpanel", name="Comments").get_by_text("settled by").first.wait_for()
    yield "comments"
    page.get_by_role("tab", name="Steps").click()
    take(page, scene.plain)
    page.keyboard.press("1")
    kept(page)
    open_film(page, scene.address, scene.film)
    page.keyboard.press("u")
    page.get_by_test_id("message").get_by_text("Undone: your grade").wait_for()
    kept(page)
    yield "undone"


def _draw(page: Any) -> None:
    """Drag over the picture."""
    box = page.get_by_test_id("pad").bounding_box()
    x, y = box["x"] + 0.5 * box["width"], box["y"] + 0.3 * box["height"]
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 20)
    page.mouse.move(x + 40, y + 40)
    page.mouse.up()


def beside(page: Any, scene: Scene) -> Iterator[str]:
    """See a filter that lets nothing through; then an exemplar, an earlier attempt, and nothing beside the film."""
    open_film(page, scene.address, scene.later)
    page.get_by_test_id("filter").filter(has_text="Missed").click()
    page.get_by_text("No step was graded lowest.").wait_for()
    yield "nothing-to-show"
    page.get_by_test_id("filter").first.click()
    take(page, scene.covered)
    page.keyboard.press("x")
    choice = page.get_by_test_id("beside-choice")
    choice.get_by_text("Exemplar of").wait_for(state="attached", timeout=PATIENCE_MS)
    page.get_by_test_id("beside-said").get_by_text("Fetching").wait_for(state="hidden", timeout=PATIENCE_MS)
    yield "exemplar"
    choice.select_option(index=1)
    page.get_by_test_id("beside-said").get_by_text("Fetching").wait_for(state="hidden", timeout=PATIENCE_MS)
    yield "earlier-attempt"
    take(page, scene.plain)
    page.get_by_test_id("beside-said").get_by_text("No exemplar").wait_for()
    yield "nothing-beside"
    page.keyboard.press("x")


def asking(page: Any, scene: Scene) -> Iterator[str]:
    """Be asked who is examined."""
    open_film(page, scene.address, scene.later)
    page.keyboard.press("w")
    page.get_by_test_id("who-box").first.wait_for(timeout=PATIENCE_MS)
    yield "who"
    page.keyboard.press("Escape")


def waiting(page: Any, scene: Scene) -> Iterator[str]:
    """See a film that is being analysed, one that is not, one whose frames are being fetched, and one out of reach."""
    open_film(page, scene.address, scene.running)
    yield "being-analysed"
    open_film(page, scene.address, scene.stopped)
    yield "not-analysed"
    page.route("**/api/times/**", _leave_waiting)
    page.goto(f"{scene.address}/review?recording={scene.film}&as=L-07")
    page.get_by_test_id("message").get_by_text("Fetching").wait_for(timeout=PATIENCE_MS)
    yield "fetching"
    page.unroute("**/api/times/**")
    open_film(page, scene.address, scene.film)
    take(page, scene.plain)
    page.route("**/api/version/**", lambda route: route.abort())
    page.get_by_test_id("status").get_by_text("No answer").wait_for(timeout=PATIENCE_MS)
    yield "no-answer"
    page.unroute("**/api/version/**")


def _leave_waiting(route: Any) -> None:
    """Leave a request without an answer."""


def faulty(page: Any, scene: Scene) -> Iterator[str]:
    """Ask for a recording that is not known, and for one whose film is gone."""
    page.goto(f"{scene.address}/review?recording=nowhere&as=L-07")
    page.get_by_text("This recording is not here").first.wait_for(timeout=PATIENCE_MS)
    page.get_by_role("link", name="To the recordings").wait_for(timeout=PATIENCE_MS)
    yield "unknown-recording"
    page.goto(f"{scene.address}/review?recording={scene.lost}&as=L-07")
    page.get_by_test_id("message").get_by_text("is lost").wait_for(timeout=PATIENCE_MS)
    yield "film-gone"


def listed(page: Any, scene: Scene) -> Iterator[str]:
    """See the list of recordings, the filming guide, and both pages of a home without recordings."""
    page.goto(f"{scene.address}/?as=L-07")
    page.get_by_test_id("recording").first.wait_for(timeout=PATIENCE_MS)
    yield "recordings"
    page.goto(f"{scene.address}/filming?as=L-07")
    page.get_by_text("Whole body").first.wait_for(timeout=PATIENCE_MS)
    yield "filming-guide"
    page.goto(f"{scene.empty}/?as=L-07")
    page.get_by_text("No recordings yet").first.wait_for(timeout=PATIENCE_MS)
    yield "no-recordings"
    page.goto(f"{scene.empty}/review?as=L-07")
    page.get_by_text("No recording yet").first.wait_for(timeout=PATIENCE_MS)
    page.get_by_role("link", name="To the recordings").wait_for(timeout=PATIENCE_MS)
    yield "nothing-to-review"


WALKS: tuple[Walk, ...] = (reviewing, commenting, beside, asking, waiting, faulty, listed)
"""All walks; together they come to every state."""
