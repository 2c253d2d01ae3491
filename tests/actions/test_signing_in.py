"""Accounts: invitations, passwords, delays after wrong ones, logins that end."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from argon2.profiles import PRE_21_2

from review.actions import courses, inviting, signing_in
from review.actions.people import ensure
from review.domain.course import CourseRole, Membership
from review.domain.errors import EntryRefused, NotAllowed, NotFound
from review.domain.model import Person, Role
from review.identity import password as passwords
from review.identity.secret import digest
from review.store.home import Home, find_home
from review.store.repository import reading, repository
from tests.forms import held
from tests.quick import quick_passwords

GOOD = "lantern tide marble owl"
OTHER = "copper gate seven plums"
NOW = datetime(2026, 3, 9, 18, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have passwords hashed with little memory; `tests.identity` looks at the real parameters."""
    quick_passwords(monkeypatch)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    """Make a home in which people sign in: I-01 owns the course, L-07 learns in it and has the password `GOOD`."""
    place = find_home(tmp_path / "home")
    with repository(place) as repo:
        courses.start(repo, "balance", "Balance and senses lab", "I-01")
        secret = inviting.invite(repo, repo.person("I-01"), "balance", "L-07", CourseRole.LEARNER, "Tuesday", NOW)
    inviting.take_with_password(place, secret, GOOD, NOW)
    return place


def who(home: Home, secret: str, at: datetime) -> str | None:
    """Return the code of whom a login belongs to at a moment."""
    found = signing_in.signed_in(home, secret, at)
    return found[0].code if found else None


def learner(home: Home, code: str = "L-07") -> Person:
    """Return a person."""
    with reading(home) as repo:
        return repo.person(code)


def test_code_and_password_open_a_login(home: Home) -> None:
    """Small letters in the code count as capitals; the login tells the person with what it is in the course."""
    secret = signing_in.sign_in(home, " l-07 ", GOOD, NOW)
    found = signing_in.signed_in(home, secret, NOW)
    assert found is not None
    assert (found[0].code, found[0].courses) == ("L-07", {"balance": CourseRole.LEARNER})


@pytest.mark.parametrize(("code", "password"), [("L-07", OTHER), ("L-99", GOOD), ("I-01", GOOD), ("", "")], ids=str)
def test_who_does_not_get_in_is_told_the_same(home: Home, code: str, password: str) -> None:
    """A wrong password, an unknown code, a person without an account and nothing at all get one answer."""
    with pytest.raises(NotAllowed) as refusal:
        signing_in.sign_in(home, code, password, NOW)
    assert str(refusal.value) == signing_in.REFUSED


@pytest.mark.parametrize("code", ["L-07", "L-99"], ids=["known", "unknown"])
def test_the_same_work_is_done_for_everybody(home: Home, code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """One hash is computed and one line of the trail is written, whether there is an account or not."""
    hashed: list[str | None] = []
    real = passwords.fits
    monkeypatch.setattr(passwords, "fits", lambda text, known: hashed.append(known) or real(text, known))
    with pytest.raises(NotAllowed):
        signing_in.sign_in(home, code, OTHER, NOW)
    assert [known is not None for known in hashed] == [code == "L-07"]
    with reading(home) as repo:
        lines = repo.looks().by(learner(home).id)
    assert [(line.deed, line.allowed) for line in lines if line.what == "password"] == [(signing_in.SIGN_IN, False)] * (
        code == "L-07"
    )


def test_wrong_passwords_make_the_account_wait_longer_each_time(home: Home) -> None:
    """After five wrong ones the right one is refused too, for half a minute; after the next wrong one for a minute."""
    for _ in range(signing_in.FREE_TRIES):
        with pytest.raises(NotAllowed):
            signing_in.sign_in(home, "L-07", OTHER, NOW)
    with pytest.raises(NotAllowed):
        signing_in.sign_in(home, "L-07", GOOD, NOW + timedelta(seconds=29))
    with pytest.raises(NotAllowed):
        signing_in.sign_in(home, "L-07", OTHER, NOW + timedelta(seconds=31))
    with pytest.raises(NotAllowed):
        signing_in.sign_in(home, "L-07", GOOD, NOW + timedelta(seconds=90))
    assert signing_in.sign_in(home, "L-07", GOOD, NOW + timedelta(seconds=92))
    with reading(home) as repo:
        account = repo.accounts().of(learner(home).id)
    assert account is not None
    assert (account.failures, account.locked_until) == (0, None)


def test_after_a_hundred_in_a_row_only_a_new_invitation_helps(home: Home) -> None:
    """The right password is refused for ever; the owner's new link sets another, and ends what was signed in."""
    kept = signing_in.sign_in(home, "L-07", GOOD, NOW)
    with repository(home) as repo:
        account = repo.accounts().of(learner(home).id)
        assert account is not None
        repo.accounts().put(replace(account, failures=signing_in.MOST_TRIES))
    later = NOW + timedelta(days=3)
    with pytest.raises(NotAllowed):
        signing_in.sign_in(home, "L-07", GOOD, later)
    with repository(home) as repo:
        link = inviting.renew(repo, repo.person("I-01"), "balance", repo.person("L-07"), later)
    new = inviting.take_with_password(home, link, OTHER, later)
    assert who(home, new, later) == "L-07"
    assert who(home, kept, NOW) is None
    assert signing_in.sign_in(home, "L-07", OTHER, later)


def test_a_password_kept_with_other_parameters_is_kept_anew(home: Home) -> None:
    """After the next sign-in it has the parameters of today, and still opens the account."""
    with repository(home) as repo:
        account = repo.accounts().of(learner(home).id)
        assert account is not None
        weak = PasswordHasher.from_parameters(PRE_21_2).hash(GOOD)
        repo.accounts().put(replace(account, password=weak))
    signing_in.sign_in(home, "L-07", GOOD, NOW)
    with reading(home) as repo:
        account = repo.accounts().of(learner(home).id)
    assert account is not None
    assert account.password is not None
    assert not passwords.outdated(account.password)
    assert signing_in.sign_in(home, "L-07", GOOD, NOW)


def test_a_login_ends_when_idle_when_old_and_on_signing_out(home: Home) -> None:
    """An hour unused, a day after it was made, or at once; what is no secret is nobody's."""
    secret = signing_in.sign_in(home, "L-07", GOOD, NOW)
    assert who(home, secret, NOW + signing_in.IDLE) is None
    moment = NOW
    while moment + timedelta(minutes=50) < NOW + signing_in.LONGEST:
        moment += timedelta(minutes=50)
        assert who(home, secret, moment) == "L-07"
    assert who(home, secret, NOW + signing_in.LONGEST) is None
    assert [who(home, text, NOW) for text in ("", "x", secret[:-1], secret[::-1])] == [None] * 4
    again = signing_in.sign_in(home, "L-07", GOOD, NOW)
    signing_in.sign_out(home, again)
    assert who(home, again, NOW) is None


def test_changing_the_password_needs_the_old_one_and_ends_other_logins(home: Home) -> None:
    """With a wrong old one nothing changes; with the right one this login stays and the others end."""
    here, elsewhere = (signing_in.sign_in(home, "L-07", GOOD, NOW) for _ in range(2))
    with pytest.raises(NotAllowed, match="so far is another"):
        signing_in.change_password(home, learner(home), OTHER, OTHER, here, NOW)
    with pytest.raises(EntryRefused, match="holds the code"):
        signing_in.change_password(home, learner(home), GOOD, "the code is L07 now", here, NOW)
    signing_in.change_password(home, learner(home), GOOD, OTHER, here, NOW)
    assert [who(home, secret, NOW) for secret in (here, elsewhere)] == ["L-07", None]
    assert signing_in.sign_in(home, "L-07", OTHER, NOW)


def test_wrong_old_passwords_count_like_wrong_ones_at_the_door(home: Home) -> None:
    """Who finds an open page cannot try passwords there without end."""
    here = signing_in.sign_in(home, "L-07", GOOD, NOW)
    for _ in range(signing_in.FREE_TRIES):
        with pytest.raises(NotAllowed):
            signing_in.change_password(home, learner(home), "not the one so far", OTHER, here, NOW)
    with pytest.raises(NotAllowed):
        signing_in.change_password(home, learner(home), GOOD, OTHER, here, NOW)


def test_a_person_ends_logins_of_its_own_only(home: Home) -> None:
    """Another's login, or one that ended, is not found."""
    mine = signing_in.sign_in(home, "L-07", GOOD, NOW)
    with pytest.raises(NotFound, match="not yours"):
        signing_in.end_login(home, learner(home, "I-01"), str(digest(mine)))
    signing_in.end_login(home, learner(home), str(digest(mine)))
    assert who(home, mine, NOW) is None


def test_an_invitation_is_taken_once_in_time_and_only_the_newest(home: Home) -> None:
    """Taken, too late, replaced, unknown: all are told the same; the password is looked at before it is used up."""
    with repository(home) as repo:
        owner = repo.person("I-01")
        old = inviting.invite(repo, owner, "balance", "L-08", CourseRole.LEARNER, now=NOW)
        new = inviting.invite(repo, owner, "balance", "L-08", CourseRole.LEARNER, now=NOW)
    assert inviting.offered(home, new, NOW).code == "L-08"
    for secret, at in ((old, NOW), (new, NOW + inviting.LASTING), ("A" * 43, NOW), ("", NOW)):
        with pytest.raises(NotFound, match="cannot be taken"):
            inviting.take_with_password(home, secret, GOOD, at)
    with pytest.raises(EntryRefused):
        inviting.take_with_password(home, new, "short", NOW)
    assert who(home, inviting.take_with_password(home, new, OTHER, NOW), NOW) == "L-08"
    with pytest.raises(NotFound):
        inviting.take_with_password(home, new, GOOD, NOW)


def test_no_secret_is_in_the_database(home: Home) -> None:
    """Neither the password, nor the secret of a login or an invitation, is in any file of the home or its database."""
    login = signing_in.sign_in(home, "L-07", GOOD, NOW)
    with repository(home) as repo:
        link = inviting.invite(repo, repo.person("I-01"), "balance", "L-09", CourseRole.LEARNER)
    content = held(home) + b"".join(path.read_bytes() for path in home.root.rglob("*") if path.is_file())
    assert str(digest(login)).encode() in content
    assert [text for text in (GOOD, login, link) if text.encode() in content] == []


def test_only_an_owner_invites_and_only_to_the_own_course(home: Home) -> None:
    """A learner is refused; a code that belongs to another's course is out of reach, since a link sets its password."""
    with repository(home) as repo:
        with pytest.raises(NotAllowed, match="may not invite"):
            inviting.invite(repo, repo.person("L-07"), "balance", "L-10", CourseRole.LEARNER)
        with pytest.raises(NotAllowed):
            inviting.invite(repo, repo.person("I-01"), "elsewhere", "L-10", CourseRole.LEARNER)
        repo.courses().put(replace(repo.courses().get("balance"), id="evening"))
        ensure(repo, "I-05", Role.INSTRUCTOR)
        repo.courses().put_member(Membership("evening", repo.person("I-05").id, CourseRole.OWNER))
        inviting.invite(repo, repo.person("I-05"), "evening", "L-20", CourseRole.LEARNER)
        with pytest.raises(EntryRefused, match="does not own"):
            inviting.invite(repo, repo.person("I-01"), "balance", "L-20", CourseRole.LEARNER)
        with pytest.raises(EntryRefused, match="known as learner"):
            inviting.invite(repo, repo.person("I-01"), "balance", "L-07", CourseRole.INSTRUCTOR)


def test_who_is_removed_is_signed_out_and_cannot_take_an_invitation(home: Home) -> None:
    """Logins end, invitations are void, and nothing of the course is left to the person."""
    login = signing_in.sign_in(home, "L-07", GOOD, NOW)
    with repository(home) as repo:
        owner = repo.person("I-01")
        link = inviting.renew(repo, owner, "balance", repo.person("L-07"), NOW)
        courses.remove_member(repo, owner, "balance", "L-07")
    assert who(home, login, NOW) is None
    assert learner(home).courses == {}
    with pytest.raises(NotFound):
        inviting.take_with_password(home, link, OTHER, NOW)
