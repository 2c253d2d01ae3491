"""Starting a course and inviting people, from the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from review.__main__ import main
from review.actions import inviting
from review.store.home import Home
from tests.films import even_times, make_film


def test_a_course_is_started_and_people_invited(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The owner's link and those of a table are printed once; with a fault in one of them nobody is invited."""
    home = ["--home", str(tmp_path / "home")]
    assert main(["course", "invite", "L-07", *home]) == 2
    assert "no course in this home yet" in capsys.readouterr().err
    assert main(["course", "start", "balance", "Balance lab", "--owner", "i-01", *home]) == 0
    assert re.search(r"^I-01  /invitation/[\w-]{43}$", capsys.readouterr().out, re.M)
    table = tmp_path / "people.csv"
    table.write_text("code,role,group\nL-07,learner,Tuesday\nI-02,instructor,\nL-09,,Friday\n", "utf-8")
    assert main(["course", "invite", "--csv", str(table), *home]) == 0
    links = re.findall(r"^(\S+) +/invitation/([\w-]{43})$", capsys.readouterr().out, re.M)
    assert [code for code, _ in links] == ["L-07", "I-02", "L-09"]
    offered = inviting.offered(Home(tmp_path / "home"), links[2][1])
    assert (offered.code, str(offered.role), offered.group) == ("L-09", "learner", "Friday")
    table.write_text("code,role\nL-10,learner\nL-11,teacher\n", "utf-8")
    assert main(["course", "invite", "--csv", str(table), *home]) == 2
    assert "No role is called 'teacher'" in capsys.readouterr().err
    assert main(["course", "people", "--json", *home]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["code"] for one in told["people"]] == ["I-01", "I-02", "L-09", "L-07"]
    assert main(["course", "people", *home]) == 0
    assert "L-07  learner     Tuesday  not yet" in capsys.readouterr().out


def test_the_course_is_changed_by_its_owner_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What is not named stays; who is named to act is held to the same policy."""
    home = ["--home", str(tmp_path / "home")]
    main(["course", "start", "balance", "Balance lab", "--owner", "I-01", *home])
    main(["course", "invite", "L-07", *home])
    capsys.readouterr()
    assert main(["course", "set", "--retention-days", "90", "--second-share", "0.2", *home]) == 0
    assert capsys.readouterr().out == (
        "Balance lab (balance): recordings 90 days; second raters for 20% of attempts.\n"
    )
    assert main(["course", "set", "--retention-days", "never", *home]) == 0
    assert "kept until somebody erases them; second raters for 20%" in capsys.readouterr().out
    assert main(["course", "set", "--retention-days", "soon", *home]) == 2
    assert main(["course", "set", "--title", "Mine", "--as", "L-07", *home]) == 2
    assert "L-07 (learner) may not invite people to this course" in capsys.readouterr().err


def test_a_course_is_limited_by_its_owner_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a number use and limit are told; `none` takes the limit off; what is no number changes nothing."""
    home = ["--home", str(tmp_path / "home")]
    main(["course", "start", "balance", "Balance lab", "--owner", "I-01", *home])
    main(["course", "invite", "L-07", *home])
    capsys.readouterr()
    for given, words in (
        ([], "0.0 GB used; no limit is set."),
        (["50"], "0.0 of 50 GB used."),
        ([], "0.0 of 50 GB used."),
        (["none"], "0.0 GB used; no limit is set."),
        (["0.5"], "0.0 of 0.5 GB used."),
    ):
        assert main(["course", "quota", "balance", *given, *home]) == 0
        assert capsys.readouterr().out == f"Balance lab (balance): {words}\n"
    for odd, fault in (("much", "'much' came as a limit"), ("0", "A limit of 0 GB came"), ("nan", "nan GB came")):
        assert main(["course", "quota", "balance", odd, *home]) == 2
        assert fault in capsys.readouterr().err
    assert main(["course", "quota", "evening", "50", *home]) == 2
    assert "No course is called 'evening'" in capsys.readouterr().err
    for given in ([], ["60"]):
        assert main(["course", "quota", "balance", *given, "--as", "L-07", *home]) == 2
        assert "L-07 (learner) may not invite people to this course, or change it" in capsys.readouterr().err
    assert main(["course", "quota", "balance", "--json", *home]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["course"], told["used_bytes"], told["quota_bytes"]) == ("balance", 0, 500_000_000)


def test_a_film_above_the_limit_of_its_course_is_not_added(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`add` says what the film needs, what is left and what to do; once the limit is raised the film comes."""
    home = ["--home", str(tmp_path / "home")]
    film = make_film(tmp_path / "attempt.mp4", even_times(60))
    main(["course", "start", "balance", "Balance lab", "--owner", "I-01", *home])
    main(["course", "quota", "balance", "0.001", *home])
    capsys.readouterr()
    assert main(["add", str(film), "--as", "I-01", *home]) == 2
    told = capsys.readouterr().err
    assert re.search(
        r"attempt\.mp4 needs 2\.\d MB, and 1\.0 MB are left of the 0\.001 GB for the films of Balance", told
    )
    assert "erase films that are no longer needed, then add it again. Nothing was written." in told
    assert list((tmp_path / "home" / "media").rglob("original*")) == []
    main(["course", "quota", "balance", "1", *home])
    assert main(["add", str(film), "--as", "I-01", *home]) == 0


def test_commands_say_who_acts_where_people_sign_in(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody is taken for granted, nobody new is made known, and the policy is the same as on the pages."""
    home = ["--home", str(tmp_path / "home")]
    main(["course", "start", "balance", "Balance lab", "--owner", "I-01", *home])
    capsys.readouterr()
    assert main(["recordings", *home]) == 2
    assert "Say with --as CODE who acts" in capsys.readouterr().err
    assert main(["recordings", "--as", "L-44", *home]) == 2
    assert "No person is called 'L-44'" in capsys.readouterr().err
    assert main(["recordings", "--as", "I-01", *home]) == 0
