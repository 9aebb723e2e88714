"""Column types for times."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


class Moment(TypeDecorator[datetime]):
    """A point in time, always read back in UTC, also from databases without time zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, _dialect: Dialect) -> datetime | None:
        """The moment as it is stored: UTC."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: Any, _dialect: Dialect) -> datetime | None:
        """The stored moment, in UTC."""
        if value is None:
            return None
        at: datetime = value
        return at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)


class LocalTimeText(TypeDecorator[str]):
    """A local wall-clock time without a zone: ISO text in a document, a timestamp in a table."""

    impl = DateTime(timezone=False)
    cache_ok = True

    def process_bind_param(self, value: str | None, _dialect: Dialect) -> Any:
        """The text as a time."""
        return None if value is None else datetime.fromisoformat(value)

    def process_result_value(self, value: Any, _dialect: Dialect) -> str | None:
        """The time as ISO text."""
        return None if value is None else value.isoformat()
