"""A server that speaks S3, on this machine, for tests of a home with a bucket."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch
from uuid import uuid4

import pytest

from review.store.home import Home
from review.store.settings import SETTINGS_FILE

SECRET = "quokka-quokka"


@dataclass(frozen=True)
class S3:
    """A running server, and a client of its own that is not the program's."""

    endpoint: str
    client: Any

    def bucket(self) -> str:
        """Make a bucket and return its name."""
        name = f"films-{uuid4().hex[:12]}"
        self.client.create_bucket(Bucket=name)
        return name

    def settle(self, home: Home, bucket: str, more: str = 's3_encryption = "AES256"') -> None:
        """Name a bucket in a home's settings, before they are read."""
        said = f'media = "s3://{bucket}/school"\ns3_endpoint = "{self.endpoint}"\n{more}\n'
        (home.root / SETTINGS_FILE).write_text(said, "utf-8")

    def keys(self, bucket: str) -> list[str]:
        """Return the keys of all versions in a bucket."""
        return sorted(one["Key"] for one in self.client.list_object_versions(Bucket=bucket).get("Versions", []))


@contextmanager
def running() -> Iterator[S3]:
    """Start a server on a free port, with credentials in the environment; skip where moto is not installed."""
    moto = pytest.importorskip("moto.server", reason="needs moto: pip install '.[test]'")
    import boto3

    said = {"AWS_ACCESS_KEY_ID": "tests", "AWS_SECRET_ACCESS_KEY": SECRET, "AWS_DEFAULT_REGION": "us-east-1"}
    server = moto.ThreadedMotoServer("127.0.0.1", port=0, verbose=False)
    with patch.dict(os.environ, said):
        server.start()
        try:
            host, port = server.get_host_and_port()
            endpoint = f"http://{host}:{port}"
            yield S3(endpoint, boto3.client("s3", endpoint_url=endpoint))
        finally:
            server.stop()
