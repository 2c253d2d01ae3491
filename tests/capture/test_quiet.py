import os
import sys
import threading

import pytest

from review.capture.quiet import quiet_native

CHATTER = (
    b"W0000 00:00:1795572862.553606   30948 inference_runner.cc:1433] Input tensor memory is not aligned.\n"
    b"INFO: Created TensorFlow Lite XNNPACK delegate for CPU.\n"
    b"WARNING: [model_load.cc:402] Sparsity tensors may not yet be fully supported.\n"
    b"WARNING: All log messages before absl::InitializeLog() is called are written to STDERR\n"
)


def test_native_chatter_is_dropped_and_our_words_pass(capfd: pytest.CaptureFixture[str]) -> None:
    """Within the block native log lines vanish; a message of ours and a traceback come through."""
    with quiet_native():
        os.write(2, CHATTER)
        print("FilmRefused: the film ends early", file=sys.stderr, flush=True)
        os.write(2, CHATTER)
    os.write(2, b"INFO: after the block\n")
    assert capfd.readouterr().err == "FilmRefused: the film ends early\nINFO: after the block\n"


def test_lines_that_two_threads_wrote_into_each_other_vanish_too(capfd: pytest.CaptureFixture[str]) -> None:
    """A level twice, a place without its level and an empty line: what two models opening at once can leave."""
    with quiet_native():
        os.write(
            2, b"INFO: INFO: [environment.cc:36] Creating an environment\n[environment.cc:36] Creating another\n\n"
        )
        os.write(2, b"[1, 2, 3] is a list of ours\n")
    assert capfd.readouterr().err == "[1, 2, 3] is a list of ours\n"


def test_an_error_leaves_the_terminal_as_it_was(capfd: pytest.CaptureFixture[str]) -> None:
    """When the block fails the descriptor is put back and what was said is not lost."""

    def fails() -> None:
        with quiet_native():
            os.write(2, b"last words\n")
            raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        fails()
    os.write(2, b"next\n")
    assert capfd.readouterr().err == "last words\nnext\n"


def test_blocks_in_several_threads_end_in_any_order(capfd: pytest.CaptureFixture[str]) -> None:
    """Two blocks that overlap in two threads both keep quiet, and the last to end puts the descriptor back."""
    inside, leave = threading.Event(), threading.Event()

    def other() -> None:
        with quiet_native():
            inside.set()
            leave.wait(5)
            os.write(2, CHATTER)

    thread = threading.Thread(target=other)
    with quiet_native():
        thread.start()
        inside.wait(5)
    leave.set()
    thread.join()
    os.write(2, b"open again\n")
    assert capfd.readouterr().err == "open again\n"
