"""The school's own sign-in: OpenID Connect, authorization code flow with PKCE.

References
----------
OpenID Connect Core 1.0, sections 3.1.2 and 3.1.3.7 (what is checked of an ID token); OpenID Connect Discovery 1.0,
section 4; RFC 7636 (PKCE, with S256); RFC 9700 (state, and a code's answer bound to the browser that asked).
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import secrets
import urllib.error
import urllib.request
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlencode, urlsplit

from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet

from review.domain.errors import InputError, NotAllowed

ISSUER: Final = "RUNTHROUGH_OPENID_ISSUER"
CLIENT: Final = "RUNTHROUGH_OPENID_CLIENT"
SECRET_FILE: Final = "RUNTHROUGH_OPENID_SECRET_FILE"
"""Environment variables: the issuer, the client's id there, and the file that holds the client's secret."""

_ALGORITHMS: Final = ["RS256", "ES256", "PS256"]
_PATIENCE_S: Final = 10.0
_MOST_BYTES: Final = 1_000_000
_LEEWAY_S: Final = 60
_REFUSED: Final = "The school's sign-in did not confirm who you are ({why}). Nobody was signed in; begin again."


@dataclass(frozen=True, slots=True)
class School:
    """Where the school's people sign in, and how this server is known there."""

    issuer: str
    client: str
    secret: str | None = None


@dataclass(frozen=True, slots=True)
class Begun:
    """A sign-in that was begun: what its end is held against."""

    state: str
    nonce: str
    verifier: str
    redirect: str


def school_of_environment() -> School | None:
    """Return the school that the environment names, or None.

    Raises
    ------
    InputError
        If only a part of it is named, the issuer is no https address, or the secret's file cannot be read.
    """
    issuer, client, file = (os.environ.get(name, "").strip() for name in (ISSUER, CLIENT, SECRET_FILE))
    if not issuer and not client:
        return None
    if not issuer or not client or not _safe(issuer):
        raise InputError(
            f"{ISSUER}={issuer[:60]!r} and {CLIENT}={client[:60]!r} came; expected an https address and an id."
        )
    try:
        secret = Path(file).read_text("utf-8").strip() if file else None
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            f"{SECRET_FILE}={file} cannot be read ({error}); expected the client's secret in it."
        ) from error
    return School(issuer, client, secret or None)


def begin(school: School, redirect: str) -> tuple[str, Begun]:
    """Return the address at which a person signs in, and what the end is held against.

    Raises
    ------
    NotAllowed
        If the school's server does not say where.
    """
    begun = Begun(secrets.token_urlsafe(32), secrets.token_urlsafe(32), secrets.token_urlsafe(32), redirect)
    challenge = base64.urlsafe_b64encode(hashlib.sha256(begun.verifier.encode()).digest()).rstrip(b"=").decode()
    asked = {
        "response_type": "code",
        "client_id": school.client,
        "redirect_uri": redirect,
        "scope": "openid",
        "state": begun.state,
        "nonce": begun.nonce,
        "code_challenge": challenge,
        "code_challenge_method": "S256",
    }
    place = _endpoint(_discovered(school), "authorization_endpoint")
    return f"{place}{'&' if '?' in place else '?'}{urlencode(asked)}", begun


def subject(school: School, begun: Begun, code: str) -> str:
    """Return how the school names the person who signed in there.

    Raises
    ------
    NotAllowed
        If the school's server does not take the code, or its ID token is not signed by it, not for this server, over,
        or not the answer to what was begun.
    """
    known = _discovered(school)
    sent = {
        "grant_type": "authorization_code",
        "code": code,
        "redirect_uri": begun.redirect,
        "client_id": school.client,
        "code_verifier": begun.verifier,
        **({"client_secret": school.secret} if school.secret else {}),
    }
    token = _asked(_endpoint(known, "token_endpoint"), urlencode(sent).encode()).get("id_token")
    return _proved(school, begun, str(token), _asked(_endpoint(known, "jwks_uri")))


def _proved(school: School, begun: Begun, token: str, keys: dict[str, Any]) -> str:
    try:
        told = jwt.decode(token, KeySet.import_key_set(keys), algorithms=_ALGORITHMS)  # type: ignore[arg-type]
        jwt.JWTClaimsRegistry(
            leeway=_LEEWAY_S,
            iss={"essential": True, "value": school.issuer},
            aud={"essential": True, "value": school.client},
            exp={"essential": True},
            iat={"essential": True},
            nonce={"essential": True, "value": begun.nonce},
            sub={"essential": True},
        ).validate(told.claims)
    except (JoseError, ValueError, KeyError, TypeError) as error:
        raise NotAllowed(_REFUSED.format(why=str(error)[:120] or type(error).__name__)) from error
    party = told.claims.get("azp", school.client)
    name = told.claims["sub"]
    if party != school.client or not isinstance(name, str) or not 1 <= len(name) <= 255:
        raise NotAllowed(_REFUSED.format(why="its answer is for somebody else, or names nobody"))
    return name


def _discovered(school: School) -> dict[str, Any]:
    known = _asked(f"{school.issuer.rstrip('/')}/.well-known/openid-configuration")
    if known.get("issuer") != school.issuer:
        raise NotAllowed(_REFUSED.format(why="its server goes by another name"))
    return known


def _endpoint(known: dict[str, Any], name: str) -> str:
    place = known.get(name)
    if not isinstance(place, str) or not _safe(place):
        raise NotAllowed(_REFUSED.format(why=f"its server names no safe {name}"))
    return place


def _safe(address: str) -> bool:
    """Tell whether an address is reached by https, or is on this machine."""
    parts = urlsplit(address)
    return parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in ("127.0.0.1", "localhost"))


class _NoWayOn(urllib.request.HTTPRedirectHandler):
    """Follows no redirection: a secret goes only where the school's server said."""

    def redirect_request(self, *given: Any, **named: Any) -> None:
        """Refuse."""


def _asked(address: str, body: bytes | None = None) -> dict[str, Any]:
    """Return the JSON object at an address, or what it answers to a form."""
    request = urllib.request.Request(address, body, {"Accept": "application/json"})
    try:
        with urllib.request.build_opener(_NoWayOn).open(request, timeout=_PATIENCE_S) as answer:
            found = json.loads(answer.read(_MOST_BYTES))
    except (urllib.error.URLError, OSError, ValueError) as error:
        raise NotAllowed(_REFUSED.format(why=f"its server answered: {str(error)[:80]}")) from error
    if not isinstance(found, dict):
        raise NotAllowed(_REFUSED.format(why="its server answered with something else"))
    return found
