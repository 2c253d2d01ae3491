"""The school's OpenID Connect, with a provider of our own: real keys, real HTTP, and everything that can be wrong."""

from __future__ import annotations

import base64
import hashlib
import json
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from joserfc import jwt
from joserfc.jwk import OctKey, RSAKey

from review.actions import inviting, signing_in
from review.domain.course import CourseRole
from review.identity import openid
from review.store.repository import reading, repository
from tests.access.asking import ask
from tests.access.school import COURSE, School, build
from tests.answers import Told

CLIENT = "runthrough"
SECRET = "the client's secret"


@dataclass
class Provider:
    """What the school's server does; a test changes it to do wrong."""

    issuer: str = ""
    key: RSAKey = field(default_factory=lambda: RSAKey.generate_key(2048, {"kid": "one", "use": "sig"}))
    signer: Any = None
    header: dict[str, Any] = field(default_factory=lambda: {"alg": "RS256", "kid": "one"})
    claims: dict[str, Any] = field(default_factory=dict)
    discovered: dict[str, Any] = field(default_factory=dict)
    asked: dict[str, str] = field(default_factory=dict)
    sent: dict[str, str] = field(default_factory=dict)

    def token(self) -> str:
        """Return the ID token for what was asked, with what the test changed."""
        now = int(time.time())
        usual = {
            "iss": self.issuer,
            "aud": CLIENT,
            "sub": "subject-7",
            "iat": now,
            "exp": now + 300,
            "nonce": self.asked["nonce"],
        }
        claims = {name: value for name, value in {**usual, **self.claims}.items() if value is not None}
        return str(jwt.encode(self.header, claims, self.signer or self.key))

    def answer(self, path: str, form: dict[str, str] | None) -> tuple[int, dict[str, Any]]:
        """Return status and JSON of a request."""
        if path == "/.well-known/openid-configuration":
            places = {
                "authorization_endpoint": f"{self.issuer}/authorize",
                "token_endpoint": f"{self.issuer}/token",
                "jwks_uri": f"{self.issuer}/keys",
            }
            return 200, {"issuer": self.issuer, **places, **self.discovered}
        if path == "/keys":
            return 200, {"keys": [self.key.as_dict(private=False)]}
        if path == "/token" and form is not None:
            self.sent = form
            proof = hashlib.sha256(form["code_verifier"].encode()).digest()
            fits = base64.urlsafe_b64encode(proof).rstrip(b"=").decode() == self.asked["code_challenge"]
            good = fits and (form["code"], form["client_secret"]) == ("good code", SECRET)
            return (200, {"id_token": self.token()}) if good else (400, {"error": "invalid_grant"})
        return 404, {}


@pytest.fixture
def provider() -> Iterator[Provider]:
    """Serve a provider on this machine."""
    made = Provider()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self._answer(None)

        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"])).decode()
            self._answer({name: values[0] for name, values in parse_qs(body).items()})

        def _answer(self, form: dict[str, str] | None) -> None:
            status, said = made.answer(urlsplit(self.path).path, form)
            body = json.dumps(said).encode()
            self.send_response(status)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args: object) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        made.issuer = f"http://127.0.0.1:{server.server_port}"
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        yield made
        server.shutdown()
        thread.join()


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> School:
    """Build the home once."""
    return build(tmp_path_factory.mktemp("openid") / "home")


@pytest.fixture
def school(built: School, provider: Provider, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> School:
    """Give the home, and name the provider in the environment."""
    (tmp_path / "secret").write_text(f"{SECRET}\n", "utf-8")
    monkeypatch.setenv(openid.ISSUER, provider.issuer)
    monkeypatch.setenv(openid.CLIENT, CLIENT)
    monkeypatch.setenv(openid.SECRET_FILE, str(tmp_path / "secret"))
    return built


def invite(school: School, code: str) -> str:
    """Make an invitation for a new learner."""
    with repository(school.home) as repo:
        return inviting.invite(repo, repo.person("I-02"), COURSE, code, CourseRole.LEARNER)


def begin(school: School, provider: Provider, query: str = "") -> tuple[str, str]:
    """Begin; return the state and the cookie of the browser."""
    told = ask(school.home, "GET", f"/sign-in/school/begin?{query}")
    assert told.status == 303
    place = urlsplit(told.headers["location"])
    provider.asked = {name: values[0] for name, values in parse_qs(place.query).items()}
    assert f"{place.scheme}://{place.netloc}{place.path}" == f"{provider.issuer}/authorize"
    return provider.asked["state"], told.headers["set-cookie"].partition(";")[0]


def end(school: School, state: str, cookie: str, code: str = "good+code") -> Told:
    """Come back from the school."""
    return ask(school.home, "GET", f"/sign-in/school?state={state}&code={code}", cookie=cookie)


def login_of(told: Told) -> str:
    """Return the secret of the login that an answer gives."""
    cookies = told.headers["set-cookie"]
    return cookies.partition("runthrough-login=")[2].partition(";")[0]


def test_an_invitation_binds_and_then_the_school_alone_signs_in(school: School, provider: Provider) -> None:
    """First with the link, then without; PKCE, state, nonce and the redirect are those of the standard."""
    link = invite(school, "L-61")
    state, cookie = begin(school, provider, f"invitation={link}")
    assert provider.asked["response_type"] == "code"
    assert provider.asked["scope"] == "openid"
    assert provider.asked["code_challenge_method"] == "S256"
    assert provider.asked["redirect_uri"] == "http://127.0.0.1:8610/sign-in/school"
    told = end(school, state, cookie)
    assert (told.status, told.headers["location"]) == (303, "/")
    found = signing_in.signed_in(school.home, login_of(told))
    assert found is not None
    assert found[0].code == "L-61"
    state, cookie = begin(school, provider, "to=/review")
    told = end(school, state, cookie)
    assert (told.status, told.headers["location"]) == (303, "/review")
    with reading(school.home) as repo:
        account = repo.accounts().of_subject(provider.issuer, "subject-7")
        assert account is not None
        repo_person = repo.person("L-61")
    assert account.person_id == repo_person.id


def test_nobody_comes_in_without_an_invitation(school: School, provider: Provider) -> None:
    """Whom only the school knows is refused, and so is an invitation for a code when the subject is another's."""
    provider.claims = {"sub": "nobody here"}
    state, cookie = begin(school, provider)
    told = end(school, state, cookie)
    assert (told.status, "nobody here goes by that" in told.body.decode()) == (422, True)
    provider.claims = {"sub": "taken"}
    state, cookie = begin(school, provider, f"invitation={invite(school, 'L-62')}")
    assert end(school, state, cookie).status == 303
    state, cookie = begin(school, provider, f"invitation={invite(school, 'L-63')}")
    told = end(school, state, cookie)
    assert (told.status, "bound to another code" in told.body.decode()) == (422, True)


_NOW = int(time.time())
_OTHER = RSAKey.generate_key(2048, {"kid": "one"})


def _named(wrong: dict[str, Any]) -> str:
    """Name what is wrong the same way in every process: by the parts that are changed, without keys and times."""
    told = [f"{part} {name}" for part, value in wrong.items() if isinstance(value, dict) for name in value]
    return ", ".join(told or wrong)


@pytest.mark.parametrize(
    "wrong",
    [
        {"claims": {"nonce": "another"}},
        {"claims": {"nonce": None}},
        {"claims": {"aud": "another client"}},
        {"claims": {"aud": None}},
        {"claims": {"azp": "another client"}},
        {"claims": {"iss": "https://elsewhere.example"}},
        {"claims": {"exp": _NOW - 3600}},
        {"claims": {"exp": None}},
        {"claims": {"iat": None}},
        {"claims": {"sub": None}},
        {"claims": {"sub": ""}},
        {"claims": {"sub": 7}},
        {"signer": _OTHER},
        {"header": {"alg": "RS256", "kid": "two"}},
        {"header": {"alg": "none"}, "signer": OctKey.import_key("x" * 32)},
        {"header": {"alg": "HS256"}, "signer": OctKey.import_key("x" * 32)},
        {"discovered": {"issuer": "https://elsewhere.example"}},
    ],
    ids=_named,
)
def test_a_token_that_is_not_right_signs_nobody_in(school: School, provider: Provider, wrong: dict[str, Any]) -> None:
    """Wrong or missing nonce, audience, issuer, time, subject, key, method: refused, and the invitation is not used."""
    link = invite(school, "L-64")
    state, cookie = begin(school, provider, f"invitation={link}")
    for name, value in wrong.items():
        setattr(provider, name, value)
    if wrong.get("header", {}).get("alg") == "none":
        parts = [{"alg": "none"}, {"sub": "subject-7", "nonce": provider.asked["nonce"]}]
        made = ".".join(base64.urlsafe_b64encode(json.dumps(one).encode()).rstrip(b"=").decode() for one in parts)
        provider.token = lambda: f"{made}."  # type: ignore[method-assign]
    told = end(school, state, cookie)
    assert (told.status, "set-cookie" in told.headers) == (422, False)
    assert inviting.offered(school.home, link).code == "L-64"


def test_a_state_counts_once_in_its_own_browser(school: School, provider: Provider) -> None:
    """Replayed, made up, from another browser or without its cookie: refused before the school is asked."""
    link = invite(school, "L-65")
    provider.claims = {"sub": "once"}
    state, cookie = begin(school, provider, f"invitation={link}")
    assert end(school, state, cookie).status == 303
    provider.sent = {}
    assert end(school, state, cookie).status == 422
    assert end(school, "made-up", cookie).status == 422
    state, _ = begin(school, provider)
    assert end(school, state, cookie).status == 422
    state, _ = begin(school, provider)
    assert end(school, state, "").status == 422
    assert provider.sent == {}


def test_a_code_that_the_school_does_not_take_signs_nobody_in(school: School, provider: Provider) -> None:
    """Its server's refusal is told in one sentence; the right secret and verifier were sent."""
    state, cookie = begin(school, provider)
    told = end(school, state, cookie, "bad+code")
    assert (told.status, "begin again" in told.body.decode()) == (422, True)
    assert provider.sent["client_secret"] == SECRET
    assert provider.sent["redirect_uri"] == "http://127.0.0.1:8610/sign-in/school"


def test_without_a_school_there_is_no_such_way(built: School, monkeypatch: pytest.MonkeyPatch) -> None:
    """The form does not offer it, and the address says so; half a setting is one clear error."""
    for name in (openid.ISSUER, openid.CLIENT, openid.SECRET_FILE):
        monkeypatch.delenv(name, raising=False)
    assert ask(built.home, "GET", "/sign-in/school/begin").status == 404
    assert b"school" not in ask(built.home, "GET", "/sign-in").body
    monkeypatch.setenv(openid.ISSUER, "http://school.example")
    monkeypatch.setenv(openid.CLIENT, CLIENT)
    with pytest.raises(openid.InputError, match="expected an https address"):
        openid.school_of_environment()
