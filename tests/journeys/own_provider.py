"""A small OpenID provider of our own on loopback, as a school's system would be: two people, keys made at each start."""

import base64
import secrets
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlencode

import uvicorn
from joserfc import jwt
from joserfc.jwk import RSAKey
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from tests.served import free_port

CLIENT_ID, CLIENT_SECRET = "latch-and-line", "a secret between the two"


class Provider:
    """Vouches for whoever presses their own button on its page."""

    def __init__(self) -> None:
        self.port = free_port()
        self.issuer = f"http://localhost:{self.port}"
        self.key = RSAKey.generate_key(2048, parameters={"kid": "one", "use": "sig", "alg": "RS256"})
        self.codes: dict[str, dict[str, str]] = {}
        #: How long ago it says that it vouched; a replayed answer is old.
        self.seconds_ago = 0
        self.asked: list[str] = []

    def app(self) -> Starlette:
        """Its four endpoints."""
        return Starlette(
            routes=[
                Route("/.well-known/openid-configuration", self.discovery),
                Route("/authorize", self.authorize),
                Route("/agree", self.agree),
                Route("/token", self.token, methods=["POST"]),
                Route("/jwks", self.jwks),
            ]
        )

    async def discovery(self, _: Request) -> Response:
        return JSONResponse(
            {
                "issuer": self.issuer,
                "authorization_endpoint": f"{self.issuer}/authorize",
                "token_endpoint": f"{self.issuer}/token",
                "jwks_uri": f"{self.issuer}/jwks",
                "response_types_supported": ["code"],
                "subject_types_supported": ["public"],
                "id_token_signing_alg_values_supported": ["RS256"],
                "code_challenge_methods_supported": ["S256"],
            }
        )

    async def authorize(self, request: Request) -> Response:
        asked = dict(request.query_params)
        assert asked["client_id"] == CLIENT_ID
        links = "".join(
            f'<p><a href="/agree?{urlencode({**asked, "who": who})}">I am {who}</a></p>' for who in ("one", "two")
        )
        return HTMLResponse(f'<html lang="en"><link rel="icon" href="data:,"><h1>The school</h1>{links}</html>')

    async def agree(self, request: Request) -> Response:
        asked = dict(request.query_params)
        code = secrets.token_urlsafe(16)
        self.codes[code] = asked
        return RedirectResponse(f"{asked['redirect_uri']}?{urlencode({'code': code, 'state': asked['state']})}", 302)

    async def token(self, request: Request) -> Response:
        form = await request.form()
        given = base64.b64decode(request.headers["authorization"].split()[1]).decode()
        assert given == f"{CLIENT_ID}:{CLIENT_SECRET}".replace(" ", "+") or given == f"{CLIENT_ID}:{CLIENT_SECRET}"
        asked = self.codes.pop(str(form["code"]))
        now = int(time.time())
        self.asked.append(asked["who"])
        claims = {
            "iss": self.issuer,
            "sub": f"subject-{asked['who']}",
            "aud": CLIENT_ID,
            "iat": now - self.seconds_ago,
            "exp": now + 3600,
            "nonce": asked["nonce"],
            "email": "someone@school.example",
        }
        signed = jwt.encode({"alg": "RS256", "kid": "one"}, claims, self.key)
        return JSONResponse({"access_token": secrets.token_hex(8), "token_type": "Bearer", "id_token": signed})

    async def jwks(self, _: Request) -> Response:
        return JSONResponse({"keys": [self.key.as_dict(private=False)]})


@contextmanager
def running() -> Iterator[Provider]:
    """Serve it in a thread of its own."""
    provider = Provider()
    server = uvicorn.Server(
        uvicorn.Config(provider.app(), host="localhost", port=provider.port, log_level="warning", ws="none")
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield provider
    server.should_exit = True
    thread.join(timeout=10)


def secrets_toml(provider: Provider, url: str) -> str:
    """What a school writes into .streamlit/secrets.toml."""
    return (
        f'[auth]\nredirect_uri = "{url}/oauth2callback"\ncookie_secret = "{secrets.token_hex(32)}"\n'
        f'client_id = "{CLIENT_ID}"\nclient_secret = "{CLIENT_SECRET}"\n'
        f'server_metadata_url = "{provider.issuer}/.well-known/openid-configuration"\n'
    )
