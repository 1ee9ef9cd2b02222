"""The field for hours, as every room that asks for them has it."""

from __future__ import annotations

from wtforms import StringField

from app.quote.rules.lines import parse_hours, say_hours


class HoursField(StringField):  # type: ignore[misc]
    """Hours, as 1.5, 1:30 or 90 min."""

    keys = "notation"

    def process_formdata(self, valuelist: list[str]) -> None:
        typed = valuelist[0].strip() if valuelist else ""
        self.data = parse_hours(typed) if typed else None

    def _value(self) -> str:
        if self.raw_data:
            return str(self.raw_data[0])
        return "" if self.data is None else say_hours(self.data).removesuffix(" h")
