from __future__ import annotations

from tests.screens import STAMPS_MS, Site, free_port, serving, write_film

__all__ = ["STAMPS_MS", "Site", "free_port", "serving", "write_film"]
