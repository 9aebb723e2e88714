"""Where templates, static files and migrations lie, in a checkout and in an installed wheel."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_BUNDLED = _PACKAGE / "_files"
_ROOT = _BUNDLED if _BUNDLED.is_dir() else _PACKAGE.parent

TEMPLATES = _ROOT / "templates"
STATIC = _ROOT / "static"
MIGRATIONS = _ROOT / "migrations"
DEMOS = _PACKAGE / "demos"
