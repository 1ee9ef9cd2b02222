"""What WTForms itself says, in our words: what to enter, not what is wrong with it."""

from __future__ import annotations

from app.kernel.local_forms import plural

CHOOSE = "Choose one of those shown."
WHOLE = "Enter a whole number, such as 3."
NUMBER = "Enter a number, such as 2.5."

SAID = {
    "Not a valid choice.": CHOOSE,
    "Invalid Choice: could not coerce.": CHOOSE,
    "'%(value)s' is not a valid choice for this field.": CHOOSE,
    "'%(value)s' are not valid choices for this field.": CHOOSE,
    "Invalid choice(s): one or more data inputs could not be coerced.": CHOOSE,
    "Not a valid integer value.": WHOLE,
    "Not a valid decimal value.": NUMBER,
    "Not a valid float value.": NUMBER,
    "Not a valid date value.": "Enter a day such as 2026-11-25.",
    "Not a valid time value.": "Enter a time such as 14:30.",
    "Not a valid datetime value.": "Enter a day and a time such as 2026-11-25 14:30.",
    "This field is required.": "Fill this in.",
    "Number must be at least %(min)s.": "Enter %(min)s or more.",
    "Number must be at most %(max)s.": "Enter %(max)s or less.",
    "Number must be between %(min)s and %(max)s.": "Enter a number from %(min)s to %(max)s.",
    "Field cannot be longer than %(max)d character.": "Use one character.",
    "Field cannot be longer than %(max)d characters.": "That is too long. Use %(max)d characters or fewer.",
}


class HouseWords:
    """Translates WTForms' English into ours."""

    def gettext(self, said: str) -> str:
        return SAID.get(said, said)

    def ngettext(self, one: str, many: str, number: int) -> str:
        return self.gettext(plural(number, one, many))
